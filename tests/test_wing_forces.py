"""The coupled wing: stall, drag by part, roof inflow, stands, several planes, band and status."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wingtool.air import Air
from wingtool.errors import RangeError
from wingtool.section import polar_from_arrays
from wingtool.wing import (
    Endplate,
    Mount,
    Plane,
    RoofInflow,
    Station,
    StationPolars,
    Wing,
    solve_planes,
    solve_wing,
)
from wingtool.wing.newton import RAMP, _smoothing

ALPHA = np.arange(-15.0, 26.0)


def section(peak_deg=12.0, fall=0.04, zero_deg=-4.0, cd=0.01, **facts):
    """An invented section: straight, rounded near the peak, falling behind it."""
    reach = peak_deg - zero_deg
    soft = -2.0 * np.log(np.exp(-(ALPHA - zero_deg) / 2) + np.exp(-reach / 2))
    cl = 0.108 * soft - fall * np.maximum(ALPHA - peak_deg, 0)
    drag = cd + 0.0001 * (ALPHA - 2) ** 2 + 0.012 * np.maximum(ALPHA - peak_deg, 0)
    return polar_from_arrays(ALPHA, cl, drag, -0.08 + 0 * ALPHA, **facts)


WING = Wing(1.4, 0.25, endplate=Endplate(0.2))
ANGLES = np.arange(-5.0, 21.0)


def test_stall_limits_the_lift_and_the_answer_goes_on_behind_it():
    found = solve_wing(WING, section(), ANGLES, [40.0])
    assert found.converged.all()
    peak = int(np.argmax(found.CL[0]))
    assert 0 < peak < ANGLES.size - 1
    assert found.strip_cl.max() <= section().stall()[1] + 1e-6
    first = int(np.argmax(found.stall_margin_deg[0] < 0))
    assert np.all(found.status[0, :first] == "converged")
    assert set(found.status[0, first:]) <= {"beyond stall", "two solutions"}
    assert found.first_to_stall()[0, first] == "centre"


def test_margin_is_the_distance_of_the_worst_strip():
    """EXACT: by definition, from the strip angles and the section's own stall angle."""
    found = solve_wing(WING, section(), [4.0, 8.0], [40.0])
    expected = section().stall_alpha_deg(1e6) - found.strip_alpha_deg.max(axis=-1)
    np.testing.assert_allclose(found.stall_margin_deg, expected)
    short = polar_from_arrays(ALPHA[:25], section().cl[0, :25], section().cd[0, :25])
    ended = solve_wing(WING, short, [4.0, 14.0], [40.0])
    assert ended.stall_margin_deg[0, 1] < 0
    assert ended.status[0, 0] == "converged"
    assert ended.status[0, 1] in ("low confidence", "two solutions")


def test_washed_out_tips_leave_the_centre_to_stall_and_washed_in_tips_do_not():
    inward = solve_wing(Wing(1.4, 0.25, twist_tip_deg=8.0), section(), [10.0], [40.0])
    outward = solve_wing(Wing(1.4, 0.25, twist_tip_deg=-3.0), section(), [10.0], [40.0])
    assert outward.first_to_stall()[0, 0] == "centre"
    assert inward.first_to_stall()[0, 0] != "centre"


def test_two_solutions_are_told_and_neither_is_dropped():
    """A section that loses most of its lift in one degree leaves an attached and a stalled wing."""
    cl = np.where(ALPHA <= 12, 0.1 * ALPHA, 0.35)
    polar = polar_from_arrays(ALPHA, cl, 0.01 + 0.02 * np.maximum(ALPHA - 12, 0))
    found = solve_wing(Wing(0.6, 0.25), polar, np.arange(8.0, 26.0), [40.0])
    two = found.status[0] == "two solutions"
    assert two.any()
    assert np.all(np.isfinite(found.CL_other[0, two]))
    assert np.all(np.isnan(found.CL_other[0, ~two]))
    assert np.all(found.CL[0, two] != found.CL_other[0, two])


