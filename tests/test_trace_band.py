"""What a traced shape's band does to the air: draws, ranked causes, widened polars, the check by a force."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from trace_person import closed, dense

from wingtool.errors import TraceError, WingtoolError
from wingtool.geometry import four_digit
from wingtool.report import update_lines
from wingtool.section import polar, surrogate_shapes
from wingtool.study import UNKNOWN_ROOF_DEG, check_trace, force_reading, read_study, wing_of_study
from wingtool.study.trace.rank import known_better, lift_gradient, rank
from wingtool.study.trace.shape_band import shape_band, traced_beside, with_shape_band
from wingtool.study.trace.update import ForceReading, predictions, update_by_force, weighted
from wingtool.study.wing.finite_wing import with_sweep
from wingtool.study.wing.roof import UNKNOWN_ROOF
from wingtool.tracing import (
    TracedSection,
    draws,
    find_datum,
    fit_outline,
    for_surrogate,
    points_readings,
    traced,
    write_traced,
)
from wingtool.tracing.fit.curve import SHAPE
from wingtool.wing import solve_planes

CHORD, REYNOLDS = 250.0, 7e5


@pytest.fixture(scope="module")
def found() -> TracedSection:
    outline = closed(dense(four_digit("4412")), CHORD)
    pick = np.linspace(0, len(outline) - 1, 160).astype(int)
    points = outline[pick] + np.random.default_rng(3).normal(0.0, 0.3, (160, 2))
    return traced(fit_outline(points_readings(points, 0.3)), "shed wing", 0.3)


def test_many_shapes_at_once_are_each_alone(found):
    # TWIN: the vectorised call against one shape at a time, and against the surrogate's door for sections.
    rows = for_surrogate(draws(found.shape, found.covariance, 3))
    together = surrogate_shapes(rows, REYNOLDS, [0.0, 6.0])
    alone = np.array([surrogate_shapes(row, REYNOLDS, [0.0, 6.0]).cl[0] for row in rows])
    assert together.cl == pytest.approx(alone, abs=1e-9)
    section = polar(found.section, REYNOLDS, [0.0, 6.0], method="surrogate").cl[0]
    assert surrogate_shapes(for_surrogate(found.shape), REYNOLDS, [0.0, 6.0]).cl[0] == pytest.approx(
        section, abs=0.03
    )


def test_the_gradient_predicts_the_draws(found):
    # TWIN: linear prediction of the spread of cl against the draws themselves.
    gradient, slope = lift_gradient(found, REYNOLDS, 4.0, "race", None)
    band = shape_band(found, REYNOLDS, np.array([4.0]), count=400)
    linear = np.sqrt(gradient @ found.covariance @ gradient)
    assert linear == pytest.approx((band.cl_below + band.cl_above)[0] / 2 / 1.96, rel=0.2)
    assert 0.08 < slope < 0.13  # 2 pi per radian is 0.110
    assert slope == pytest.approx(band.slope_per_deg[0], rel=0.05)


def test_one_measurement_takes_what_its_error_leaves():
    """EXACT: normal distributions by hand: 2^2 0.04^2 / (0.04 + 0.3^2) = 0.0492 goes of 0.16."""
    gone = known_better(np.array([2.0]), np.array([[0.04]]), np.array([[1.0]]), 0.3)
    assert gone == pytest.approx(0.0064 / 0.13, rel=1e-6)


def test_measuring_everything_leaves_nothing_and_more_never_widens(found):
    # EXACT: conditioning on all parameters takes all the variance; on more rows, never less.
    gradient, _ = lift_gradient(found, REYNOLDS, 4.0, "race", None)
    whole = gradient @ found.covariance @ gradient
    scaled = np.eye(SHAPE) * 1e3
    assert known_better(gradient, found.covariance, scaled, 0.0) == pytest.approx(whole, rel=1e-3)
    few = known_better(gradient, found.covariance, scaled[:4], 1e-3)
    more = known_better(gradient, found.covariance, scaled[:9], 1e-3)
    assert 0.0 <= few <= more <= whole * 1.001


def test_the_ranked_list_is_ranked_and_names_all_causes(found):
    ranking = rank(found, REYNOLDS, 4.0)
    causes = list(ranking.shares.values())
    left = list(ranking.remedies.values())
    assert causes == sorted(causes, reverse=True)
    assert left == sorted(left)
    assert max(left) <= 0.5 * (ranking.below_cl + ranking.above_cl) * 1.0001
    text = " ".join(ranking.shares)
    for word in ("nose", "camber", "tail", "angle", "roof"):
        assert word in text
    still = replace(UNKNOWN_ROOF, angle_band_deg=np.zeros(1))
    quiet = rank(found, REYNOLDS, 4.0, roof=still, gauge_error_deg=0.0)
    assert quiet.below_cl == quiet.above_cl == pytest.approx(quiet.shape_half_width_cl)


def test_air_that_nobody_measured_comes_down_only(found):
    """EXACT: the lift slope by the roof's whole band above the value, nothing below; both ways by tufts."""
    slope = lift_gradient(found, REYNOLDS, 4.0, "race", None)[1]
    still = rank(found, REYNOLDS, 4.0, roof=replace(UNKNOWN_ROOF, angle_band_deg=np.zeros(1)))
    unknown = rank(found, REYNOLDS, 4.0)
    tufts = rank(found, REYNOLDS, 4.0, roof=replace(UNKNOWN_ROOF, one_sided=False))
    assert unknown.below_cl == pytest.approx(still.below_cl)
    assert unknown.above_cl == pytest.approx(np.hypot(still.above_cl, UNKNOWN_ROOF_DEG * slope))
    assert (tufts.below_cl, tufts.above_cl) == pytest.approx((unknown.above_cl, unknown.above_cl))
    assert unknown.shares["roof inflow (0 to 6 deg down, not measured)"] == pytest.approx(3.0 * slope)


