"""Axle loads, matched settings, what is left, springs."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from car_stand_ins import GREEN_HATCH
from hypothesis import given
from hypothesis import strategies as st

from wingtool.car import (
    NOTHING,
    AirDam,
    AxleAreas,
    BodyLift,
    Estimate,
    Measured,
    Splitter,
    Tyre,
    air_dam_estimate,
    axle_loads,
    axle_responses,
    blade_load,
    body_areas,
    clearance_left,
    lateral_retuned_m_s2,
    matched_settings,
    measured_by_taps,
    part_losses,
    place_map,
    placed,
    splitter_estimate,
    total,
)
from wingtool.car.front import CLEARANCE_DOUBT, CP_ABOVE
from wingtool.panels import bluff_flow
from wingtool.study.car.doubts import body_doubts

RHO = 1.225


def test_a_wing_behind_the_axle_lifts_the_front():
    """EXACT: statics, the worked number of 454 N and 45 N, 0.6 m behind the axle and 1.3 m high."""
    wing = placed(454.0, 45.0, 3.1, 1.3, 2.5)
    assert wing.cla_rear_m2 == pytest.approx((454 * 3.1 + 45 * 1.3) / 2.5)
    assert round(wing.cla_rear_m2) == 586
    assert round(wing.cla_front_m2) == -132
    assert -wing.cla_front_m2 / 454 == pytest.approx(0.29, abs=0.005)


def test_body_drag_moves_load_to_the_rear():
    """EXACT: 907 N at 0.6 m height on 2.5 m wheelbase moves 218 N (worked number)."""
    body = placed(0.0, 907.0, 0.0, 0.6, 2.5)
    assert body.cla_rear_m2 == pytest.approx(217.7, abs=0.1)
    assert body.cla_front_m2 == -body.cla_rear_m2


@given(
    force=st.floats(-2, 2),
    drag=st.floats(0, 1),
    x=st.floats(-2, 5),
    h=st.floats(0, 2),
    moment=st.floats(-1, 1),
)
def test_loads_add_up_and_moments_balance(force, drag, x, h, moment):
    """EXACT: force and moment balance about the front contact point for any part."""
    part = placed(force, drag, x, h, 2.5, moment)
    assert part.cla_front_m2 + part.cla_rear_m2 == pytest.approx(force, abs=1e-9)
    assert part.cla_rear_m2 * 2.5 == pytest.approx(force * x + drag * h + moment, abs=1e-9)


def test_axle_loads_hold_the_weight_and_grow_with_speed_squared():
    """EXACT: without parts and speed the weight; the air's share grows with V^2."""
    wing = placed(np.array([0.2, 0.4]), np.array([0.02, 0.05]), 3.0, 1.3, 2.5)
    loads = axle_loads(GREEN_HATCH, wing, RHO, np.array([1e-9, 20.0, 40.0]), np.array([0.0, 5.0]))
    assert loads.front_n[0] == pytest.approx(GREEN_HATCH.static_front_n)
    assert (loads.front_n + loads.rear_n)[1:] == pytest.approx(
        GREEN_HATCH.weight_n + 0.5 * RHO * np.array([[20.0**2], [40.0**2]]) * np.array([0.2, 0.4])
    )
    assert loads.rear_air_n[2] == pytest.approx(4 * loads.rear_air_n[1])


@given(
    share=st.floats(0.4, 0.65), lever=st.floats(0.3, 1.2), x=st.floats(2.2, 3.4), force=st.floats(0.05, 1.0)
)
def test_the_matched_front_keeps_the_share(share, lever, x, force):
    """EXACT: wing plus matched front fall on the axles as the weight does."""
    car = replace(GREEN_HATCH, front_share=share)
    wing = placed(np.array([force]), np.array([0.05]), x, 1.3, 2.5)
    answer = matched_settings(car, wing, np.zeros(1), lever, (0.1, 0.2, 0.3), RHO, 40.0)
    front = placed(answer.matched_front_n / (0.5 * RHO * 40.0**2), 0.0, -lever, 0.1, 2.5)
    both = total(wing, front)
    assert both.cla_front_m2[0] / both.cla_m2[0] == pytest.approx(share, abs=1e-9)


def test_what_is_left_names_the_danger():
    """EXACT: with the wing gone the front is heavier than the bare car's, with the splitter gone lighter."""
    parts = {"wing": placed(0.35, 0.04, 3.0, 1.3, 2.5), "splitter": placed(0.2, 0.01, -0.8, 0.1, 2.5)}
    left = {case.lost_part: case for case in part_losses(GREEN_HATCH, parts, RHO, 44.4)}
    assert "oversteer" in left["wing"].words
    assert "understeer" in left["splitter"].words
    assert left["all parts"].shift_percent == 0.0
    whole = left["nothing"].front_n + left["nothing"].rear_n
    assert whole == pytest.approx(GREEN_HATCH.weight_n + 0.5 * RHO * 44.4**2 * 0.55)