def random_wing(rng: np.random.Generator):
    """Invented wing and section data: aspect ratio 2 to 12, plates 0 to 1 chord, heights 0.3 to 10 chords."""
    chord = rng.uniform(0.15, 0.4)
    height = chord * np.exp(rng.uniform(np.log(0.3), np.log(10)))
    plate = chord * rng.uniform(0, 1)
    below = min(plate / 2, 0.9 * height)
    wing = Wing(
        rng.uniform(2, 12) * chord,
        chord,
        tip_chord_m=chord * rng.uniform(0.5, 1),
        height_m=height,
        endplate=Endplate(plate, above_m=plate - below) if plate > 0.01 else None,
    )
    peak, zero, slope = rng.uniform(9, 16), rng.uniform(-8, 0), rng.uniform(0.09, 0.11)
    fall, roundness = rng.uniform(0.01, 0.08), rng.uniform(0.5, 4)
    soft = -roundness * np.log(np.exp(-(ALPHA - zero) / roundness) + np.exp((zero - peak) / roundness))
    cl = slope * soft - fall * np.maximum(ALPHA - peak, 0) + 0.6 * fall * np.maximum(ALPHA - peak - 6, 0)
    cl = np.where(ALPHA < -10, slope * (-10 - zero) - 0.02 * (ALPHA + 10), cl)
    cd = 0.01 + 0.0001 * (ALPHA - 3) ** 2 + 0.012 * np.maximum(ALPHA - peak, 0)
    return wing, polar_from_arrays(ALPHA, cl, cd, -0.08 + 0 * ALPHA)


def share_converged(seed: int, wings: int) -> float:
    rng = np.random.default_rng(seed)
    good = [solve_wing(*random_wing(rng), ANGLES, [30.0]).converged.mean() for _ in range(wings)]
    return float(np.mean(good))


def test_random_wings_converge_through_stall():
    assert share_converged(seed=11, wings=30) >= 0.99


@pytest.mark.slow
@pytest.mark.parametrize("seed", [7, 2026])
def test_two_hundred_random_wings_converge_through_stall(seed):
    assert share_converged(seed, wings=200) >= 0.99


def test_what_did_not_converge_is_nan_and_says_so(monkeypatch):
    from wingtool.wing import newton

    monkeypatch.setattr(newton, "LIMIT", 1)
    monkeypatch.setattr(newton, "PSEUDO_LIMIT", 1)
    found = solve_wing(WING, section(), [2.0, 5.0], [40.0])
    assert not found.converged.any()
    assert np.isnan(found.downforce.n).all()
    assert np.isnan(found.drag.high_n).all()
    assert all(word.startswith("not converged: ") for word in found.status.ravel())


def test_parts_of_the_drag_add_up():
    """EXACT: by definition."""
    wing = Wing(1.4, 0.25, endplate=Endplate(0.2), mounts=(Mount(0.4, 0.0, drag_area_m2=0.002),))
    found = solve_wing(wing, section(), ANGLES, [20.0, 40.0])
    parts = found.CD_induced + found.CD_profile + found.CD_plates + found.CD_base + found.CD_mounts
    np.testing.assert_allclose(parts, found.CD)
    np.testing.assert_allclose(found.CD_mounts, 2 * 0.002 / wing.area_m2)
    assert np.all(found.CD_plates[0] > found.CD_plates[1])


def test_plate_friction_is_that_of_a_turbulent_flat_plate():
    """EXACT: the formula by hand at a Reynolds number of a million: 0.455 / 6^2.58 = 0.00447, both sides."""
    air = Air()
    speed = 1e6 * air.viscosity_pa_s / air.density_kg_m3 / 0.25
    found = solve_wing(Wing(1.4, 0.25, endplate=Endplate(0.2)), section(), [0.0], [speed])
    assert found.CD_plates[0, 0] * 0.35 / (4 * 0.2 * 0.25) == pytest.approx(0.00447, rel=0.002)


