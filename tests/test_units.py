"""Quantities as people write them off a tape, a data sheet or a scale."""

import pytest

from wingtool.errors import UnitError
from wingtool.units import KINDS, USUAL, _registry, quantity


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ("55 in", "length", 1.397),
        ("55in", "length", 1.397),
        ("9 7/8 in", "length", 9.875 * 0.0254),
        ("-1/2 in", "length", -0.0127),
        ('10"', "length", 0.254),
        ("4 ft 7 in", "length", 55 * 0.0254),
        ("4ft 7in", "length", 55 * 0.0254),
        ("4 feet 7 inches", "length", 55 * 0.0254),
        ("4'7\"", "length", 55 * 0.0254),
        ("4' 7\"", "length", 55 * 0.0254),
        ("4\u20327\u2033", "length", 55 * 0.0254),
        ("4\u20197\u201d", "length", 55 * 0.0254),
        ("4 ft 7 1/2 in", "length", 55.5 * 0.0254),
        ("4' 7 1/2\"", "length", 55.5 * 0.0254),
        ("4' 1/2\"", "length", 48.5 * 0.0254),
        ("4 ft 7,5 in", "length", 55.5 * 0.0254),
        ("-1 ft 6 in", "length", -18 * 0.0254),
        ("-0 ft 6 in", "length", -6 * 0.0254),
        ("4'", "length", 4 * 0.3048),
        ("1 m 30 cm", "length", 1.3),
        ("5 lb 4 oz", "mass", 5.25 * 0.45359237),
        ("5 lb 13 oz", "mass", 5.8125 * 0.45359237),
        ("5 lbs 4 ounces", "mass", 5.25 * 0.45359237),
        ("1 min 30 s", "time", 90.0),
        ("25,4 cm", "length", 0.254),
        ("0,25 m", "length", 0.25),
        ("1.1e3 kg", "mass", 1100.0),
        ("0.72 m2", "area", 0.72),
        ("0.72 m²", "area", 0.72),
        ("8 sq ft", "area", 8 * 0.3048**2),
        ("180 bhp", "power", 180 * 745.6998715822702),
        ("180 PS", "power", 180 * 735.49875),
        ("230 lb/in", "stiffness", 230 * 4.4482216152605 / 0.0254),
        ("20 °C", "temperature", 293.15),
        ("68 degF", "temperature", 293.15),
    ],
)
def test_a_quantity_is_read_as_it_is_meant(text, kind, si):
    """EXACT: definitions of the units (international inch, pound, standard gravity, metric horsepower)."""
    assert quantity(text, kind, "key") == pytest.approx(si, rel=1e-9)


@pytest.mark.parametrize(("kind", "unit"), [(kind, unit) for kind in USUAL for unit in USUAL[kind]])
def test_the_usual_units_are_those_of_the_registry(kind, unit):
    """TWIN: pint's registry."""
    expected = _registry().Quantity(3.7, unit).to(KINDS[kind][0]).magnitude
    assert quantity(f"3.7 {unit}", kind, "key") == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "told"),
    [
        ("55", "length", "has no unit"),
        ("0,25", "length", "has no unit"),
        ("1,100 kg", "mass", "may be 1.100 or 1100"),
        ("2*25 cm", "length", "not a number and its unit"),
        ("25 cm + 3 mm", "length", "not a number and its unit"),
        ("4 ft 7", "length", "not a length"),
        ("4'7", "length", "not a number and its unit"),
        ('4 7"', "length", "not a number and its unit"),
        ("7 in 4 ft", "length", "not a length"),
        ("4 ft 7 oz", "length", "not a length"),
        ("4.5 ft 7 in", "length", "not a length"),
        ("4 ft -7 in", "length", "not a length"),
        ("4 ft 7 in 2 in", "length", "not a length"),
        ("4 ft 13 in", "length", "13 in, which is a whole ft or more"),
        ("5 lb 16 oz", "mass", "16 oz, which is a whole lb or more"),
        ("1,100 ft 7 in", "length", "may be 1.100 or 1100"),
        ("4 ft 7 in", "mass", "not a mass"),
        ("4 ft 7 in", "area", "not an area"),
        ("5 lb 4 oz", "force", "not a force"),
        ("55 kg", "length", "not a length"),
        ("nan m", "length", "not a number"),
        ("1e999 m", "length", "not a finite length"),
        ("", "length", "not a number"),
    ],
)
def test_what_could_be_misread_is_refused_in_one_line(text, kind, told):
    """EXACT: text is never evaluated as arithmetic, and a comma is never dropped."""
    with pytest.raises(UnitError, match=told) as caught:
        quantity(text, kind, "key")
    assert "\n" not in str(caught.value)