def test_the_place_map_honours_the_rules_and_the_levers():
    """EXACT: further back lifts the front more; what the rules forbid is marked."""
    heights, setbacks = np.array([1.0, 1.3, 1.6]), np.array([0.0, 0.4, 0.8])
    found = place_map(
        GREEN_HATCH, 0.3, 0.03, 0.0, NOTHING, heights, setbacks, RHO, 44.4, most_height_m=1.4,
        most_setback_m=0.5,
    )  # fmt: skip
    assert np.all(np.diff(found.front_air_n, axis=1) < 0)
    assert found.allowed.tolist() == [[True, True, False], [True, True, False], [False] * 3]
    assert "same everywhere" in found.note


def test_springs_drop_by_half_the_axle_load_over_the_wheel_rate():
    """EXACT: 454 N on 40 N/mm a side is 5.7 mm (worked number)."""
    _, rear = axle_responses(GREEN_HATCH, 0.0, 454.0, 44.4, 1.0)
    assert rear.drop_m == pytest.approx(454.0 / 2 / 40e3)
    assert round(rear.drop_m * 1e3, 1) == 5.7
    assert rear.warning == ""


def test_bump_stops_and_tyres_are_warned_of():
    front, rear = axle_responses(GREEN_HATCH, -3000.0, 6000.0, 70.0, 1.4)
    assert rear.warning.startswith("rear on the bump stops")
    assert "the front axle loses more than a tenth" in front.warning
    _, heavy = axle_responses(GREEN_HATCH, 0.0, 4000.0, 70.0, 2.0)
    assert "rear outer tyre over its load rating" in heavy.warning


SPLITTER = Splitter(0.09, 1.5, 0.09, floor_m=0.3, rod_ahead_m=0.09, modulus_pa=7e9)


def test_no_splitter_estimate_beats_the_stagnation_pressure():
    """EXACT bound: above the blade cp is at most 1; the band is wide, and says whence it comes."""
    part = splitter_estimate(SPLITTER, GREEN_HATCH)
    low, middle, high = part.cla_m2
    assert 0 < low < middle < high
    assert high / low > 2.5
    assert max(CP_ABOVE) < 1.0
    assert part.origin == "common practice, no source"
    assert part.middle.cla_front_m2 > middle > 0 > part.middle.cla_rear_m2


def test_the_three_pressures_of_a_splitter_are_independent():
    """EXACT: by hand, 0.135 m2 of blade and 0.45 m2 of floor; half widths added as squares."""
    low, middle, high = splitter_estimate(SPLITTER, GREEN_HATCH).cla_m2
    assert middle == pytest.approx(0.135 * (0.55 + 0.3) + 0.45 * 0.08)
    assert middle - low == pytest.approx(np.sqrt((0.135 * 0.25) ** 2 * 2 + (0.45 * 0.08) ** 2))
    assert high - middle == pytest.approx(
        np.sqrt((0.135 * 0.35) ** 2 + (0.135 * 0.5) ** 2 + (0.45 * 0.17) ** 2)
    )


def test_a_blade_without_a_floor_pulls_at_its_middle():
    """EXACT: half the overhang ahead of the nose; its drag, at its clearance, gives a couple."""
    part = splitter_estimate(replace(SPLITTER, floor_m=0.0), GREEN_HATCH)
    arm = GREEN_HATCH.nose_m + 0.09 / 2
    aft = -part.cla_m2[1] * arm + part.cda_m2[1] * SPLITTER.clearance_m
    assert part.middle.cla_rear_m2 * GREEN_HATCH.wheelbase_m == pytest.approx(aft, rel=1e-3)


NOSE = (
    (-0.084, 0.012), (0.0, 0.012), (0.0, 0.36), (0.25, 0.61), (1.2, 0.76), (1.9, 1.23), (3.0, 1.23),
    (3.9, 0.86), (4.0, 0.05), (3.95, 0.0), (0.3, 0.0), (0.0, 0.0), (-0.084, 0.0),
)  # fmt: skip


