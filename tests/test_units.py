"""Quantities as people write them off a tape, a data sheet or a scale."""

import pytest

from wingtool.errors import UnitError
from wingtool.units import quantity


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ("55 in", "length", 1.397),
        ("55in", "length", 1.397),
        ("9 7/8 in", "length", 9.875 * 0.0254),
        ("-1/2 in", "length", -0.0127),
        ('10"', "length", 0.254),
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


@pytest.mark.parametrize(
    ("text", "kind", "told"),
    [
        ("55", "length", "has no unit"),
        ("0,25", "length", "has no unit"),
        ("1,100 kg", "mass", "may be 1.100 or 1100"),
        ("2*25 cm", "length", "not a number and its unit"),
        ("25 cm + 3 mm", "length", "not a number and its unit"),
        ("4 ft 7 in", "length", "not a length"),
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