def test_base_drag_of_a_blunt_plate():
    """EXACT: Hoerner's two-dimensional base drag by hand: friction of 0.00447 over 0.2 m2 of sides, base area
    2 x 3 mm x 0.2 m: 0.135 / (0.000894 / 0.0012)^(1/3) = 0.1489 on it."""
    air = Air()
    speed = 1e6 * air.viscosity_pa_s / air.density_kg_m3 / 0.25
    found = solve_wing(Wing(1.4, 0.25, endplate=Endplate(0.2)), section(), [0.0], [speed])
    assert found.CD_base[0, 0] * 0.35 / 0.0012 == pytest.approx(0.1489, rel=0.003)


@pytest.mark.parametrize("fall", [0.5, 1.5, 2.5])
def test_behind_stall_every_wave_along_the_span_decays(fall):
    """EXACT: with circulation falling by p a radian, 1 - (c p / 4) k + nu k^2 > 0 for every wave number k."""
    chord, stall = 0.25, np.radians(12.0)
    cases = SimpleNamespace(
        chord=np.array([chord]), post_stall_slope=np.array([fall]), stall=np.array([stall])
    )
    nu, _ = _smoothing(cases, np.array([stall + RAMP]))
    k = np.geomspace(0.01, 1e4, 2000) / chord
    assert np.all(1 - chord * fall / 4 * k + nu * k**2 > 0)
    assert _smoothing(cases, np.array([stall]))[0] == 0.0


@pytest.mark.parametrize(
    "plate", [None, Endplate(0.3), Endplate(0.3, above_m=0.3), Endplate(0.3, above_m=0.05)]
)
def test_near_field_and_far_wake_agree_on_lift_in_free_air(plate):
    """TWIN: local velocity on the strips against the momentum of the wake, 1 %."""
    found = solve_wing(Wing(1.4, 0.25, endplate=plate), section(), [0.0, 6.0, 10.0], [40.0])
    np.testing.assert_allclose(found.CL_far_wake, found.CL, rtol=0.01)


@settings(max_examples=15, deadline=None)
@given(st.floats(0.3, 3.0), st.floats(2.0, 10.0), st.floats(-4.0, 14.0))
def test_size_alone_changes_no_coefficient(scale, aspect, angle):
    """EXACT: one Reynolds row, so the forces go with the area and the moments with its 3/2 power."""
    small = solve_wing(Wing(0.2 * aspect, 0.2, height_m=0.3), section(), [angle], [30.0])
    large = solve_wing(
        Wing(scale * 0.2 * aspect, scale * 0.2, height_m=scale * 0.3), section(), [angle], [30.0]
    )
    np.testing.assert_allclose(large.CL, small.CL, rtol=1e-5, atol=1e-7)
    np.testing.assert_allclose(large.CM, small.CM, rtol=1e-5, atol=1e-7)
    np.testing.assert_allclose(
        large.pitching_moment_nm, small.pitching_moment_nm * scale**3, rtol=1e-4, atol=1e-6
    )


def test_moment_is_about_the_quarter_chord_of_the_centre():
    """EXACT: straight it is -cm; swept, downforce acts aft of it; raised, the drag of the tips lifts the
    nose, by its mean arm (even load along the span would be exact)."""
    straight, swept, raised = (
        solve_wing(Wing(1.4, 0.25, sweep_deg=s, dihedral_deg=d), section(), [4.0], [40.0])
        for s, d in ((0.0, 0.0), (30.0, 0.0), (0.0, 10.0))
    )
    assert straight.CM[0, 0] == pytest.approx(0.08, abs=0.001)
    arm = np.tan(np.radians(30.0)) * swept.strip_y_m
    parts = swept.strip_load_n_m[0, 0] * arm + swept.strip_moment_n[0, 0]
    assert swept.pitching_moment_nm[0, 0] == pytest.approx(2 * parts @ swept.strip_width_m, rel=1e-9)
    pressure_area = raised.air.dynamic_pressure_pa(40.0) * raised.reference_area_m2
    lifted = raised.pitching_moment_nm - 2 * raised.strip_moment_n[0] @ raised.strip_width_m
    expected = pressure_area * raised.CD_profile * np.tan(np.radians(10.0)) * 0.35
    np.testing.assert_allclose(lifted, expected, rtol=0.05)