def test_a_widened_polar_holds_both_bands_in_quadrature(found):
    # EXACT: half widths add in squares.
    alone = polar(found.section, [REYNOLDS], np.arange(-2.0, 9.0, 2.0), method="surrogate")
    both = with_shape_band(alone, found)
    band = shape_band(found, REYNOLDS, alone.alpha_deg)
    own = alone.cl_high - alone.cl
    assert (both.cl_high - both.cl)[0] == pytest.approx(np.hypot(own[0], band.cl_above), rel=1e-6)
    assert np.all(both.cd_low >= 0.0)
    assert "traced shape" in both.band_origin


def test_weights_agree_with_the_rule_for_normal_distributions(found):
    # EXACT: for a force linear in one normal unknown, mean and variance after a measurement are known in
    # closed form (Rasmussen & Williams 2006, A.2): 300 +- 20 N before, 330 +- 15 N measured.
    rng = np.random.default_rng(0)
    cl = rng.normal(1.2, 0.05, 20000)
    force = 300.0 + 400.0 * (cl - 1.2)
    shapes = rng.normal(0.0, 1e-3, (20000, SHAPE)) + found.shape
    update = update_by_force(found, cl, force, shapes, ForceReading(330.0, 15.0, 40.0, 4.0))
    gain = 400.0 / (400.0 + 225.0)
    low, middle, high = update.after_n
    assert middle == pytest.approx(300.0 + gain * 30.0, abs=0.6)
    assert (high - low) / 3.92 == pytest.approx(np.sqrt((1 - gain) * 400.0), rel=0.03)
    assert update.fits


def test_a_force_that_does_not_fit_changes_nothing(found):
    rng = np.random.default_rng(0)
    cl = rng.normal(1.2, 0.05, 4000)
    shapes = np.tile(found.shape, (4000, 1))
    update = update_by_force(found, cl, 300 + 400 * (cl - 1.2), shapes, ForceReading(450.0, 10.0, 40.0, 4.0))
    assert not update.fits
    assert update.found is found
    text = " ".join(update_lines(update))
    assert "does not fit" in text
    assert "above" in text


def test_weighted_middle_of_even_draws():
    values = np.arange(1001.0)
    assert weighted(values, np.ones(1001)) == pytest.approx((25.0, 500.0, 975.0), abs=1.0)


STUDY = """
[wing]
section = "wing.dat"
span = "140 cm"
chord = "25 cm"
height = "1.3 m"
method = "surrogate"
[sweep]
angles = "0:8:4"
speeds = ["100 km/h"]
"""


@pytest.fixture
def study(tmp_path, found) -> Path:
    write_traced(found, tmp_path / "wing.dat")
    (tmp_path / "study.toml").write_text(STUDY)
    return tmp_path / "study.toml"


