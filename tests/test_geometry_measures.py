"""Measures against the families' closed forms; invariance; waves; turning over."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from wingtool.geometry import (
    Section,
    drawn_upside_down,
    find_section,
    four_digit,
    measure,
    section_from_text,
    section_text,
    turned_over,
)


@pytest.mark.parametrize("thick", [6, 9, 12, 15, 18, 21])
@pytest.mark.parametrize("points", [60, 160])
def test_symmetric_sections_measure_as_their_formula_says(thick, points):
    # PUBLISHED: NACA TR 460: largest thickness at x 0.30, nose radius 1.1019 t^2.
    # EXACT: tail gap 0.0021 * 10 t/2.. and slope of the polynomial at x = 1; area by its integral.
    t = thick / 100.0
    m = measure(four_digit(f"00{thick:02d}", points))
    assert m.thickness == pytest.approx(t * 1.0001, abs=5e-5)
    assert m.thickness_x == pytest.approx(0.2998, abs=0.003)
    assert m.nose_radius == pytest.approx(1.1019 * t**2, rel=0.04)
    assert m.tail_gap == pytest.approx(10.0 * t * 0.0021, abs=1e-6)
    slope = 5.0 * t * (0.2969 / 2 - 0.1260 - 2 * 0.3516 + 3 * 0.2843 - 4 * 0.1015)
    assert m.tail_angle_deg == pytest.approx(-2.0 * np.degrees(np.arctan(slope)), abs=0.1)
    area = 10.0 * t * (0.2969 / 1.5 - 0.1260 / 2 - 0.3516 / 3 + 0.2843 / 4 - 0.1015 / 5)
    assert m.area == pytest.approx(area, rel=1e-3)
    assert m.camber == pytest.approx(0.0, abs=1e-6)
    assert m.chord_angle_deg == pytest.approx(0.0, abs=1e-6)
    assert m.warnings == ()


@pytest.mark.parametrize(
    ("designation", "camber", "where"), [("2412", 0.02, 0.4), ("4412", 0.04, 0.4), ("6512", 0.06, 0.5)]
)
def test_camber_and_its_place(designation, camber, where):
    # PUBLISHED: the digits' meaning, NACA TR 460. The mean of both sides at one x differs a little from
    # the mean line that the thickness stands on.
    m = measure(four_digit(designation))
    assert m.camber == pytest.approx(camber, abs=2e-4)
    assert m.camber_x == pytest.approx(where, abs=0.015)


SHAPES = st.tuples(st.integers(0, 6), st.integers(2, 6), st.integers(6, 20), st.integers(15, 60))


@settings(max_examples=20, deadline=None)
@given(
    shape=SHAPES,
    scale=st.floats(2.0, 5000.0),
    shift=st.floats(-300.0, 300.0),
    turn=st.sampled_from([0.0, 2.0, -3.5]),
)
@example(shape=(4, 4, 20, 25), scale=2.0, shift=0.0, turn=2.0)  # begins at 0.017 of its end
def test_measures_do_not_depend_on_scale_place_order_or_angle_in_the_file(shape, scale, shift, turn):
    camber, where, thick, points = shape
    # EXACT: the same outline, found at the height of half its chord or turned, moved, scaled and reversed.
    outline = four_digit(f"{camber}{where}{thick:02d}", 2 * points).xy + [0.0, 0.5]
    angle = np.radians(turn)
    spin = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    found = _read((outline @ spin.T)[::-1] * scale + [shift, 0.3 * shift])
    assert any("reversed" in repair for repair in found.repairs)
    before, after = measure(_read(outline)), measure(found)
    assert after.thickness == pytest.approx(before.thickness, rel=1e-3)
    assert after.camber == pytest.approx(before.camber, abs=1e-4)
    assert after.area == pytest.approx(before.area, rel=1e-4)
    assert after.nose_radius == pytest.approx(before.nose_radius, rel=1e-3)
    assert after.tail_gap == pytest.approx(before.tail_gap, rel=1e-3)
    assert after.tail_angle_deg == pytest.approx(before.tail_angle_deg, abs=0.02)


def _read(xy):
    lines = "\n".join(f"{x:.10g} {y:.10g}" for x, y in xy)
    return section_from_text(f"found in the shed\n{lines}\n", "t", "t.dat")


@pytest.mark.parametrize("shift", [0.004, 0.017, 0.03])
def test_a_file_in_millimetres_may_start_behind_zero(shift):
    """EXACT: its place tells nothing of a lost nose; few points at the nose made one up."""
    outline = four_digit("4420", 50).xy
    found = _read(250.0 * (outline + [shift, 0.0]))
    assert not any("nose" in repair for repair in found.repairs)
    assert measure(found).camber == pytest.approx(measure(_read(outline)).camber, abs=3e-4)
    assert measure(found).thickness == pytest.approx(0.2, abs=5e-4)


def test_turned_over_twice_is_the_same_and_once_has_the_other_camber():
    section = four_digit("4412")
    once = turned_over(section)
    assert np.array_equal(turned_over(once).xy, section.xy)
    assert measure(once).camber == pytest.approx(-measure(section).camber)
    assert measure(once).area == pytest.approx(measure(section).area)
    assert once.xy[0, 1] > once.xy[-1, 1]


@pytest.mark.parametrize("side", ["upper", "lower"])
def test_a_wave_that_would_trip_the_flow_is_found_where_it_is(side):
    section = four_digit("2412", 120)
    nose = 60
    at = nose - 30 if side == "upper" else nose + 30
    xy = section.xy.copy()
    xy[at, 1] += 0.003
    (warning,) = [w for w in measure(Section("dented", xy)).warnings if "wave" in w]
    assert f"{side} side, worst at x {xy[at, 0]:.2f}" in warning
    assert "0.003 chord high" in warning
    xy[at, 1] = section.xy[at, 1] + 0.0001
    assert measure(Section("fair", xy)).warnings == ()


def test_coordinates_rounded_to_four_decimals_are_smooth_enough():
    section = four_digit("2412", 80)
    assert measure(Section("rounded", np.round(section.xy, 4))).warnings == ()


def test_few_points_and_a_sharp_nose_are_said():
    assert "only 21 points" in measure(four_digit("0012", 20)).warnings[0]
    x = np.linspace(0.0, 1.0, 31)
    lens = 0.2 * x * (1.0 - x)
    xy = np.concatenate([np.column_stack([x, lens])[::-1], np.column_stack([x, -lens])[1:]])
    measures = measure(Section("lens", xy))
    assert measures.nose_radius == 0.0
    assert any("sharp nose" in warning for warning in measures.warnings)


def test_text_of_a_section_names_it_and_its_origin():
    text = section_text(four_digit("2412", 20))
    assert text.splitlines()[0] == "2412"
    assert text.splitlines()[1].startswith("# origin: four-digit formula")


def test_a_section_drawn_upside_down_is_told():
    """EXACT: the mirrored outline has the camber with its sign turned."""
    xy = four_digit("4412").xy * [1.0, -1.0]
    assert any("upside down" in warning for warning in measure(Section("mirrored", xy[::-1])).warnings)


@pytest.mark.parametrize("name", ["2412", "0012", "s1223", "goe777", "naca23024"])
@pytest.mark.parametrize("mirrored", [False, True])
def test_the_way_up_alone_is_told_as_with_all_measures(name, mirrored):
    """TWIN: the same words as among the warnings of `measure`, whether or not the curve had to be drawn.

    Once done for all sections of the collection, both ways up.
    """
    section = find_section(name)
    section = turned_over(section) if mirrored else section
    warnings = measure(section).warnings
    assert drawn_upside_down(section) == tuple(text for text in warnings if "upside down" in text)


def test_a_section_drawn_the_right_way_up_needs_no_curve(monkeypatch):
    """EXACT: the points alone answer; with the curve it takes some 500 times as long."""
    monkeypatch.setattr("wingtool.geometry.measures.smooth_curve", None)
    assert drawn_upside_down(find_section("s1223")) == ()
