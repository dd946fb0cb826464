"""Straights and corners against closed forms."""

from dataclasses import replace

import numpy as np
import pytest
from car_stand_ins import GREEN_HATCH
from hypothesis import given
from hypothesis import strategies as st

from wingtool.car import (
    AxleAreas,
    Gears,
    Tyre,
    break_even_m_s,
    corner_speed_m_s,
    corner_table,
    drag_area_from_top_speed,
    full_throttle,
    power_at_wheels_w,
    resistance_n,
    straight_runs,
    top_speed_m_s,
)

RHO, G = 1.225, 9.80665
PURE = replace(GREEN_HATCH, rolling=0.0, rotating_mass_factor=1.0, tyre=Tyre(1.05, 0.0, 50.0))
FREE = AxleAreas(0.0, 0.0, 0.0)


def shared(car, area):
    """Downforce that falls on the axles as the weight does."""
    return AxleAreas(car.front_share * area, (1 - car.front_share) * area, 0.0)


@given(radius=st.floats(8.0, 300.0), area=st.floats(-0.5, 1.0), grip=st.floats(0.6, 1.6))
def test_cornering_with_downforce(radius, area, grip):
    """EXACT: V = sqrt(mu g / (1/R - mu rho ClA / 2m)) for tyres without load sensitivity."""
    car = replace(PURE, tyre=Tyre(grip, 0.0, 1.0))
    rest = 1 / radius - grip * RHO * area / (2 * car.mass_kg)
    closed = np.sqrt(grip * G / rest) if rest > 0 else np.inf
    found = corner_speed_m_s(car, shared(car, area), RHO, 1 / radius)
    assert float(found) == pytest.approx(min(closed, 140.0), rel=1e-7)


def test_the_worked_gain_of_a_corner():
    """EXACT: 454 N at 160 km/h on 1100 kg is 4.2 % of the weight, 4 % in g, 2 % in speed (worked number)."""
    car = replace(PURE, mass_kg=1100.0)
    area = 454.0 / (0.5 * RHO * (160 / 3.6) ** 2)
    radius = (160 / 3.6) ** 2 / (1.05 * G * (1 + 454.0 / car.weight_n))
    with_wing = corner_speed_m_s(car, shared(car, area), RHO, 1 / radius)
    without = corner_speed_m_s(car, FREE, RHO, 1 / radius)
    assert 454.0 / car.weight_n == pytest.approx(0.042, abs=0.0005)
    assert float(with_wing) == pytest.approx(160 / 3.6, rel=1e-9)
    assert float(with_wing / without) == pytest.approx(1.021, abs=0.001)


@given(tilt=st.floats(-8.0, 15.0), n=st.floats(0.0, 0.3), area=st.floats(-0.3, 0.6))
def test_banked_corners_balance_their_forces(tilt, n, area):
    """TWIN: the speed found satisfies the force balance written out for each axle."""
    car = replace(PURE, tyre=Tyre(1.0, n, 1.0))
    areas = AxleAreas(0.7 * area, 0.3 * area, 0.0)
    b, k = np.radians(tilt), 1 / 90.0
    v2 = float(corner_speed_m_s(car, areas, RHO, k, b)) ** 2
    pressed = np.cos(b) + v2 * k * np.sin(b) / G
    load = [
        pressed * static + 0.5 * RHO * v2 * a
        for static, a in ((car.static_front_n, areas.cla_front_m2), (car.static_rear_n, areas.cla_rear_m2))
    ]
    held = [
        G * (max(axle, 0) / static) ** (1 - n)
        for axle, static in zip(load, (car.static_front_n, car.static_rear_n), strict=True)
    ]
    assert min(held) == pytest.approx(v2 * k * np.cos(b) - G * np.sin(b), rel=1e-6)


def test_the_weaker_axle_sets_the_limit():
    """EXACT: rear load alone gains nothing in a neutral car; retuned it does; load off the front costs."""
    rear_only = AxleAreas(0.0, 0.4, 0.0)
    k = 1 / 100.0
    bare = corner_speed_m_s(GREEN_HATCH, FREE, RHO, k)
    assert corner_speed_m_s(GREEN_HATCH, rear_only, RHO, k) == pytest.approx(bare)
    assert corner_speed_m_s(GREEN_HATCH, rear_only, RHO, k, law="retuned") > 1.01 * bare
    assert corner_speed_m_s(GREEN_HATCH, AxleAreas(-0.1, 0.4, 0.0), RHO, k) < bare


def test_slow_corners_gain_next_to_nothing():
    whole = shared(GREEN_HATCH, 0.5)
    table = corner_table(GREEN_HATCH, whole, FREE, RHO, np.array([15.0, 200.0]))
    ratio = table.with_m_s / table.without_m_s
    assert ratio[0] < 1.005
    assert ratio[1] > 1.02
    edge = break_even_m_s(GREEN_HATCH, whole, FREE, RHO, 0.02)
    n, weight = GREEN_HATCH.tyre.load_sensitivity, GREEN_HATCH.weight_n
    closed = np.sqrt((1.02 ** (1 / (1 - n)) - 1) * weight / (0.5 * RHO * 0.5))
    assert edge == pytest.approx(closed, rel=1e-5)
    assert np.isnan(break_even_m_s(GREEN_HATCH, FREE, FREE, RHO))


def test_terminal_speed_is_the_cube_root():
    """EXACT: drag alone, V = (2P / rho CdA)^(1/3), for many set-ups at once."""
    areas = np.array([0.5, 0.72, 1.1])
    assert top_speed_m_s(PURE, areas, 0.0, RHO) == pytest.approx(
        (2 * PURE.power_w / (RHO * areas)) ** (1 / 3)
    )