def plane_force(clearance_m):
    """Downforce per width and q of a 90 mm blade and 300 mm of floor, plane flow under an invented saloon.

    What passes underneath: base pressure -0.15 (from memory), friction 0.003 on 4 m of smooth floor.
    """
    spread = 0.5 * (1 - np.cos(np.pi * np.arange(40) / 40))[:, None]
    corners, turn = np.array(NOSE), np.pi * np.arange(16) / 16
    edge = np.column_stack([-0.084 - 0.006 * np.sin(turn), 0.006 - 0.006 * np.cos(turn)])
    sides = [a + (b - a) * spread for a, b in pairwise(corners)]
    share = np.sqrt(1.15 / (1 + 0.003 * 4.0 / clearance_m))
    (flow,) = bluff_flow(np.vstack([*sides, edge]) + [0.0, clearance_m], share * clearance_m)

    def pressure(x, height):
        return 1 - np.sum(flow.velocity(np.column_stack([x, np.full(len(x), height)])) ** 2, axis=1)

    under, above = np.linspace(-0.08, 0.3, 96), np.linspace(-0.08, -0.004, 40)
    force = 0.09 * pressure(above, clearance_m + 0.015).mean()
    return force - np.trapezoid(pressure(under, clearance_m - 0.003), under)


def test_clearance_widens_the_band_as_plane_flow_trends():
    """TWIN: the plane flow under a blunt nose, at 30 and 60 mm over that at 90 mm."""
    for clearance in (0.03, 0.06):
        trend = plane_force(clearance) / plane_force(0.09)
        assert np.interp(clearance, *CLEARANCE_DOUBT) == pytest.approx(1 - trend, abs=0.02)
    at, low = (
        splitter_estimate(Splitter(0.09, 1.5, h, floor_m=0.3), GREEN_HATCH).cla_m2 for h in (0.09, 0.06)
    )
    assert low[1] == at[1]
    assert low[1] - low[0] == pytest.approx(np.hypot(at[1] - at[0], 0.26 * at[1]))


def test_taps_carry_their_error():
    """EXACT: by hand; a gauge of 10 Pa at 40 m/s leaves some 10 N of a force of 170 N."""
    found = measured_by_taps(0.09, 1.5, 0.3, (500.0, 520.0), (-300.0, -280.0), (-80.0, -60.0), 10.0, 980.0)
    assert found.cla_m2 * 980.0 == pytest.approx(0.135 * (510.0 + 290.0) + 0.45 * 70.0)
    assert found.error_m2 * 980.0 == pytest.approx(np.sqrt(150.0 * (2 * 0.135**2 + 0.45**2)))


def test_the_users_measurement_wins():
    q = 0.5 * RHO * 40.0**2
    measured = Splitter(0.09, 1.5, 0.09, measured=Measured(300.0 / q, 40.0 / q, 5.0 / q, 2.0 / q))
    part = splitter_estimate(measured, GREEN_HATCH)
    assert np.array(part.cla_m2) * q == pytest.approx([260.0, 300.0, 340.0])
    assert part.origin == "the user's own measurement"


def test_a_dam_may_raise_or_lower_drag():
    part = air_dam_estimate(AirDam(0.1, 1.4, 0.1), GREEN_HATCH)
    assert part.cda_m2[0] < 0 < part.cda_m2[2]


def test_blade_loads_are_the_textbook_beams():
    """EXACT: no sag at the prop of a propped cantilever; free cantilever sag wL^4/8EI; rods by the hinge."""
    part = splitter_estimate(SPLITTER, GREEN_HATCH)
    loads = blade_load(SPLITTER, part, 1000.0, 40.4)
    w = part.blade_m2 * 1000.0 / 0.09
    assert loads.rod_n == pytest.approx(w * 0.09 / 2 / 2 / np.sin(np.radians(60.0)))  # hinged: half the load
    near = Splitter(0.09, 1.5, 0.09, floor_m=0.3, rod_ahead_m=0.03, modulus_pa=7e9)
    clamped = w * (6 * 0.09**2 - 4 * 0.09 * 0.03 + 0.03**2) / (8 * 0.03)  # propped cantilever
    assert clamped > w * 0.09**2 / (2 * 0.03)
    assert blade_load(near, part, 1000.0, 40.4).rod_n == pytest.approx(clamped / 2 / np.sin(np.radians(60.0)))
    assert loads.sag_m == pytest.approx(0.0, abs=1e-12)
    free = Splitter(0.09, 1.5, 0.09, floor_m=0.3, rods=0, modulus_pa=7e9)
    rigidity = 7e9 * 1.5 * 0.012**3 / 12
    assert blade_load(free, part, 1000.0, 40.4).sag_m == pytest.approx(w * 0.09**4 / 8 / rigidity)
    assert "oil-soaked wood" in loads.caution


