"""The wing at other places behind the roof."""

import numpy as np
import pytest

from wingtool.study import read_study
from wingtool.study.car.result import car_result
from wingtool.study.wing.finite_wing import wing_of_study
from wingtool.study.wing.positions import wing_places

STUDY = """
[wing]
section = "4412"
span = "1.4 m"
chord = "0.25 m"
height = "1.55 m"
method = "surrogate"

[sweep]
angles = "0:8:4"
speeds = ["120 km/h"]

[car]
mass = "1150 kg"
front_share = 0.6
wheelbase = "2.5 m"
cg_height = "0.5 m"
power = "120 kW"
cda = "0.7 m^2"
"""
SIDE = """
[roof]
wing_behind = "20 cm"
side = [
  ["0 m", "0.35 m"], ["0.15 m", "0.18 m"], ["1 m", "0.16 m"], ["3.6 m", "0.18 m"], ["3.8 m", "0.5 m"],
  ["3.75 m", "0.85 m"], ["3.45 m", "1.3 m"], ["3.3 m", "1.4 m"], ["2.6 m", "1.44 m"], ["1.5 m", "1.36 m"],
  ["0.9 m", "0.98 m"], ["0.1 m", "0.75 m"],
]
"""


def study_with(folder, text):
    path = folder / "study.toml"
    path.write_text(STUDY + text)
    return read_study(path)


def test_own_place_gives_the_wing_itself(tmp_path):
    """EXACT: the map at the study's own height and distance is the study's wing."""
    study = study_with(tmp_path, SIDE)
    wing = wing_of_study(study)
    there = wing_places(study, wing, 4.0, wing.speed_m_s[0], np.array([1.55]), np.array([0.2]))
    for name in ("downforce", "drag"):
        assert list(getattr(there, name)[0, 0]) == pytest.approx(list(getattr(wing, name)[0, 1]), rel=1e-4)
    assert there.stall_margin_deg[0, 0] == pytest.approx(wing.stall_margin_deg[0, 1], rel=1e-4)


def test_a_second_plane_goes_along(tmp_path):
    """EXACT: with two planes as well the map at the study's own place is the study's wing."""
    second = '[[wing.plane]]\nsection = "4412"\nchord = "10 cm"\nbehind = "30 cm"\nabove = "20 cm"\n'
    study = study_with(tmp_path, SIDE + second)
    wing = wing_of_study(study)
    there = wing_places(study, wing, 4.0, wing.speed_m_s[0], np.array([1.55]), np.array([0.2]))
    assert there.downforce.n[0, 0] == pytest.approx(wing.downforce.n[0, 1], rel=1e-4)


def test_far_above_the_roof_the_air_is_undisturbed_and_in_the_wake_there_is_no_number(tmp_path):
    study = study_with(tmp_path, SIDE)
    wing = wing_of_study(study)
    there = wing_places(study, wing, 4.0, 40.0, np.array([0.8, 1.6, 6.0]), np.array([0.1, 0.8]))
    assert np.isnan(there.downforce.n[0]).all()
    assert all(word.startswith("not converged: ") for word in there.status[0])
    assert np.all(np.abs(there.inflow_deg[2]) < np.abs(there.inflow_deg[1]))
    assert np.all(there.downforce.low_n[1:] < there.downforce.n[1:])


def test_map_of_the_car_uses_it_and_says_so(tmp_path):
    study = study_with(tmp_path, SIDE)
    place = car_result(study, wing_of_study(study), 4.0).place
    assert "side view" in place.note
    assert np.isnan(place.wing_downforce_n).any()
    assert np.nanmax(place.wing_downforce_n) > 1.02 * np.nanmin(place.wing_downforce_n)
    plain = study_with(tmp_path, "")
    assert "levers only" in car_result(plain, wing_of_study(plain), 4.0).place.note
    assert wing_places(plain, wing_of_study(plain), 4.0, 40.0, np.array([1.5]), np.array([0.2])) is None


def test_page_and_tables_tell_the_places(tmp_path):
    from wingtool.report.page.write import page_html
    from wingtool.report.tables.study import study_tables
    from wingtool.study import run_study

    result = run_study(study_with(tmp_path, SIDE))
    (table,) = [t for t in study_tables(result) if t.name == "wing_over_place"]
    assert len(table.rows) == result.places.downforce.n.size
    page = page_html(result)
    assert "Height and setback" in page
    assert "tufts on the car decide" in page