def inflow(angle_deg=0.0, ratio=1.0, angle_band=0.0, ratio_band=0.0):
    return RoofInflow([0.0, 1.0], [angle_deg] * 2, [angle_band] * 2, [ratio] * 2, [ratio_band] * 2)


def test_air_that_descends_adds_to_the_angle_and_takes_no_drag_off_the_car():
    """EXACT: an even tilt is a turn of the wing; what leans its force forward, the roof pays back."""
    turned = solve_wing(WING, section(), [7.0], [40.0])
    tilted = solve_wing(WING, section(), [4.0], [40.0], inflow=inflow(3.0))
    np.testing.assert_allclose(tilted.CL, turned.CL, rtol=1e-9)
    np.testing.assert_allclose(tilted.CD, turned.CD, rtol=1e-9)


def test_slower_air_takes_the_square_of_its_speed():
    """EXACT: with one Reynolds row."""
    full = solve_wing(WING, section(), [4.0], [40.0])
    slow = solve_wing(WING, section(), [4.0], [40.0], inflow=inflow(ratio=0.8))
    np.testing.assert_allclose(slow.CL, 0.64 * full.CL, rtol=1e-6)
    np.testing.assert_allclose(slow.CD_profile, 0.64 * full.CD_profile, rtol=1e-6)
    np.testing.assert_allclose(slow.CD_induced, 0.64 * full.CD_induced, rtol=1e-6)


def test_band_covers_a_real_change_of_each_cause():
    """TWIN: the linear response against solving again with the cause shifted by its half width."""
    plain = solve_wing(WING, section(), [5.0], [40.0])
    floor = (plain.downforce.high_n - plain.downforce.n)[0, 0]
    for cause in ({"angle_band": 1.0}, {"ratio_band": 0.05}):
        banded = solve_wing(WING, section(), [5.0], [40.0], inflow=inflow(**cause))
        shifted = inflow(cause.get("angle_band", 0.0), 1 + cause.get("ratio_band", 0.0))
        moved = (solve_wing(WING, section(), [5.0], [40.0], inflow=shifted).downforce.n - plain.downforce.n)[
            0, 0
        ]
        width = (banded.downforce.high_n - banded.downforce.n)[0, 0]
        assert np.sqrt(width**2 - floor**2) == pytest.approx(moved, rel=0.06)
        assert "roof inflow" in banded.band_origin
        assert "roof inflow" not in plain.band_origin


def test_air_that_may_only_come_down_widens_the_band_upwards():
    """EXACT: the high end of a band to both sides, the low end of none; drag alike."""
    none, both = (solve_wing(WING, section(), [5.0], [40.0], inflow=inflow(angle_band=b)) for b in (0.0, 4.0))
    down = replace(inflow(angle_band=4.0), one_sided=True)
    one = solve_wing(WING, section(), [5.0], [40.0], inflow=down)
    for name in ("downforce", "drag"):
        forces = [getattr(wing, name) for wing in (one, both, none)]
        assert forces[0].high_n == pytest.approx(forces[1].high_n, rel=1e-9)
        assert forces[0].low_n == pytest.approx(forces[2].low_n, rel=1e-9)
        assert forces[1].low_n < forces[2].low_n