def test_clearance_takes_off_what_the_springs_give():
    """EXACT: springs in series with levers; 0.1 g at 0.5 m height moves 216 N on 1100 kg (worked number)."""
    car = replace(GREEN_HATCH, mass_kg=1100.0)
    braked, pressed = (
        clearance_left("splitter", 0.09, 1.5, 0.9, car, loads, brake_g, 0.0).left_m
        for loads, brake_g in (((0.0, 0.0), 0.1), ((200.0, 0.0), 0.0))
    )
    shift = 1100.0 * 0.1 * 9.80665 * 0.5 / 2.5
    assert round(shift) == 216
    expected = shift / (2 * 50e3) * (1 + 0.9 / 2.5) + shift / (2 * 40e3) * 0.9 / 2.5
    assert 0.09 - braked == pytest.approx(expected)
    assert 0.09 - pressed == pytest.approx(200.0 / 1e5 * (1 + 0.9 / 2.5))
    low = clearance_left("splitter", 0.02, 1.5, 0.9, car, (500.0, 0.0), 1.0, 1.0)
    assert low.left_m < 0
    assert low.note.startswith("touches")
    assert clearance_left("x", 0.1, 1, 1, replace(car, front=type(car.front)()), (0, 0), 1, 1).left_m is None


def test_brakes_and_turn_share_the_ellipse_and_the_rear_sinks_too():
    """EXACT: the worst of d cos t + r sin t is sqrt(d^2 + r^2); a rear that sinks lifts the nose."""
    air = (400.0, 800.0)
    both, straight, level, braking, rolling = (
        clearance_left("splitter", 0.09, 1.5, 0.9, GREEN_HATCH, loads, *limits)
        for loads, limits in (
            (air, (1.0, 1.1)), (air, (0.0, 0.0)), ((0.0, 0.0), (0.0, 0.0)), ((0.0, 0.0), (1.0, 0.0)),
            ((0.0, 0.0), (0.0, 1.1)),
        )
    )  # fmt: skip
    down = 400.0 / 1e5 + (400.0 / 1e5 - 800.0 / 8e4) * 0.9 / 2.5
    assert straight.left_m == pytest.approx(0.09 - down)
    assert level.left_m == 0.09
    dive, roll = 0.09 - braking.left_m, 0.09 - rolling.left_m
    turn = np.linspace(0.0, np.pi / 2, 10001)
    worst = np.max(dive * np.cos(turn) + roll * np.sin(turn))
    assert both.left_m == pytest.approx(0.09 - down - worst, abs=1e-8)
    assert "give tyre_rate" in both.note
    front, rear = (replace(axle, tyre_rate_n_m=200e3) for axle in (GREEN_HATCH.front, GREEN_HATCH.rear))
    soft = clearance_left(
        "splitter", 0.09, 1.5, 0.9, replace(GREEN_HATCH, front=front, rear=rear), (400.0, 0.0), 0.0, 0.0
    )
    assert 0.09 - soft.left_m == pytest.approx((400.0 / 2 / 50e3 + 400.0 / 2 / 200e3) * (1 + 0.9 / 2.5))
    assert "tyre_rate" not in soft.note


def test_the_outer_tyre_bears_its_share_of_the_load_transfer():
    """EXACT: half the axle's load and its share of m a h over the track, by hand."""
    front, _ = axle_responses(GREEN_HATCH, 400.0, 200.0, 50.0, 1.1)
    weight = 1150.0 * 9.80665
    outer_n = (0.58 * weight + 400.0) / 2 + 0.58 * weight * 1.1 * 0.5 / 1.5
    assert front.tyre_share == pytest.approx(outer_n / 5300.0)


def test_the_retuned_car_weighs_its_axles_by_their_load():
    """EXACT: each axle's capacity times its own share of the weight: 0.6 and 0.4, never half and half."""
    car = replace(GREEN_HATCH, front_share=0.6, tyre=Tyre(1.0, 0.0, 1.0))
    areas, q = AxleAreas(0.0, 1.0, 0.0), 1000.0
    held = lateral_retuned_m_s2(car, areas, q) / 9.80665
    assert held == pytest.approx(0.6 + 0.4 * (1 + 1000.0 / car.static_rear_n))
    assert held == pytest.approx(1 + 1000.0 / car.weight_n)


def test_the_bare_body_lifts_both_axles():
    """EXACT: lift areas are positive upwards; each end of the band moves its own axle alone."""
    lift = BodyLift(Estimate(0.1, 0.0, 0.3), Estimate(0.2, 0.1, 0.4))
    body = body_areas(replace(GREEN_HATCH, body_lift=lift))
    assert (body.cla_front_m2, body.cla_rear_m2, body.cda_m2) == (-0.1, -0.2, 0.72)
    doubts = body_doubts(replace(GREEN_HATCH, body_lift=lift))
    front, rear = ([low[0], high[0]] for _, low, high in doubts)
    assert [end.cla_front_m2 for end in front] == pytest.approx([0.1, -0.2])
    assert [end.cla_rear_m2 for end in rear] == pytest.approx([0.1, -0.2])
    assert front[0].cla_rear_m2 == rear[0].cla_front_m2 == 0.0