def test_the_published_drag_cut_gives_its_top_speed():
    """PUBLISHED (hobby page, hobby grade): Cd 0.38 to 0.29 took 116 to 126 mph; the cube root says 127."""
    ratio = top_speed_m_s(PURE, 0.29, 0.0, RHO) / top_speed_m_s(PURE, 0.38, 0.0, RHO)
    assert 116 * float(ratio) == pytest.approx(127, abs=0.5)


def test_five_per_cent_more_drag_costs_under_two_per_cent():
    """EXACT: dV/V = -dCdA / 3 CdA; rolling resistance makes it smaller (worked number -1.7 %)."""
    slow = top_speed_m_s(PURE, 0.72 * 1.05, 0.0, RHO) / top_speed_m_s(PURE, 0.72, 0.0, RHO) - 1
    assert float(slow) == pytest.approx(-0.016, abs=0.001)
    real = replace(PURE, rolling=0.015)
    less = top_speed_m_s(real, 0.72 * 1.05, 0.0, RHO) / top_speed_m_s(real, 0.72, 0.0, RHO) - 1
    assert slow < less < 0


def test_wing_power_at_160():
    """EXACT: 36 to 68 N at 160 km/h takes 1.6 to 3.0 kW (worked number)."""
    q = 0.5 * RHO * (160 / 3.6) ** 2
    for force, kilowatt in ((36.0, 1.6), (68.0, 3.0)):
        drag = np.array([0.72 + force / q, 0.72])
        more, bare = resistance_n(PURE, drag, 0.0, RHO, 160 / 3.6) * 160 / 3.6
        assert (more - bare) / 1e3 == pytest.approx(kilowatt, abs=0.03)
        _, (time, bare_time), _ = straight_runs(PURE, drag, 0.0, RHO, 600.0, 25.0)
        assert time > bare_time


def test_speed_over_distance_at_full_power():
    """EXACT: P constant and drag k V^2 give V^3 = P/k + (V0^3 - P/k) exp(-3 k s / m)."""
    run = full_throttle(PURE, 0.72, 0.0, RHO, 20.0, 60.0)
    k = 0.5 * RHO * 0.72
    limit = PURE.power_w / k
    closed = (limit + (20.0**3 - limit) * np.exp(-3 * k * run.distance_m / PURE.mass_kg)) ** (1 / 3)
    assert run.speed_m_s == pytest.approx(closed, rel=1e-7)
    assert run.time_s[-1] == pytest.approx(np.trapezoid(1 / run.speed_m_s, run.distance_m), rel=1e-4)


def test_a_car_that_comes_faster_than_its_top_speed_slows_down():
    """EXACT: the same closed form from above; and drag costs time on a straight that starts there."""
    k = 0.5 * RHO * 0.72
    limit = PURE.power_w / k
    run = full_throttle(PURE, 0.72, 0.0, RHO, 80.0, 140.0)
    closed = (limit + (80.0**3 - limit) * np.exp(-3 * k * run.distance_m / PURE.mass_kg)) ** (1 / 3)
    assert run.speed_m_s == pytest.approx(closed, rel=1e-6)
    assert np.all(np.diff(run.time_s) > 0)
    top = limit ** (1 / 3)
    assert run.speed_m_s[-1] == pytest.approx(1.005 * top)
    _, (time, bare_time), _ = straight_runs(PURE, [0.80, 0.72], 0.0, RHO, 900.0, top)
    assert time > bare_time + 0.1


def test_energy_on_the_straight():
    """EXACT: work of the engine = gain of kinetic energy + work of drag and rolling."""
    car = replace(GREEN_HATCH, tyre=Tyre(1.0, 0.1, 50.0))
    run = full_throttle(car, 0.75, 0.3, RHO, 15.0, 50.0)
    engine = car.power_w * run.time_s[-1]
    kinetic = 0.5 * car.effective_mass_kg * (run.speed_m_s[-1] ** 2 - 15.0**2)
    loss = 0.5 * RHO * run.speed_m_s**2 * (0.75 + car.rolling * 0.3) + car.rolling * car.weight_n
    assert engine == pytest.approx(kinetic + np.trapezoid(loss, run.distance_m), rel=1e-4)


def test_gears_limit_power_and_top_speed():
    gears = Gears(np.array([20.0, 35.0, 50.0]), np.array([0.3, 0.85, 1.0]), np.array([0.3, 1.0, 0.95]))
    car = replace(PURE, gears=gears)
    assert float(power_at_wheels_w(car, 0.85 * 35.0)) == pytest.approx(car.power_w)
    assert float(power_at_wheels_w(car, 50.5)) == 0.0
    assert float(top_speed_m_s(car, 0.3, 0.0, RHO)) == pytest.approx(50.0)
    assert np.all(power_at_wheels_w(car, np.linspace(0.1, 50, 99)) > 0)


def test_drag_area_from_a_measured_top_speed_goes_back():
    top = float(top_speed_m_s(GREEN_HATCH, 0.8, 0.0, RHO))
    back = drag_area_from_top_speed(top, GREEN_HATCH.power_w, GREEN_HATCH.mass_kg, GREEN_HATCH.rolling, RHO)
    assert back == pytest.approx(0.8, rel=1e-6)
    with pytest.raises(ValueError, match="cannot reach"):
        drag_area_from_top_speed(90.0, 10e3, 1100.0, 0.015, RHO)
