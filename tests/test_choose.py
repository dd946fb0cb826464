"""Which section to build: shapes, filters, the wing's straight lines, groups, the search's machinery."""

from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from types import SimpleNamespace

import numpy as np
import pytest

from wingtool.errors import RangeError, StudyError
from wingtool.geometry import find_section, four_digit, measure
from wingtool.section import polar_from_arrays, polars, stall_between
from wingtool.study import bundled_study, read_study, tolerances
from wingtool.study.advice import degrees_left, stall_angle_deg
from wingtool.study.choose.aim import Aim, WorkingPoint, best_point
from wingtool.study.choose.errors import SHAPE_ERRORS
from wingtool.study.choose.estimate import NAMES, WingEstimate, lattice, search_shapes, wing_estimate
from wingtool.study.choose.filters import Filters, applied, filters_for, measured
from wingtool.study.choose.finalists import (
    LATTICE_OFFSETS_DEG,
    NOT_COMPUTED,
    SOLVER_OFFSETS_DEG,
    Finalist,
    solver_finalists,
    stall_drop,
)
from wingtool.study.choose.groups import grouped
from wingtool.study.choose.shapes import (
    candidates,
    family_names,
    fitted,
    fitted_row,
    joined,
    opened,
    without_twins,
)
from wingtool.study.choose.terms import checked_speeds, lap_setting, lap_slopes
from wingtool.study.choose.tolerances import WorkingWing, harm_of
from wingtool.study.wing.finite_wing import section_method, section_question, with_sweep
from wingtool.units import DisplayUnits
from wingtool.wing import Force, Wing, solve_wing

SPEED_M_S = 160 / 3.6
SOME = ("2412", "4412", "6412", "4415", "6415", "8415", "23012", "23015", "fen-lift", "fen-stout")


@pytest.fixture(scope="module")
def study():
    return read_study(bundled_study())


@pytest.fixture(scope="module")
def estimate(study):
    return wing_estimate(study, fitted_row(find_section("fen-lift"))[0], SPEED_M_S)


@pytest.fixture(scope="module")
def shapes():
    return fitted(SOME, find_section, "family")


@pytest.fixture(scope="module")
def aim(study):
    return Aim("downforce", 4.5, float(study.air.air().dynamic_pressure_pa(SPEED_M_S)))


@pytest.mark.parametrize("designation", ["0012", "4412", "23015"])
def test_a_row_draws_the_section_and_measures_as_its_formula(designation):
    """EXACT: NACA TR 460 (1933): thickness by name, nose radius 1.1019 t^2 (for the symmetrical one)."""
    section = four_digit(designation) if len(designation) == 4 else find_section(designation)
    row, rms = fitted_row(section)
    found = measured(row[None])
    thickness = int(designation[-2:]) / 100
    assert rms < (1e-3 if len(designation) == 5 else 3e-4)  # its nose stands off the frame's origin
    assert found["thickness"][0] == pytest.approx(thickness, abs=1e-3)
    assert found["tail_angle_deg"][0] == pytest.approx(measure(section).tail_angle_deg, abs=1.0)
    if designation == "0012":
        assert found["nose_radius"][0] == pytest.approx(1.1019 * thickness**2, rel=0.06)


def test_a_hollow_is_measured_by_its_radius():
    """EXACT: second derivative of the thickness formula (NACA TR 460, 1933), bent by a parabola."""
    section, bend = four_digit("0012", points=300), 0.5
    assert not np.isfinite(measured(fitted_row(section)[0][None])["hollow_radius"][0])
    xy = np.array(section.xy)
    xy[:, 1] += bend * xy[:, 0] * (1.0 - xy[:, 0])
    found = measured(fitted_row(replace(section, xy=xy))[0][None])["hollow_radius"][0]
    x = np.linspace(0.10, 0.96, 200)
    slope = -0.6 * (0.5 * 0.2969 * x**-0.5 - 0.1260 - 0.7032 * x + 0.8529 * x**2 - 0.4060 * x**3)
    second = 0.6 * (-0.25 * 0.2969 * x**-1.5 - 0.7032 + 1.7058 * x - 1.2180 * x**2)
    slope += bend * (1.0 - 2.0 * x)
    curvature = (second + 2.0 * bend) / (1.0 + slope**2) ** 1.5
    assert found == pytest.approx(1.0 / curvature.max(), rel=0.05)


