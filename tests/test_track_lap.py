"""The lap: energy, time, closed forms, a second integrator, and where the time is."""

from dataclasses import replace

import numpy as np
import pytest
from car_stand_ins import GREEN_HATCH, harrow_down
from hypothesis import given, settings
from hypothesis import strategies as st

from wingtool.car import (
    AxleAreas,
    Tyre,
    body_areas,
    corner_speed_m_s,
    full_throttle,
    placed,
    top_speed_m_s,
    total,
)
from wingtool.track import (
    Segment,
    best_angle,
    circuit_from_segments,
    corner_holds,
    lap,
    lap_difference,
    oil_warning,
    sustained,
)
from wingtool.track.lap import _resistance_law

RHO, G = 1.225, 9.80665
BODY = body_areas(GREEN_HATCH)
PARTS = total(placed(0.35, 0.03, 2.95, 1.3, 2.5), placed(0.25, 0.01, -0.85, 0.1, 2.5))


def test_a_circle_is_driven_at_its_corner_speed():
    """EXACT: on a flat circle the tyres' ellipse holds both the turn and the drag."""
    from scipy.optimize import brentq

    car = replace(GREEN_HATCH, tyre=Tyre(1.05, 0.0, 1.05), rolling=0.0, driven="all")
    ring = circuit_from_segments("ring", (Segment("all of it", 2 * np.pi * 60.0, 60.0),))
    area = 0.5
    found = lap(car, AxleAreas(0.58 * area, 0.42 * area, 0.72), ring, RHO)

    def spare(v):
        load = car.mass_kg * G + 0.5 * RHO * area * v**2
        drag = 0.5 * RHO * 0.72 * v**2
        return (drag / (1.05 * load)) ** 2 + (car.mass_kg * v**2 / 60.0 / (1.05 * load)) ** 2 - 1

    speed = brentq(spare, 5.0, 60.0)
    assert found.speed_m_s[0, 20:] == pytest.approx(speed, rel=1e-6)  # the first steps settle
    assert found.lap_time_s[0] == pytest.approx(2 * np.pi * 60.0 / speed, rel=1e-5)
    assert found.lateral_g[0, 20:] == pytest.approx(speed**2 / 60.0 / G)
    alone = np.sqrt(1.05 * G / (1 / 60.0 - 1.05 * RHO * area / (2 * car.mass_kg)))
    assert 0.998 < speed / alone < 1.0


def wheel_force_n(found, car, areas):
    """Force at the wheels over each step of the first set-up, negative when braking."""
    square = found.speed_m_s[0] ** 2
    before = np.roll(square, 1)
    q = 0.5 * RHO * (square + before) / 2
    resistance = q * float(areas.cda_m2) + car.rolling * (car.weight_n + q * float(areas.cla_m2))
    return car.effective_mass_kg * (square - before) / (2 * found.circuit.step_m) + resistance


def test_energy_balance_of_a_lap():
    """EXACT: force at the wheels = m_e a + drag + rolling, its power never above the engine's."""
    found = lap(GREEN_HATCH, total(BODY, PARTS), harrow_down(), RHO)
    drive_n = wheel_force_n(found, GREEN_HATCH, total(BODY, PARTS))
    step = found.circuit.step_m
    mean_speed = step / np.diff(np.r_[0.0, found.time_s[0]])
    power = drive_n * mean_speed
    assert (
        power.max() < GREEN_HATCH.power_w * 1.02
    )  # the step's start sets the force: first order in the step
    engine = np.sum(np.maximum(drive_n, 0.0)) * step
    full = power > 0.97 * GREEN_HATCH.power_w
    assert full.mean() > 0.3
    assert engine < GREEN_HATCH.power_w * found.lap_time_s[0]


def test_time_balance_of_a_lap():
    """EXACT: parts of the lap add up to the lap, and the trace ends at the lap's difference."""
    with_parts, without = (lap(GREEN_HATCH, a, harrow_down(), RHO) for a in (total(BODY, PARTS), BODY))
    found = lap_difference(with_parts, without)
    assert sum(part.gain_s for part in found.parts) == pytest.approx(found.gain_s[-1], abs=1e-9)
    assert found.gain_s[-1] == pytest.approx(without.lap_time_s[0] - with_parts.lap_time_s[0])
    gains = {part.name: part.gain_s for part in found.parts}
    assert gains["Windmill"] > gains["Heron"] > -0.01  # the fast corner gains, the slow one hardly
    assert gains["far straight"] < gains["Windmill"]