@pytest.mark.parametrize("cause", [{"angle_band": 0.5}, {"ratio_band": 0.03}])
def test_drag_band_covers_a_real_change_of_each_cause(cause):
    """TWIN: induced and section drag together, against solving again with the cause shifted to either side.

    The section's drag rises here from 0.012 at 2 degrees by the square, as steeply as near a stall.
    """
    polar = polar_from_arrays(ALPHA, section().cl[0], 0.012 + 0.001 * (ALPHA - 2.0) ** 2)

    thick = Wing(1.4, 0.25, endplate=Endplate(0.2, thickness_m=0.03))  # its blunt edge counts as well

    def solved(**more):
        return solve_wing(thick, polar, [5.0], [40.0], inflow=inflow(**more))

    plain, banded = solved(), solved(**cause)
    floor, width = ((r.drag.high_n - r.drag.n)[0, 0] for r in (plain, banded))
    angle, ratio = cause.get("angle_band", 0.0), cause.get("ratio_band", 0.0)
    up, down = (solved(angle_deg=s * angle, ratio=1 + s * ratio).drag.n[0, 0] for s in (1, -1))
    assert np.sqrt(width**2 - floor**2) == pytest.approx((up - down) / 2, rel=0.03)


def test_band_never_falls_below_that_of_the_method():
    """EXACT: by definition 3 % of downforce, 5 % of induced drag."""
    found = solve_wing(WING, section(), [5.0], [40.0])
    np.testing.assert_allclose(found.downforce.high_n, 1.03 * found.downforce.n)
    np.testing.assert_allclose(
        (found.drag.n - found.drag.low_n) / found.drag.n, 0.05 * found.CD_induced / found.CD
    )
    assert "method" in found.band_origin


def test_taper_keeps_the_quarter_chord_line_straight():
    """EXACT: without sweep the quarter-chord points stand in line."""
    wing = Wing(1.4, 0.3, tip_chord_m=0.1)
    where = np.linspace(0, 1, 5)
    np.testing.assert_allclose(wing.leading_edge_m_at(where) + 0.25 * wing.chord_at(where), 0.075)
    swept = Wing(1.4, 0.3, tip_chord_m=0.1, sweep_deg=10.0)
    tip = swept.leading_edge_m_at(np.ones(1)) + 0.25 * 0.1
    np.testing.assert_allclose(tip - 0.075, 0.7 * np.tan(np.radians(10.0)))


def test_band_of_the_section_data_comes_through():
    cl = section().cl[0]
    facts = {"cl_low": cl - 0.1, "cl_high": cl + 0.1, "cd_low": 0.005 + 0 * cl, "cd_high": 0.05 + 0 * cl}
    wide = section(**facts, band_origin="a caliper")
    banded, plain = (solve_wing(WING, p, [5.0], [40.0]) for p in (wide, section()))
    higher = polar_from_arrays(ALPHA, cl + 0.1, section().cd[0])
    moved = solve_wing(WING, higher, [5.0], [40.0]).downforce.n - plain.downforce.n
    width, floor = (r.downforce.high_n - r.downforce.n for r in (banded, plain))
    np.testing.assert_allclose(np.sqrt(width**2 - floor**2), moved, rtol=0.05)
    assert "a caliper" in banded.band_origin
    assert np.all(banded.drag.low_n < plain.drag.low_n)


def test_reynolds_number_is_that_of_each_strip():
    """EXACT: a polar with two Reynolds rows, read by hand at the strip's chord and speed."""
    air = Air()
    rows = [float(air.reynolds(40.0, 0.1)), float(air.reynolds(40.0, 0.2))]
    cl = np.stack([0.09 * ALPHA, 0.11 * ALPHA])
    polar = polar_from_arrays(ALPHA, cl, 0 * cl + 0.01, reynolds=rows)
    found = solve_wing(Wing(1.2, 0.2, tip_chord_m=0.1), polar, [6.0], [40.0])
    slope = found.strip_cl[0, 0] / found.strip_alpha_deg[0, 0]
    assert slope[0] == pytest.approx(0.11, abs=1e-3)
    assert slope[-1] == pytest.approx(0.09, abs=1e-3)


