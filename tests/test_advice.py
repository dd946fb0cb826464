"""The advice: margins kept, unsound rows not advised, cautions beside the number."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from wingtool.report.answer import answer_lines
from wingtool.study import UNKNOWN_ROOF_DEG, advise, bundled_study, read_study, run_study
from wingtool.study.advice import OVERSTEER_POINTS, degrees_left, kept_margin_deg, stall_angle_deg
from wingtool.wing import Force

ANGLES = np.arange(-2.0, 17.0)
SPEEDS = np.array([20.0, 40.0, 60.0])
STALL = 12.5


def wing(status="converged", force=None, height=5.0):
    """A wing whose first strip stalls at 12.5 degrees at every speed; forces rise with angle and speed."""
    shape = (SPEEDS.size, ANGLES.size)
    newton = np.broadcast_to(SPEEDS[:, None] ** 2 * (ANGLES + 3.0) / 10.0, shape) if force is None else force
    words = np.full(shape, status, dtype=object)
    words[:, ANGLES > STALL] = "beyond stall"
    return SimpleNamespace(
        wing_angle_deg=ANGLES,
        speed_m_s=SPEEDS,
        stall_margin_deg=np.broadcast_to(STALL - ANGLES, shape),
        status=words,
        inflow=SimpleNamespace(angle_deg=np.array([4.0, 4.0]), span_fraction=np.array([0.0, 1.0])),
        wing=SimpleNamespace(span_m=1.4, endplate=None, height_over_chord=height),
        strip_y_m=np.array([0.0]),
        strip_margin_deg=np.broadcast_to((STALL - ANGLES)[:, None], (*shape, 1)),
        downforce=Force(newton, 0.8 * newton, 1.2 * newton),
        drag=Force(0.1 * newton, 0.08 * newton, 0.12 * newton),
    )


def test_the_range_keeps_the_margin_and_starts_where_the_band_presses_down():
    """EXACT: 12.5 less 3 (common practice) is 9.5, so 9; the low end is above zero from -2 on."""
    advice = advise(wing(), roof_band_deg=0.0)
    assert advice.high_deg == 9.0
    assert advice.start_deg == -2.0
    assert "whole range is downforce" in advice.starts_because
    assert advice.stall_deg == pytest.approx(STALL)
    assert advice.given
    assert not advice.doubt


@pytest.mark.parametrize("offset", [0.0, 150.0, 300.0])
def test_the_start_is_the_first_angle_whose_low_end_presses(offset):
    """EXACT: at the slowest speed the low end is 32 (a + 3) - offset, above zero past offset / 32 - 3."""
    lower = wing()
    lower.downforce = replace(lower.downforce, low_n=lower.downforce.low_n - offset)
    expected = min(a for a in ANGLES if 400 * 0.8 * (a + 3.0) / 10 > offset)
    assert advise(lower, 0.0).start_deg == expected


def test_the_start_waits_until_the_front_is_light_enough():
    """EXACT: the front's excess falls by 0.25 points a degree from 2 at -2, and reaches the limit at 4."""
    shift = 2.0 - 0.25 * (ANGLES + 2.0)
    advice = advise(wing(), 0.0, shift)
    assert advice.start_deg == ANGLES[shift <= OVERSTEER_POINTS][0] == 4.0
    assert "may oversteer" in advice.starts_because
    assert np.isnan(advice.understeers_from_deg)
    assert advise(wing(), 0.0, shift - 3.0).understeers_from_deg == 7.0
    heavy = advise(wing(), 0.0, shift + 9.0)
    assert heavy.start_deg == heavy.high_deg
    assert "too heavy" in heavy.starts_because


@pytest.mark.parametrize("asked", ["0:20:4", "-10:16:1", "4:6:1"])
def test_the_advice_does_not_hang_on_the_range_asked_for(asked):
    """EXACT: whatever was asked for, the same start, end and stall; the table holds both."""
    quick = {"wing": {"method": "surrogate", "section": "4412", "surface": "race"}}
    path = bundled_study("green_hatch_plan_b")
    usual = run_study(read_study(path, quick))
    other = run_study(read_study(path, quick | {"sweep": {"angles": asked}}))
    for name in ("start_deg", "high_deg", "stall_deg", "starts_because", "ends_because"):
        assert getattr(other.advice, name) == getattr(usual.advice, name)
    assert {*read_study(path, {"sweep": {"angles": asked}}).sweep.angles_deg} <= {*other.wing.wing_angle_deg}
    assert other.advice.start_deg in other.wing.wing_angle_deg