def test_no_corner_speed_or_tyre_limit_is_passed():
    """EXACT: the friction ellipse holds at every step, driving and braking."""
    circuit = harrow_down()
    found = lap(GREEN_HATCH, BODY, circuit, RHO)
    limit = corner_speed_m_s(GREEN_HATCH, BODY, RHO, circuit.curvature_1_m, circuit.camber_rad)
    assert np.all(found.speed_m_s[0] <= limit * (1 + 1e-9))
    assert found.top_speed_m_s[0] < top_speed_m_s(GREEN_HATCH, 0.72, 0.0, RHO)


def test_braking_into_a_corner_uses_the_whole_ellipse():
    """EXACT: (braking / capacity)^2 + (side force / capacity)^2 = 1, both at the actual speed, n = 0."""
    car = replace(GREEN_HATCH, tyre=Tyre(1.05, 0.0, 0.9), rotating_mass_factor=1.0)
    areas, circuit = total(BODY, AxleAreas(0.58 * 0.6, 0.42 * 0.6, 0.05)), harrow_down(0.5)
    found = lap(car, areas, circuit, RHO, "retuned")
    load = car.weight_n + 0.5 * RHO * float(areas.cla_m2) * found.speed_m_s[0] ** 2
    braking, side = (
        -wheel_force_n(found, car, areas) / (0.9 * load),
        found.lateral_g[0] * car.weight_n / (1.05 * load),
    )
    held = (circuit.curvature_1_m > 0.0) & (circuit.camber_rad == 0.0)
    both = (braking > 0.3) & (np.roll(braking, 1) > 0.3) & (np.roll(braking, -1) > 0.3) & held & (side > 0.2)
    assert both.sum() > 20
    assert (braking**2 + side**2)[both] == pytest.approx(1.0, abs=0.03)
    straight = (braking > 0.3) & (np.roll(braking, 1) > 0.3) & (circuit.curvature_1_m == 0.0)
    assert braking[straight] == pytest.approx(1.0, abs=0.01)


def test_the_long_straight_agrees_with_a_finer_integrator():
    """TWIN: full throttle from the corner's exit by Simpson's rule over speed, not by steps over distance."""
    road = circuit_from_segments("d", (Segment("bend", 200.0, 40.0), Segment("straight", 1500.0)))
    car = replace(GREEN_HATCH, tyre=Tyre(1.0, 0.0, 50.0))
    found = lap(car, BODY, road, RHO)
    start, end = 260, 900
    run = full_throttle(car, 0.72, 0.0, RHO, float(found.speed_m_s[0, start]), 70.0)
    far = np.interp((end - start) * road.step_m, run.distance_m, run.speed_m_s)
    assert found.speed_m_s[0, end] == pytest.approx(far, rel=2e-3)
    time = np.interp((end - start) * road.step_m, run.distance_m, run.time_s)
    assert found.time_s[0, end] - found.time_s[0, start] == pytest.approx(time, rel=2e-3)


def test_halving_the_step_halves_the_error():
    """EXACT order: the passes are first order in the step, and 1 m is within 0.03 s of the limit."""
    times = [lap(GREEN_HATCH, BODY, harrow_down(step), RHO).lap_time_s[0] for step in (4.0, 2.0, 1.0, 0.5)]
    first, second = abs(times[1] - times[0]), abs(times[2] - times[1])
    assert second < 0.75 * first
    assert abs(times[3] - times[2]) < 0.06


def test_set_ups_together_equal_set_ups_alone():
    """TWIN: 9 set-ups in one call and one by one."""
    wing = placed(np.linspace(0.1, 0.5, 9), np.linspace(0.01, 0.08, 9), 2.95, 1.3, 2.5)
    whole = total(BODY, wing)
    together = lap(GREEN_HATCH, whole, harrow_down(2.0), RHO).lap_time_s
    alone = [lap(GREEN_HATCH, whole.at(i), harrow_down(2.0), RHO).lap_time_s[0] for i in range(9)]
    assert together == pytest.approx(alone, rel=1e-12)


def test_where_the_lap_starts_does_not_matter():
    """EXACT: the same circuit begun elsewhere takes the same time."""
    from car_stand_ins import HARROW_DOWN

    turned = HARROW_DOWN[5:] + HARROW_DOWN[:5]
    one, two = (lap(GREEN_HATCH, BODY, circuit_from_segments("h", s), RHO) for s in (HARROW_DOWN, turned))
    assert one.lap_time_s[0] == pytest.approx(two.lap_time_s[0], rel=1e-6)


def test_a_straight_ring_is_driven_at_top_speed():
    road = circuit_from_segments("oval", (Segment("all", 2000.0, 5000.0),))
    found = lap(GREEN_HATCH, BODY, road, RHO)
    assert found.speed_m_s[0] == pytest.approx(float(top_speed_m_s(GREEN_HATCH, 0.72, 0.0, RHO)), rel=1e-3)