def test_section_may_change_along_the_span():
    weak = polar_from_arrays(ALPHA, 0.5 * section().cl[0], section().cd[0])
    mixed = [StationPolars(0.0, (section(),)), StationPolars(1.0, (weak,))]
    whole, part, half = (solve_wing(WING, p, [5.0], [40.0]).CL[0, 0] for p in (section(), mixed, weak))
    assert half < part < whole


def test_stations_reproduce_the_even_taper_that_they_describe():
    """EXACT: same planform said in another way."""
    even = Wing(1.4, 0.3, tip_chord_m=0.2, twist_tip_deg=-2.0, sweep_deg=5.0)
    stations = Wing(
        1.4,
        0.3,
        sweep_deg=5.0,
        stations=(Station(0.0, 0.3), Station(0.5, 0.25, -1.0), Station(1.0, 0.2, -2.0)),
    )
    one, other = (solve_wing(w, section(), [5.0], [40.0]) for w in (even, stations))
    assert one.reference_area_m2 == pytest.approx(other.reference_area_m2)
    np.testing.assert_allclose(one.CL, other.CL, rtol=1e-9)


def test_outline_reproduces_the_rectangular_plate_that_it_describes():
    """EXACT: same plate said in another way; above on the car is above."""
    named = Endplate(0.2, above_m=0.05, length_m=0.3, overhang_fore_m=0.03)
    drawn = Endplate(outline_m=((-0.15, -0.03, 0.27), (0.05, -0.03, 0.27)))
    one, other = (
        solve_wing(Wing(1.4, 0.25, height_m=0.4, endplate=p), section(), [5.0], [40.0])
        for p in (named, drawn)
    )
    np.testing.assert_allclose(one.CD, other.CD, rtol=1e-9)


def test_a_plate_near_the_ground_works_better_than_one_away_from_it():
    """A plate below the wing closes the gap to the ground, where most of the flow round the tip goes."""
    below, above = (
        solve_wing(
            Wing(1.0, 0.25, height_m=0.15, endplate=Endplate(0.12, above_m=a)), section(), [4.0], [40.0]
        )
        for a in (0.0, 0.12)
    )
    assert below.CL[0, 0] > above.CL[0, 0]


def test_a_gap_at_the_centre_costs_downforce_and_raises_induced_drag():
    gap = Wing(1.4, 0.25, mounts=(Mount(0.0, 0.12, load_factor=0.0, origin="a slot for the stand"),))
    whole, split = (solve_wing(w, section(), [6.0], [40.0]) for w in (Wing(1.4, 0.25), gap))
    assert split.CL[0, 0] < whole.CL[0, 0]
    assert abs(split.strip_load_n_m[0, 0, 0]) < 1e-9 * whole.strip_load_n_m[0, 0, 0]
    efficiency = [r.CL[0, 0] ** 2 / r.CD_induced[0, 0] for r in (whole, split)]
    assert efficiency[1] < efficiency[0]


def test_a_stand_in_the_middle_is_one_alone():
    """EXACT: a stand off the middle has its mirror image, one in the middle has none."""
    one, two = (
        solve_wing(Wing(1.4, 0.25, mounts=(Mount(at, 0.02, drag_area_m2=0.004),)), section(), [4.0], [40.0])
        for at in (0.0, 0.4)
    )
    np.testing.assert_allclose(one.CD_mounts * one.reference_area_m2, 0.004)
    np.testing.assert_allclose(two.CD_mounts * two.reference_area_m2, 0.008)


