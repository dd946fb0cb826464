"""From a study's side view of the car to the air that meets the wing."""

import pytest

from wingtool.errors import StudyError
from wingtool.study import UNKNOWN_ROOF_DEG, read_study
from wingtool.study.whole_study import roof_band_deg
from wingtool.study.wing.roof import air_at_wing, roof_inflow, side_view

SIDE = """
[roof]
width = "1.7 m"
wing_behind = "20 cm"
side = [
  ["0 m", "0.35 m"], ["0.15 m", "0.18 m"], ["1 m", "0.16 m"], ["3.6 m", "0.18 m"], ["3.8 m", "0.5 m"],
  ["3.75 m", "0.85 m"], ["3.45 m", "1.3 m"], ["3.3 m", "1.4 m"], ["2.6 m", "1.44 m"], ["1.5 m", "1.36 m"],
  ["0.9 m", "0.98 m"], ["0.1 m", "0.75 m"],
]
"""
TUFTS = """
[[roof.inflow]]
span_fraction = 0.0
angle_deg = 4.0
"""


def study_with(tmp_path, roof, height="1.6 m"):
    path = tmp_path / "study.toml"
    wing = f'[wing]\nsection = "4412"\nspan = "1.4 m"\nchord = "25 cm"\nheight = "{height}"\n'
    path.write_text(wing + roof)
    return read_study(path)


def test_side_view_gives_falling_air_in_the_middle_and_less_at_the_tips(tmp_path):
    study = study_with(tmp_path, SIDE)
    inflow = roof_inflow(study)
    assert inflow.span_fraction.tolist() == [0.0, 1.0]
    assert 1 < inflow.angle_deg[0] < 15
    assert inflow.angle_deg[1] == pytest.approx(inflow.angle_deg[0] / 2)
    assert (inflow.angle_band_deg >= inflow.angle_deg / 2).all()
    assert "side view" in inflow.origin
    assert roof_band_deg(study) == pytest.approx(inflow.angle_band_deg.max())
    assert side_view(study).status[0] == "estimate"


def test_tufts_win_over_the_side_view(tmp_path):
    inflow = roof_inflow(study_with(tmp_path, SIDE + TUFTS))
    assert inflow.angle_deg.tolist() == [4.0]


def test_a_wing_in_the_wake_is_refused_in_one_line(tmp_path):
    with pytest.raises(StudyError, match="the wing stands .*; raise it"):
        roof_inflow(study_with(tmp_path, SIDE, height="1.2 m"))


def test_no_roof_no_inflow(tmp_path):
    study = study_with(tmp_path, "")
    assert roof_inflow(study) is None
    assert roof_band_deg(study) is None
    assert side_view(study) is None


def test_a_roof_that_nobody_measured_is_no_better_known_than_one_with_tufts(tmp_path):
    """EXACT: the angle that the advice keeps, downwards only, and the speed's band of a row without one."""
    unknown, tufts = (air_at_wing(study_with(tmp_path, roof)) for roof in ("", TUFTS))
    assert (unknown.angle_deg, unknown.angle_band_deg, unknown.one_sided) == (0.0, UNKNOWN_ROOF_DEG, True)
    assert unknown.speed_ratio_band >= tufts.speed_ratio_band > 0.0
    assert "not measured" in unknown.origin