def test_the_degrees_of_the_end_add_up():
    """EXACT: stall less band less margin, rounded down to a whole degree."""
    for band in (0.0, 0.6, 1.5, 2.4, None):
        advice = advise(wing(), band)
        assert advice.high_deg == np.floor(round(advice.stall_deg, 1) - kept_margin_deg(band))


def test_the_roofs_part_is_that_of_the_strip_that_stalls_first():
    """EXACT: linear between 4 degrees in the middle and 0 at the tip, at the strip half way out: 2."""
    roofed = wing()
    roofed.wing = SimpleNamespace(span_m=2.0, height_over_chord=5.0)
    roofed.strip_y_m = np.array([0.0, 0.5, 1.0])
    roofed.strip_margin_deg = (STALL - ANGLES)[None, :, None] + np.array([3.0, 0.0, 5.0])
    roofed.inflow = SimpleNamespace(angle_deg=np.array([4.0, 0.0]), span_fraction=np.array([0.0, 1.0]))
    assert advise(roofed, 1.5).roof_deg == pytest.approx(2.0)


def test_what_is_not_known_about_the_roof_widens_the_margin():
    """EXACT: 12.5 less 3 less 1.5."""
    advice = advise(wing(), roof_band_deg=1.5)
    assert advice.high_deg == 8.0
    assert "4.5 degrees" in advice.ends_because


def test_an_unmeasured_roof_buys_no_angle_and_what_is_kept_is_not_told_as_a_limit():
    """EXACT: the demo's own tufts, angle and band together, take no more than is kept without them."""
    tufts = read_study(bundled_study()).roof.inflow
    assert max(row.angle_deg + row.angle_band_deg for row in tufts) <= UNKNOWN_ROOF_DEG
    assert any("6° are kept, some roofs take more" in one.text for one in advise(wing(), None).cautions)
    assert not any("some roofs" in one.text for one in advise(wing(), 1.5).cautions)


def test_a_band_that_reaches_into_lift_is_told():
    """The wing makes little at the start angle: its low band is below zero."""
    little = wing()
    little.downforce = replace(little.downforce, low_n=little.downforce.low_n - 1e4)
    assert any("may lift the car" in caution.text for caution in advise(little, 1.5).cautions)
    assert not any("may lift the car" in caution.text for caution in advise(wing(), 1.5).cautions)


def test_knowing_nothing_about_the_roof_is_not_rewarded():
    """EXACT: 12.5 less 3 less 6 is 3.5; never a steeper angle than with tufts."""
    advice = advise(wing(), roof_band_deg=None)
    assert advice.high_deg == 3.0 <= advise(wing(), roof_band_deg=1.5).high_deg
    assert "9 degrees" in advice.ends_because


def test_air_that_comes_level_is_not_told_as_descending():
    level = SimpleNamespace(angle_deg=np.zeros(1))
    told = " ".join(c.text for c in advise(SimpleNamespace(**vars(wing()) | {"inflow": level}), 0.0).cautions)
    assert "comes level to the wing" in told
    assert "adds up to" not in told
    assert "leans the wing's force" not in told


@pytest.mark.parametrize(
    "status", ["low confidence", "not converged: why", "not trustworthy: why", "two solutions"]
)
def test_rows_that_are_not_sound_are_not_advised(status):
    advice = advise(wing(status), None)
    assert np.isnan(advice.start_deg)
    assert not advice.given
    assert "no angle" in advice.doubt


def test_a_gap_ends_the_range():
    """Angles past an unsound row are not advised, though they are sound themselves."""
    holed = wing()
    holed.status[1, ANGLES == 5.0] = "not converged: why"
    advice = advise(holed, 1.5)
    assert advice.high_deg == 4.0
    assert "not converged: why" in advice.ends_because


def test_lift_upwards_is_not_advised():
    advice = advise(wing(force=np.broadcast_to(ANGLES - 4.0, (3, ANGLES.size))), 1.5)
    assert advice.start_deg == 5.0


def test_cautions_stand_beside_their_numbers():
    """What the crew must read: stall, roof, mounts, balance, estimate; and a low wing says so."""
    cautions = advise(wing(), None).cautions
    text = {beside: " ".join(c.text for c in cautions if c.beside == beside) for beside in ("angle", "force")}
    for word in ("Stall", "roof", "tufts"):
        assert word in text["angle"]
    words = ("estimates", "Proof-load", "`run` with [car]", "tether", "lifts the front", "class rules", "kgf")
    for word in words:
        assert word in text["force"]
    assert not [c for c in cautions if c.beside == "height"]
    assert [c for c in advise(wing(height=0.1), None).cautions if c.beside == "height"]
    known = " ".join(c.text for c in advise(wing(), 1.0).cautions)
    assert "tufts" not in known
    assert "adds up to 4 degrees" in known