def test_a_mount_that_takes_half_takes_it_from_lift_and_wake_alike_and_sets_no_margin():
    """TWIN: near field and far wake agree with a disturbed strip too."""
    wing = Wing(1.4, 0.25, mounts=(Mount(0.4, 0.1, load_factor=0.5),))
    whole, half = (solve_wing(w, section(), [6.0, 10.0], [40.0]) for w in (Wing(1.4, 0.25), wing))
    np.testing.assert_allclose(half.CL_far_wake, half.CL, rtol=1e-6)
    assert np.all(half.CL < whole.CL)
    assert np.all(half.CD_profile < 1.1 * whole.CD_profile)
    assert np.isnan(half.strip_margin_deg).any()
    assert set(half.status.ravel()) == {"converged"}
    assert np.all(np.abs(half.stall_margin_deg - whole.stall_margin_deg) < 2.0)


def test_planes_far_apart_do_not_feel_each_other():
    """EXACT: the limit."""
    alone = solve_wing(Wing(1.4, 0.25), section(), [5.0], [40.0])
    pair = solve_planes(
        [Plane(Wing(1.4, 0.25), section()), Plane(Wing(1.4, 0.25), section(), above_m=400.0)], [5.0], [40.0]
    )
    np.testing.assert_allclose(pair.CL, alone.CL, rtol=1e-4)
    assert pair.reference_area_m2 == pytest.approx(2 * alone.reference_area_m2)


def test_biplane_and_tandem_lose_lift_and_the_order_of_planes_does_not_matter():
    """EXACT: naming the planes the other way round changes nothing."""
    wing = Wing(1.4, 0.25)
    alone = solve_wing(wing, section(), [5.0], [40.0]).CL[0, 0]
    one = solve_planes(
        [Plane(wing, section()), Plane(wing, section(), aft_m=0.1, above_m=0.2)], [5.0], [40.0]
    )
    other = solve_planes(
        [Plane(wing, section()), Plane(wing, section(), aft_m=-0.1, above_m=-0.2)], [5.0], [40.0]
    )
    np.testing.assert_allclose(one.CL, other.CL, rtol=1e-9)
    tandem = solve_planes(
        [Plane(wing, section()), Plane(Wing(1.0, 0.15), section(), aft_m=1.5)], [5.0], [40.0]
    )
    assert one.CL[0, 0] < alone
    assert tandem.CL[0, 0] < alone
    assert tandem.strip_cl[0, 0, 20:].mean() < tandem.strip_cl[0, 0, :20].mean()


@pytest.mark.parametrize(
    ("make", "complaint"),
    [
        (lambda: Wing(-1.0, 0.25), "span"),
        (lambda: Wing(1.4, 0.25, height_m=0.0), "above ground"),
        (lambda: Wing(1.4, 0.25, height_m=0.1, endplate=Endplate(0.4)), "cut the plate"),
        (lambda: Wing(1.4, 0.25, strips=41), "even number"),
        (lambda: Wing(1.4, 0.25, stations=(Station(0.0, 0.2), Station(0.8, 0.2))), "stations"),
        (lambda: Wing(1.4, 0.25, mounts=(Mount(0.4, 0.8),)), "whole span"),
        (lambda: Endplate(0.2, above_m=0.3), "above the wing"),
        (lambda: Endplate(outline_m=((0.0, 0.0, 0.2),)), "outline"),
        (lambda: RoofInflow([0, 0], [1, 1], [1, 1], [1, 1], [0, 0]), "outwards"),
        (lambda: RoofInflow([0], [1], [-1], [1], [0]), "half width"),
        (lambda: solve_wing(WING, section(), [5.0, 5.0], [40.0]), "increase"),
        (lambda: solve_wing(WING, section(), [5.0], [-40.0]), "speeds"),
        (lambda: solve_wing(WING, [], [5.0], [40.0]), "no polar"),
        (lambda: solve_planes([Plane(WING, section())] * 2, [5.0], [40.0]), "same place"),
    ],
)
def test_impossible_wings_are_refused_in_one_line(make, complaint):
    with pytest.raises(RangeError, match=complaint) as caught:
        make()
    assert "\n" not in str(caught.value)