def test_a_thin_tail_is_opened_not_refused(shapes):
    """EXACT: the tail of an opened section is as thick as asked, its nose where it was."""
    kept, _, _ = applied(shapes, Filters(tail_thickness_m=0.002), 0.25)
    assert len(kept) == len(shapes)
    assert kept.rows[:, -1].min() == pytest.approx(0.008)
    section = opened(four_digit("4412"), 0.008)
    assert section.xy[0, 1] - section.xy[-1, 1] == pytest.approx(0.008, abs=2e-5)
    assert measure(section).nose_radius == pytest.approx(measure(four_digit("4412")).nose_radius, rel=0.02)


def test_filters_that_leave_nothing_say_which_removed_how_many(shapes):
    """EXACT: counted by hand: of ten sections none is 60 mm thick at the spar on 250 mm."""
    with pytest.raises(StudyError, match=r"60 mm thick at 30 % of the chord removes 10") as error:
        applied(shapes, Filters(spar_thickness_m=0.06, nose_radius_m=0.001), 0.25)
    assert "\n" not in str(error.value)
    kept, removed, _ = applied(shapes, Filters(spar_thickness_m=0.035), 0.25)  # 14 % of the chord
    assert "4415" in kept.names
    assert "4412" not in kept.names
    assert removed["35 mm thick at 30 % of the chord"] == len(shapes) - len(kept)
    with pytest.raises(StudyError, match="wire, ribs, mould"):
        filters_for("clay")
    with pytest.raises(StudyError, match=r"2.4 in thick at 30 %"):
        applied(shapes, Filters(spar_thickness_m=0.06), 0.25, DisplayUnits(length="in"))


def test_the_own_section_stays_and_what_it_fails_is_told(shapes):
    """EXACT: 4412 on 250 mm is 30 mm deep: it does not keep 35 mm at 30 % of the chord."""
    own = replace(shapes.take([1]), origins=np.array(["own"]))
    kept, _, fails = applied(joined([own, shapes]), Filters(spar_thickness_m=0.035), 0.25)
    assert kept.origins[0] == "own"
    assert fails == "35 mm thick at 30 % of the chord"


def test_twins_are_told_apart_from_neighbours(shapes):
    """EXACT: a section twice is one; 4412 and 4415 are two."""
    twice = fitted(["160", "200"], lambda points: four_digit("4412", int(points)), "x")
    assert without_twins(twice)[1] == 1
    assert without_twins(shapes)[1] == 0


def test_stall_is_found_between_the_angles():
    """EXACT: a parabola gains no more from 0.01 below its top; half a side separated counts, too."""
    alpha, top, bend = np.arange(-4.0, 22.0, 0.5), 14.25, 0.004
    cl = 1.5 - bend * (alpha - top) ** 2
    assert stall_between(alpha, cl) == pytest.approx(top - np.sqrt(0.01 / bend), abs=0.05)
    higher = [
        stall_between(alpha, cl + 0.002 * step * np.maximum(alpha, 0.0)) for step in np.linspace(0, 1, 9)
    ]
    assert np.all(np.diff(higher) > 0.0)  # not in steps of half a degree
    assert stall_between(alpha, cl, 1.0 - 0.052 * np.maximum(alpha, 0.0)) == pytest.approx(0.5 / 0.052)
    assert np.isnan(stall_between(alpha, 0.1 * alpha))