def test_stall_angle_at_the_edges():
    """EXACT: linear between two angles; none; before the first."""
    angles = np.array([0.0, 4.0, 8.0])
    assert stall_angle_deg(angles, np.array([[3.0, 1.0, -1.0]])) == pytest.approx(6.0)
    assert np.isnan(stall_angle_deg(angles, np.array([[3.0, 2.0, np.nan]])))
    assert stall_angle_deg(angles, np.array([[-1.0, -5.0, -9.0], [9.0, 5.0, 1.0]])) == 0.0


def test_a_stall_past_a_row_that_did_not_converge_is_still_told():
    """EXACT: between 0 and 8 degrees, the 4 missing; another speed's stall is not lost beside it."""
    angles = np.array([0.0, 4.0, 8.0])
    assert stall_angle_deg(angles, np.array([[3.0, np.nan, -1.0]])) == pytest.approx(6.0)
    assert stall_angle_deg(angles, np.array([[3.0, np.nan, -1.0], [1.0, -3.0, -5.0]])) == pytest.approx(1.0)


def test_the_largest_force_is_told_with_its_own_speed():
    """EXACT: where the fastest row makes less, force and speed are those of the one before."""
    force = np.outer(SPEEDS**2, (ANGLES + 3.0) / 10.0)
    force[-1] = force[1] / 2
    (text,) = [c.text for c in advise(wing(force=force), None).cautions if "Largest force" in c.text]
    assert "band included, rounded up: 3650 N" in text  # 1.2 x 40^2 x 1.9 = 3648, three figures upwards
    assert "at 144 km/h" in text
    assert "grows with the square of speed" in text


def test_why_no_angle_is_advised_is_told_with_what_helps():
    """EXACT: a wing upside down, data that are not there, and a table of stalled angles are three things."""
    lifts = advise(wing(force=-np.outer(SPEEDS**2, ANGLES + 3.0)), 0.0).doubt
    assert "lifts the car at every angle" in lifts
    assert "below the stall" not in lifts
    for status in ("low confidence", "not converged: why"):
        unsound = advise(wing(status), 0.0).doubt
        assert f"most often: {status})" in unsound
        assert "lower angles in [sweep]" not in unsound
        assert ("[wing.endplate]" in unsound) == (status == "low confidence")
    empty = wing("not converged: why", force=np.full((SPEEDS.size, ANGLES.size), np.nan))
    empty.status[:] = "not converged: why"
    empty.stall_margin_deg = np.full_like(empty.downforce.n, np.nan)
    assert "most often: not converged: why" in advise(empty, 0.0).doubt
    assert "stays 23 degrees below the stall" in advise(wing(), 20.0).doubt
    assert "or fit endplates" in advise(wing(), 20.0).doubt
    plated = SimpleNamespace(span_m=1.4, endplate=object(), height_over_chord=5.0)
    unsound, stalled = wing("low confidence"), wing()
    unsound.wing = stalled.wing = plated
    assert "[wing.endplate]" not in advise(unsound, 0.0).doubt
    assert "or fit larger endplates" in advise(stalled, 20.0).doubt


def test_rules_are_checked_at_every_advised_angle_and_without_a_car():
    """EXACT: the top is highest at the last advised angle; a limit between first and last top fails there."""
    path = bundled_study("green_hatch_plan_b")
    quick = {"wing": {"method": "surrogate"}}
    tops = []
    for limit in ("3 m", "1 m"):
        rules = {"limits": {"most": {"wing_top_height": limit}}}
        (check,) = run_study(read_study(path, quick | rules)).rules
        tops.append(check.value)
        assert check.verdict == ("pass" if limit == "3 m" else "fail")
    assert tops[0] == tops[1]
    result = run_study(
        read_study(path, quick | {"limits": {"most": {"wing_top_height": f"{tops[0] - 0.001} m"}}})
    )
    assert result.car is None
    assert result.rules[0].verdict == "fail"
    kept = replace(result.rules[0], verdict="pass")
    told = " ".join(" ".join(answer_lines(replace(result, rules=(*result.rules, kept, kept)))).split())
    assert "RULES FAILED: wing top height (2 others met); no other rule is checked." in told
    assert not any("[limits]" in caution.text for caution in result.advice.cautions)


def test_degrees_left_add_up_to_the_stall_at_every_angle():
    """EXACT: a section whose angle grows by 0.9 of the wing's stalls where its own margin is gone."""
    margin = np.array([10.0 - 0.9 * ANGLES, 30.0 - 0.9 * ANGLES])
    left = degrees_left(ANGLES, margin)
    np.testing.assert_allclose(left[0] + ANGLES, 10.0 / 0.9)
    np.testing.assert_array_equal(left[1], margin[1])