def test_the_wing_of_a_traced_section_carries_the_wider_band(study):
    wide = wing_of_study(read_study(study))
    (study.parent / "wing.band.json").unlink()
    narrow = wing_of_study(read_study(study))
    assert wide.downforce.n == pytest.approx(narrow.downforce.n)
    width, less = (answer.downforce.high_n - answer.downforce.low_n for answer in (wide, narrow))
    assert np.all(width > less)
    assert "traced shape" in wide.band_origin


def test_a_force_on_the_real_wing_narrows_the_trace(study, found):
    fair = check_trace(study, force_reading("210 N", "4 N", "120 km/h", 6.0))
    middle = fair.before_n[1]
    reading = force_reading(f"{middle + 3:.1f} N", "4 N", "120 km/h", 6.0)
    update = check_trace(study, reading)
    assert update.fits
    assert update.after_n[2] - update.after_n[0] < update.before_n[2] - update.before_n[0]
    assert np.trace(update.found.covariance) <= np.trace(found.covariance) * 1.05
    wrong = check_trace(study, force_reading(f"{1.6 * middle:.1f} N", "4 N", "120 km/h", 6.0))
    assert not wrong.fits
    write_traced(update.found, study.parent / "wing.dat")
    for error in ("4 N", "7 N"):
        with pytest.raises(TraceError, match="already"):
            check_trace(study, force_reading(f"{middle + 3:.1f} N", error, "120 km/h", 6.0))
    assert check_trace(study, replace(reading, force_n=reading.force_n + 0.01)).fits
    old = replace(update.found, forces=update.found.forces[:0])
    write_traced(old, study.parent / "wing.dat")
    with pytest.raises(TraceError, match="trace the section again"):
        check_trace(study, reading)


def test_a_change_of_the_sections_lift_acts_as_a_turn(study, found):
    # TWIN: the lift curve raised by 0.02 and the wing solved again, against the slope of the draws,
    # which the other errors leave open by 2 % (a standard deviation).
    around = with_sweep(read_study(study), angles_deg=[5.5, 6.0, 6.5], speeds_m_s=[33.0])
    wing = wing_of_study(around)
    raised = [replace(p, cl=p.cl + 0.02) for p in wing.polars]
    again = solve_planes([replace(wing.planes[0], polars=raised)], [6.0], [33.0], wing.air, wing.inflow)
    cl, force_n, _ = predictions(around, found, wing)
    per_cl = np.cov(cl, force_n)[0, 1] / cl.var()
    assert per_cl * 0.02 == pytest.approx(again.downforce.n[0, 0] - wing.downforce.n[0, 1], rel=0.05)


@pytest.mark.parametrize(
    ("force", "error", "match"),
    [("40 kN", "9 N", "no wing makes"), ("90 N", "0 N", "above zero"), ("90", "9 N", "no unit")],
)
def test_a_force_that_cannot_be_meant_is_refused(force, error, match):
    with pytest.raises(WingtoolError, match=match):
        force_reading(force, error, "60 km/h", 6.0)


def test_a_study_without_a_trace_is_refused(study):
    (study.parent / "wing.band.json").unlink()
    with pytest.raises(TraceError, match="no band beside it"):
        check_trace(study, force_reading("200 N", "10 N", "120 km/h", 6.0))
    with pytest.raises(TraceError, match="--force"):
        force_reading(None, "10 N", "120 km/h", 6.0)
    assert traced_beside("4412", study.parent) is None


def test_no_lift_is_lost_for_a_band_of_nothing(found):
    sure = replace(found, covariance=1e-16 * np.eye(SHAPE))
    band = shape_band(sure, REYNOLDS, np.array([0.0, 4.0]), count=20)
    assert band.cl_above == pytest.approx(0.0, abs=1e-3)


def test_a_study_says_what_makes_its_traced_band(study):
    from wingtool.report import full_lines
    from wingtool.study import run_study

    result = run_study(read_study(study))
    text = " ".join(full_lines(result))
    assert "Traced section (points, good to 0.3 mm)" in text
    assert "measure next" in text
    assert result.traced.ranking.above_cl > result.traced.ranking.shape_half_width_cl > 0.0
    told = find_datum(result.traced.found.shape, result.traced.found.covariance).text
    assert f"(±{told.rpartition('+-')[2].removesuffix(')')}°)" in text  # of the gauge, as the trace told it