def test_the_straight_lines_rank_as_the_lattice_does(study, estimate, shapes, aim):
    """TWIN: the wing's straight lines against the lattice itself, both with the surrogate's section data."""
    quick = search_shapes(shapes.rows, estimate, aim)
    good, exact = np.isfinite(quick.value), []
    for k in np.flatnonzero(good):
        row = shapes.rows[k]
        angles = quick.wing_angle_deg[k] + LATTICE_OFFSETS_DEG
        wing = lattice(study, row, angles, [study.sweep.speeds_m_s[0], SPEED_M_S])
        exact.append(best_point(wing, aim, 1, sound_only=False).value)
    assert good.sum() >= 8
    assert np.corrcoef(quick.value[good], exact)[0, 1] > 0.9
    assert quick.value[good] == pytest.approx(np.array(exact), rel=0.2)


def test_an_aim_takes_the_best_allowed_point():
    """EXACT: three points by hand: the third keeps no margin, the second has too much drag."""
    cla, cda, margin = np.array([0.3, 0.5, 0.7]), np.array([0.02, 0.05, 0.06]), np.array([9.0, 6.0, 2.0])
    points = (cla, cda, margin)
    assert Aim("downforce", 4.0, 1000.0).value(*points).argmax() == 1
    assert Aim("downforce", 4.0, 1000.0, most_drag_n=40.0).value(*points).argmax() == 0
    assert Aim("lap", 4.0, 1000.0, gain_s_m2=1.0, loss_s_m2=10.0).value(*points).argmax() == 0
    value = Aim("spare", 4.0, 1000.0, least_downforce_n=400.0).value(*points)
    assert (value.argmax(), value.max()) == (1, 2.0)


def finalist(name: str, value: float, half: float, drop: float) -> Finalist:
    force = Force(value, value, value)
    point = WorkingPoint(5.0, 4.5, force, force, value)
    return Finalist(name, "family", four_digit("4412"), np.zeros(26), half_width=half, stall_drop=drop,
                    point=point, dirt_loss=0.0, error_loss=0.0)  # fmt: skip


def test_what_the_band_cannot_tell_apart_is_one_group_the_gentlest_first():
    """EXACT: half widths of 3 and 4 add to 5 in square: 4 less is no difference, 9 less is one."""
    found = (finalist("a", 100.0, 3.0, 0.3), finalist("b", 96.0, 4.0, 0.1), finalist("c", 91.0, 4.0, 0.0))
    groups = grouped(found, repeat=0.5)
    assert [[one.name for one in group] for group in groups] == [["b", "a"], ["c"]]
    assert [[one.name for one in group] for group in grouped(found, repeat=20.0)] == [["c", "b", "a"]]


def test_the_one_that_stalls_abruptly_or_nobody_knows_how_is_not_the_first_of_its_group():
    """EXACT: a made section 2 N better that loses 23 % past its stall stands behind one that loses 2 %."""
    made = replace(finalist("made", 102.0, 5.0, 0.23), origin="designed")
    found = (made, finalist("gentle", 100.0, 5.0, 0.02), finalist("unknown", 101.0, 5.0, np.nan))
    assert [one.name for one in grouped(found, repeat=0.5)[0]] == ["gentle", "made", "unknown"]


def test_the_search_is_kept_and_goes_on(tmp_path, estimate, shapes, aim, monkeypatch):
    """EXACT: a second search with the same folder computes nothing and gives the same numbers."""
    first = search_shapes(shapes.rows, estimate, aim, keep_in=tmp_path)
    monkeypatch.setattr("wingtool.study.choose.estimate.working_points", None)
    again = search_shapes(shapes.rows, estimate, aim, keep_in=tmp_path)
    for name in NAMES:
        assert np.array_equal(getattr(first, name), getattr(again, name), equal_nan=True)


def test_a_folder_without_sections_is_told(study, tmp_path):
    """EXACT: bad input in one line."""
    with pytest.raises(StudyError, match="no coordinate file"):
        candidates(study, tmp_path)
    assert len(set(family_names())) == len(family_names())