def test_circuits_keep_length_and_turned_angle():
    """EXACT: easing keeps the sum of curvature times length."""
    circuit = harrow_down()
    assert circuit.length_m == pytest.approx(4000.0)
    turned = 150 / 60 + 300 / 150 + 60 / 25 + 200 / 100 + 250 / 200
    assert circuit.curvature_1_m.sum() * circuit.step_m == pytest.approx(turned, rel=0.002)
    with pytest.raises(ValueError, match="give 100 m to 50 km"):
        circuit_from_segments("x", (Segment("a", 20.0),))


def test_downforce_rolls_too():
    """EXACT: resistance at V is rolling x (weight + q CLA) + q CDA."""
    drag, roll = _resistance_law(GREEN_HATCH, PARTS, RHO)
    q = 0.5 * RHO * 50.0**2
    expected = GREEN_HATCH.rolling * (GREEN_HATCH.weight_n + q * PARTS.cla_m2) + q * PARTS.cda_m2
    assert drag * 50.0**2 + roll == pytest.approx(expected)


def test_sustained_load_counts_every_second_once():
    """EXACT: the histogram adds to the lap, a spell is unbroken, g-seconds are the sum."""
    g = np.array([0.0, 1.15, 1.15, 0.9, -1.2, -1.2, -1.2, 0.0])
    found = sustained(g, np.full(8, 0.5))
    assert found.seconds.sum() == pytest.approx(4.0)
    assert found.longest_s[23] == pytest.approx(1.5)
    assert found.longest_s[18] == pytest.approx(3.0)
    assert found.g_seconds == pytest.approx(np.abs(g).sum() * 0.5)
    (hold,) = corner_holds(g, np.full(8, 0.5), np.zeros(8, int), ("bend",), trusted_g=1.0)
    assert hold.over_s == pytest.approx(1.5)
    assert hold.held_s == pytest.approx(1.5)  # above nine tenths of the peak: 1.08, not 0.9
    assert hold.peak_g == pytest.approx(1.2)


def test_no_limit_on_oil_is_invented():
    assert "none is assumed" in oil_warning(None, 1.0, 5.0, 5.0)
    kept = oil_warning(1.1, 6.0, 5.0, 4.0)
    assert kept.startswith("within your limit by this estimate: the longest time above 1.1 g is 5 s,")
    assert "over your limit" in oil_warning(1.0, 2.0, 5.0, 4.0)
    assert "over your limit at the high end" in oil_warning(1.0, 2.0, 0.0, 0.0, 5.0)


def test_a_flat_optimum_is_told():
    angles = np.arange(6.0)
    times = np.array([60.5, 60.03, 60.0, 60.02, np.nan, 60.3])
    answer = best_angle("x", angles, times)
    assert (answer.best_deg, answer.flat_from_deg, answer.flat_to_deg) == (2.0, 1.0, 3.0)
    assert np.isnan(best_angle("x", angles, np.full(6, np.nan)).best_deg)
    assert best_angle("x", angles, np.arange(6.0)).at_edge


def test_a_faster_angle_without_margin_to_the_stall_is_not_the_best():
    """EXACT: the choice is among the allowed angles, the times of the others stay in the answer."""
    angles, times = np.arange(5.0), np.array([61.0, 60.5, 60.2, 60.1, 60.0])
    answer = best_angle("x", angles, times, allowed=angles <= 2.0)
    assert (answer.best_deg, answer.flat_to_deg, answer.at_edge) == (2.0, 2.0, True)
    assert answer.lap_time_s[-1] == 60.0
    assert np.isnan(best_angle("x", angles, times, allowed=np.zeros(5, bool)).best_deg)


@given(drag=st.floats(0.0, 0.2), area=st.floats(0.0, 0.8), power=st.floats(0.5, 1.5))
@settings(max_examples=15, deadline=None)
def test_drag_costs_and_shared_downforce_gains(drag, area, power):
    """EXACT order: more drag is never faster; downforce that falls as the weight does is never slower.

    1e-7 s: the ellipse is vertical where a corner takes all grip; rounding there leaves 1e-8 of the grip.
    """
    car = replace(GREEN_HATCH, rolling=0.0, power_w=power * 135e3)
    road = harrow_down(4.0)
    share = AxleAreas(car.front_share * area, (1 - car.front_share) * area, 0.0)
    base, slow, fast = (
        lap(car, one, road, RHO).lap_time_s[0]
        for one in (BODY, total(BODY, AxleAreas(0.0, 0.0, drag)), total(BODY, share))
    )
    assert slow >= base - 1e-7
    assert fast <= base + 1e-7
