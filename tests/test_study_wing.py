"""From the words of a study to the finite wing: stands, further planes, any plate."""

from contextlib import nullcontext

import numpy as np
import pytest

from wingtool.errors import RangeError, StudyError
from wingtool.geometry import four_digit
from wingtool.section import row_key
from wingtool.section.multi import polar as multi_polar
from wingtool.study import compute_ahead, precompute, read_study, wing_at_asked_angles
from wingtool.study.wing.finite_wing import (
    ELEMENTS_ANGLES_DEG,
    further_planes,
    reynolds_rows,
    section_question,
    station_polars,
    wing_geometry,
    wing_of_study,
)

STUDY = """
[wing]
section = "4412"
span = "1.4 m"
chord = "0.25 m"
height = "1.2 m"
method = "surrogate"
{wing}

[sweep]
angles = "2:6:4"
speeds = ["120 km/h"]
{more}
"""
STAND = """
[[wing.stand]]
span_fraction = 0.3
width = "6 cm"
load_left = {left}
drag_area = "20 cm^2"
origin = "guess from an oil streak"
"""
PLANE = """
[[wing.plane]]
section = "2412"
span = "1.2 m"
chord = "12 cm"
behind = "-5 cm"
above = "20 cm"
angle_deg = 3
"""
ELEMENT = """
[[wing.element]]
section = "4412"
chord = "6 cm"
angle_deg = 20
gap = "4 mm"
overlap = "2 mm"
"""
OUTLINE = """
[wing.endplate]
height = "1 m"
outline = [["-13 cm", "0 cm", "25 cm"], ["7 cm", "3 cm", "28 cm"]]
"""


def study(folder, wing="", more=""):
    path = folder / "study.toml"
    path.write_text(STUDY.format(wing=wing, more=more))
    return read_study(path)


def test_stands_take_what_they_are_said_to_take(tmp_path):
    plain = wing_of_study(study(tmp_path))
    free = wing_of_study(study(tmp_path, more=STAND.format(left=1.0)))
    half = wing_of_study(study(tmp_path, more=STAND.format(left=0.5)))
    np.testing.assert_allclose(free.CL, plain.CL)
    np.testing.assert_allclose(free.CD - plain.CD, 2 * 20e-4 / plain.reference_area_m2, rtol=1e-6)
    assert np.all(half.CL < 0.99 * plain.CL)
    assert half.wing.mounts[0].origin == "guess from an oil streak"


def test_a_stand_without_an_origin_is_refused(tmp_path):
    with pytest.raises(StudyError, match="origin"):
        study(tmp_path, more=STAND.format(left=0.5).replace('origin = "guess from an oil streak"', ""))


def test_a_slot_that_cannot_be_names_file_and_key(tmp_path):
    behind = ELEMENT.replace('overlap = "2 mm"', 'overlap = "-20 mm"')
    with pytest.raises(RangeError, match=r"study.toml: wing.element\[1\].overlap is -8 % of .*: change"):
        compute_ahead(study(tmp_path, more=behind))


def test_stations_that_contradict_each_other_are_refused(tmp_path):
    one = "[[wing.station]]\nspan_fraction = 0.5\n"
    study(tmp_path, more=f'{one}chord = "20 cm"\n{one}twist_deg = 1\n')
    with pytest.raises(StudyError, match="line 13: wing.station: two of them give chord"):
        study(tmp_path, more=f'{one}chord = "20 cm"\n{one}chord = "10 cm"\n')


def test_a_mistake_that_shows_only_in_the_work_names_the_file(tmp_path):
    at_one_place = PLANE.replace('"-5 cm"', '"0 m"').replace('"20 cm"', '"0 m"')
    with pytest.raises(RangeError, match=r"study.toml: wing: two planes stand at the same place"):
        wing_at_asked_angles(study(tmp_path, more=at_one_place))


def test_a_second_plane_shares_the_solution(tmp_path):
    plain = wing_of_study(study(tmp_path))
    both = wing_of_study(study(tmp_path, more=PLANE))
    assert both.reference_area_m2 == pytest.approx(0.35 + 0.144)
    own = both.strip_plane == 0
    assert own.sum() == plain.strip_y_m.size
    assert np.all(both.downforce.n > plain.downforce.n)
    assert both.planes[1].angle_deg == 3


def test_any_outline_of_the_plate(tmp_path):
    plate = wing_geometry(study(tmp_path, more=OUTLINE)).endplate
    assert plate.height_m == pytest.approx(0.2)
    front, rear = plate.edges_m(np.array([-0.13, -0.03, 0.07]), 0.25)
    np.testing.assert_allclose(front, [0.0, 0.015, 0.03])
    np.testing.assert_allclose(rear - front, 0.25)


def test_section_rows_reach_from_the_slowest_narrowest_chord_to_the_fastest_widest(tmp_path):
    """EXACT: Re = rho V c / mu of standard air at the ends; the first and last row may miss them by 5 %."""
    tapered = study(tmp_path, 'tip_chord = "0.1 m"')
    reynolds = section_question(tapered, four_digit("4412")).reynolds
    lowest, highest = (1.225 * 120 / 3.6 * chord / 1.7894e-5 for chord in (0.1, 0.25))
    assert lowest / 2 < reynolds[0] <= 1.05 * lowest
    assert 2 * highest > reynolds[-1] >= highest / 1.05
    assert reynolds_rows(2.3e5, 1.1e6).tolist() == [125e3, 250e3, 500e3, 1e6, 2e6]


def test_rows_of_a_further_plane_are_computed_ahead_too(tmp_path, monkeypatch):
    """Half in another process, as those of the first plane: they cost as much."""
    asked = []
    monkeypatch.setattr(precompute, "missing_rows", lambda one, *_: asked.append(one) or [])
    both = study(tmp_path, more=PLANE)
    compute_ahead(both)
    assert [one.section.name for one in asked] == ["4412", "2412"]
    assert asked[1].reynolds[0] < asked[0].reynolds[0]  # of its own chord
    (plane,) = further_planes(both, lambda _: None)
    np.testing.assert_array_equal(plane.polars.reynolds, asked[1].reynolds)


def test_rows_of_several_elements_are_computed_ahead_too(tmp_path, monkeypatch):
    """Each alone, so that another process takes its half; they are those that the wing asks for."""
    tapered = study(tmp_path, 'tip_chord = "0.1 m"', more=ELEMENT)
    looked_for, ahead, asked = [], [], []
    monkeypatch.setattr(multi_polar, "has_row", lambda facts: looked_for.append(row_key(facts)))
    monkeypatch.setattr(precompute, "beside", nullcontext)
    monkeypatch.setattr(precompute, "keep_rows", lambda rows, _: ahead.extend(rows))
    compute_ahead(tapered)
    assert [(one.reynolds.size, len(flaps)) for one, flaps in ahead] == [(1, 1), (1, 1)]

    def no_work(facts, names, _):
        asked.append(row_key(*facts))
        return [dict.fromkeys(names, np.ones(ELEMENTS_ANGLES_DEG.shape))]

    monkeypatch.setattr(multi_polar, "cached_rows", no_work)
    station_polars(tapered, lambda _: None)
    assert asked == looked_for
    assert asked[0] != asked[1]


def test_a_section_that_a_middle_station_stands_in_for_is_not_computed(tmp_path, monkeypatch):
    asked = []
    monkeypatch.setattr(precompute, "missing_rows", lambda one, *_: asked.append(one) or [])
    station = '\n[[wing.station]]\nspan_fraction = 0.0\nsection = "2412"\n'
    compute_ahead(study(tmp_path, more=station))
    assert [one.section.name for one in asked] == ["2412"]