def test_building_errors_have_the_size_that_they_say():
    """EXACT: thickness, tail, nose and crest of the changed outline, measured on its points."""
    section, size = four_digit("4412", points=400), 0.004
    before = np.asarray(section.xy)
    after = {error.name: np.asarray(error.change(section, size).xy) for error in SHAPE_ERRORS}
    assert measure(replace(section, xy=after["thickness"])).thickness == pytest.approx(0.124, abs=3e-4)
    assert after["tail thicker"][0, 1] - after["tail thicker"][-1, 1] == pytest.approx(
        before[0, 1] - before[-1, 1] + size, abs=2e-5
    )
    assert after["nose blunted"][:, 0].min() == pytest.approx(before[:, 0].min() + size, abs=3e-4)
    wave = after["wave of the suction side at 35 % chord"] - before
    assert wave[:, 1].max() == pytest.approx(size, rel=0.01)
    assert np.all(wave[int(np.argmin(before[:, 0])) + 1 :] == 0.0)


def test_half_widths_harm_and_areas_by_hand():
    """EXACT: 3 s and 4 s in quadrature; 10 %, 1 degree and 0.1 s count one each; CD = 0.1 + 2 0.01 + 0.03."""
    lap = Aim("lap", 4.0, 1000.0, gain_s_m2=3.0, loss_s_m2=4.0)
    assert lap.half_width(1000.0, 1000.0, 1.0) == pytest.approx(5.0)
    assert harm_of(np.array([-10.0, -1.0, 0.1]), 100.0) == pytest.approx(3.0)
    wing = WingEstimate(
        np.array([0.1, 0.9]), np.zeros(2), np.array([0.01, 0.02, 0.07 / 4]), 2.0, 0.03, 0.5, (1e6, 1e6), 0.05
    )
    cla, cda = wing.areas_m2(np.array([2.0 + 1.0 / 9.0]), np.array([0.01]))
    assert cla[0] == pytest.approx(0.5 * 2.0)
    assert cda[0] == pytest.approx(0.5 * (0.01 + 0.04 + 0.07 + 0.02 + 0.03))


def linear_wing():
    """A wing on a section that stalls at 12 degrees and then loses 0.05 of lift a degree."""
    alpha = np.arange(-10.0, 21.0)
    cl = np.where(alpha <= 12.0, 0.1 * alpha, 1.2 - 0.05 * (alpha - 12.0))
    polar = polar_from_arrays(alpha, cl, 0.01 + 0 * alpha)
    return solve_wing(Wing(1.4, 0.25, height_m=5.0), polar, [0.0, 4.0, 8.0, 12.0, 16.0], [40.0])


def test_what_a_wing_loses_past_its_stall():
    """EXACT: three degrees at 0.05 of 1.2."""
    assert stall_drop(linear_wing()) == pytest.approx(0.15 / 1.2)


def test_the_margin_of_a_finalist_is_the_gauge_s(study):
    """TWIN: lift that flattens before its stall; angles about one half a degree low against a whole table."""
    alpha = np.arange(-14.0, 25.0)
    cl = np.interp(alpha, [-14.0, 8.0, 14.0, 24.0], [-1.4, 0.8, 0.92, 0.32])
    polar = polar_from_arrays(alpha, cl, 0.01 + 0 * alpha)

    def over(angles_deg):
        wing = solve_wing(Wing(1.4, 0.25, height_m=5.0), polar, angles_deg, [40.0])
        return replace(wing, stall_margin_deg=degrees_left(wing.wing_angle_deg, wing.stall_margin_deg))

    fine = over(np.arange(0.0, 25.0))
    kept = stall_angle_deg(fine.wing_angle_deg, fine.stall_margin_deg) - 4.5
    aim = Aim("downforce", 4.5, float(study.air.air().dynamic_pressure_pa(40.0)))
    assert best_point(over(kept - 0.5 + SOLVER_OFFSETS_DEG), aim, 0).angle_deg == pytest.approx(kept, abs=0.1)


def test_a_section_that_nobody_asked_for_and_fails_is_counted_not_explained(study, shapes, monkeypatch):
    """Only the user's own section or file says why it could not be computed."""

    def fail(*_, **__):
        raise RangeError("section data: 2412: no Reynolds number has two converged points")

    monkeypatch.setattr("wingtool.study.choose.finalists.finite_wing.wing_of_study", fail)
    monkeypatch.setattr("wingtool.study.choose.finalists.solved_lift", lambda *_: None)
    two = replace(shapes.take([0, 1]), origins=np.array(["family", "own"]))
    terms = SimpleNamespace(study=study, progress=lambda _: None, speeds_m_s=(40.0,))
    known, own = solver_finalists(terms, two, np.zeros(2))
    assert known.status == NOT_COMPUTED
    assert own.status.startswith("section data")


def test_slopes_of_the_lap_over_downforce_and_drag():
    """EXACT: a lap that gains 2 s by a square metre of downforce area and loses 30 s by one of drag area."""
    linear = SimpleNamespace(
        car=SimpleNamespace(wheelbase_m=2.5), behind_m=0.5,
        times=lambda areas: 90.0 - 2.0 * areas.cla_m2 + 30.0 * areas.cda_m2,
    )  # fmt: skip
    assert lap_slopes(linear, linear_wing(), 0, 4.0) == pytest.approx((2.0, 30.0))


def test_a_later_stall_of_the_section_is_a_later_stall_of_the_wing(study):
    """EXACT: the same lift, the stall a degree later: no change of force, the wing stalls later by more."""
    wing = linear_wing()
    (polar,) = wing.polars
    base = WorkingWing(with_sweep(study, speeds_m_s=(40.0,)), polar, wing.wing_angle_deg, None, 0, 4.0)
    own = base.numbers(base.solved(polar))
    later = replace(polar, cl=np.where(polar.alpha_deg <= 13.0, 0.1 * polar.alpha_deg, 1.0)[None])
    moved = base.changed(polar, later)
    assert moved[0] == pytest.approx(own[0], rel=1e-3)
    assert moved[1] > own[1] + 1.0


@pytest.mark.slow
def test_tolerances_agree_with_the_changed_outline_run_through_everything(study):
    """TWIN: brute force. Within 10 % of the change, or 0.2 % of the downforce and 0.02 degree of stall."""
    found = tolerances(study, SPEED_M_S)
    speeds = checked_speeds(study, SPEED_M_S)
    question, swept = section_question(study, found.section), with_sweep(study, speeds_m_s=speeds)
    shapes = [error.change(found.section, error.size_mm / 250.0) for error in SHAPE_ERRORS[:3]]
    asked = [replace(question, section=shape) for shape in (found.section, *shapes)]

    def brute(data):
        angles, k = np.array(study.sweep.angles_deg), speeds.index(SPEED_M_S)
        base = WorkingWing(swept, data, angles, lap_setting(study), k, found.wing_angle_deg)
        return np.array(base.numbers(base.solved(data)))

    own, *changed = (brute(data) for data in polars(asked, section_method(study)))
    for error, numbers in zip(SHAPE_ERRORS, changed, strict=False):
        change = numbers - own
        quick = next(one for one in found.errors if one.name == error.name)
        print(f"{error.name}: brute {change[0]:+.2f} N {change[1]:+.2f} deg,"
              f" quick {quick.downforce_n:+.2f} N {quick.stall_deg:+.2f} deg")  # fmt: skip
        assert quick.downforce_n == pytest.approx(change[0], rel=0.1, abs=0.002 * own[0])
        assert quick.stall_deg == pytest.approx(change[1], rel=0.1, abs=0.02)


@pytest.mark.slow
def test_twenty_thousand_shapes_with_two_workers(tmp_path, estimate, shapes, aim):
    """TWIN: two workers give the rows of this process; 20,000 shapes come back in order."""
    rng = np.random.default_rng(3)
    rows = np.repeat(shapes.rows, 2000, axis=0)
    rows[:, :24] += 0.004 * rng.standard_normal((len(rows), 24))
    with ProcessPoolExecutor(2, get_context("spawn")) as pool:
        found = search_shapes(rows, estimate, aim, executor=pool, keep_in=tmp_path)
    assert found.value.shape == (20_000,)
    few = search_shapes(rows[200:400], estimate, aim)
    assert np.array_equal(found.value[200:400], few.value)
