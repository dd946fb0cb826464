"""Formulas of car and lap against numbers worked by hand, in newton, metre and second."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from car_stand_ins import GREEN_HATCH

from wingtool.car import (
    NOTHING,
    AirDam,
    AxleAreas,
    Gears,
    Mounts,
    Spar,
    Splitter,
    Tyre,
    air_dam_estimate,
    axle_loads,
    beam,
    brake_limit_m_s2,
    break_even_m_s,
    clearance_left,
    corner_table,
    full_throttle,
    in_quadrature,
    mount_loads,
    power_at_wheels_w,
    splitter_estimate,
    traction_limit_n,
)
from wingtool.track import Segment, circuit_from_segments, judged, lap, read_log, runs_of, student_t
from wingtool.track.circuit import circuit_from_lap

RHO, G = 1.225, 9.80665


def test_forces_at_one_foot():
    """EXACT: 300 N of drag, 10 kg, gust 2, shock 3 g, two feet 0.4 m high with four bolts each.

    Shock 3 x 98.07 = 294.2: sideways 147.1 and 58.84 N m a foot; aft 2 x 300 / 2 = 300 a foot; shear
    sqrt(600^2 + 294.2^2) / 8 = 83.53 a bolt.
    """
    mounts = Mounts(0.5, stand_height_m=0.4, wing_mass_kg=10.0, gust_factor=2.0)
    loads = mount_loads(mounts, 1000.0, 300.0, 0.0, 60.0, 6.0)
    assert (loads.side_n, loads.sideways_moment_nm) == pytest.approx((147.10, 58.84), abs=0.01)
    assert (loads.foot_drag_n, loads.bolt_shear_n) == pytest.approx((300.0, 83.53), abs=0.01)


def test_load_ahead_of_the_axis_of_twist():
    """EXACT: 100 N/m down at the quarter chord, 0.05 m ahead of the axis, is 5 N m/m nose down; one stand."""
    y = np.linspace(-0.5, 0.5, 2001)
    loads = beam(y, np.full(2001, 100.0), np.zeros(1), Spar(1e3, 1e3, behind_m=0.05))
    assert np.interp(-1e-3, y, loads.torsion_nm) == pytest.approx(-5.0 * 0.5, rel=0.01)


def test_drag_of_splitter_and_force_of_dam():
    """EXACT: 0.6 over 12 mm x 1.5 m is 0.0108 m2; a dam of 0.1 x 1.5 m makes 0.4 and 0.1 of 0.15 m2."""
    board = splitter_estimate(Splitter(0.09, 1.5, 0.09), GREEN_HATCH)
    dam = air_dam_estimate(AirDam(0.1, 1.5, 0.1), GREEN_HATCH)
    assert board.cda_m2 == pytest.approx((0.0036, 0.0108, 0.0216))
    assert dam.cla_m2 == pytest.approx((0.015, 0.06, 0.15))
    assert dam.cda_m2 == pytest.approx((-0.06, 0.015, 0.12))


def test_roll_of_the_body():
    """EXACT: 1150 kg x 1 g x 0.5 m = 5639 N m; (50 + 40) kN/m x 1.5^2 / 2 = 101.25 kN m/rad; half width."""
    loads = clearance_left("splitter", 0.1, 1.6, 0.0, GREEN_HATCH, (0.0, 0.0), 0.0, 1.0)
    assert 0.1 - loads.left_m == pytest.approx(5638.8 / 101250.0 * 0.8, rel=1e-4)


def test_grip_along_the_car():
    """EXACT: brakes hold 0.8 g, the driven front axle 0.8 of its load; twice the load holds 2^(1 - n)."""
    car = replace(GREEN_HATCH, tyre=Tyre(1.2, 0.1, 0.8))
    weight = 1150.0 * G
    assert brake_limit_m_s2(car, NOTHING, 1.0) == pytest.approx(0.8 * G)
    assert traction_limit_n(car, NOTHING, 1.0) == pytest.approx(0.8 * 0.58 * weight)
    doubled = AxleAreas(0.58 * weight, 0.42 * weight, 0.0)
    assert traction_limit_n(car, doubled, 1.0) == pytest.approx(0.8 * 0.58 * weight * 2**0.9)
    assert traction_limit_n(replace(car, driven="rear"), NOTHING, 1.0) == pytest.approx(0.8 * 0.42 * weight)
    assert traction_limit_n(replace(car, driven="all"), NOTHING, 1.0) == pytest.approx(0.8 * weight)


def test_a_start_on_spinning_wheels():
    """EXACT: V = a t with a = (0.8 x front weight - 0.015 weight) / 1.04 m, while the tyres set the force."""
    car = replace(GREEN_HATCH, tyre=Tyre(1.0, 0.1, 0.8), cda_m2=0.0)
    run = full_throttle(car, 0.0, 0.0, RHO, 0.0, 10.0)
    assert run.speed_m_s[-1] / run.time_s[-1] == pytest.approx((0.8 * 0.58 - 0.015) * G / 1.04, rel=1e-6)


def test_a_slipping_clutch_holds_torque():
    """EXACT: below the first point of the curve power falls as speed does: 0.15 at half of its revs."""
    gears = Gears(np.array([20.0, 40.0]), np.array([0.3, 1.0]), np.array([0.3, 1.0]))
    car = replace(GREEN_HATCH, gears=gears)
    assert float(power_at_wheels_w(car, 3.0)) == pytest.approx(0.15 * car.power_w)


def test_corner_table_by_hand():
    """EXACT: g = V^2 / R; load on the rear alone leaves the front the weaker axle; felt from 2 % on."""
    rear, shared = AxleAreas(0.0, 0.3, 0.0), AxleAreas(0.58 * 0.3, 0.42 * 0.3, 0.0)
    table = corner_table(GREEN_HATCH, rear, NOTHING, RHO, np.array([100.0]))
    assert table.with_g == pytest.approx(1.05)
    assert table.weaker == ["front"]
    assert corner_table(GREEN_HATCH, AxleAreas(0.3, 0.0, 0.0), NOTHING, RHO, np.ones(1)).weaker == ["rear"]
    speed = np.sqrt((1.02 ** (1 / 0.9) - 1) * 1150.0 * G / (0.5 * RHO * 0.3))
    assert break_even_m_s(GREEN_HATCH, shared, NOTHING, RHO) == pytest.approx(speed, rel=1e-4)


def test_share_of_the_added_downforce():
    """EXACT: -132 of 454 N is on the front: -0.29."""
    loads = axle_loads(GREEN_HATCH, AxleAreas(-0.132, 0.586, 0.0), RHO, np.array([50.0]), np.zeros(1))
    assert loads.air_front_share[0, 0] == pytest.approx(-0.2907, abs=1e-4)


def test_half_width_of_a_doubt():
    """EXACT: 3 down and 4 up is sqrt((9 + 16) / 2) = 3.536."""
    assert in_quadrature(10.0, {"a": [(7.0, 14.0)]}).doubts[0][1] == pytest.approx(3.5355, abs=1e-4)


def test_a_banked_ring():
    """EXACT: tyres hold V^2 k cos b - g sin b, at the bank's load (n = 0: mu (g cos b + V^2 k sin b))."""
    car = replace(GREEN_HATCH, tyre=Tyre(1.05, 0.0, 1.05), rolling=0.0, driven="all")
    ring = circuit_from_segments("ring", (Segment("bowl", 2 * np.pi * 60.0, 60.0, 10.0),))
    found = lap(car, AxleAreas(0.0, 0.0, 0.2), ring, RHO)
    square, b = found.speed_m_s[0, -1] ** 2, np.radians(10.0)
    side = square / 60.0 * np.cos(b) - G * np.sin(b)
    assert found.lateral_g[0, -1] * G == pytest.approx(side, rel=1e-6)
    drag = 0.5 * RHO * 0.2 * square / car.mass_kg / (1.05 * G)  # of the grip along the car, on the flat
    held = 1.05 * (G * np.cos(b) + square / 60.0 * np.sin(b))
    assert (side / held) ** 2 + drag**2 == pytest.approx(1.0, abs=2e-4)


def test_brakes_slow_what_turns_as_well():
    """EXACT: dV^2 / 2 ds = 0.9 g m / m_e without drag and rolling, on the straight before a bend."""
    car = replace(GREEN_HATCH, tyre=Tyre(1.05, 0.0, 0.9), rolling=0.0, rotating_mass_factor=1.2)
    road = circuit_from_segments("d", (Segment("straight", 1000.0), Segment("bend", 200.0, 20.0)))
    square = lap(car, NOTHING, road, RHO).speed_m_s[0, 900:960] ** 2
    assert -np.diff(square) / 2 == pytest.approx(np.full(59, 0.9 * G / 1.2), rel=1e-6)


def test_curvature_of_a_logged_lap():
    """EXACT: 9 m/s^2 at 30 m/s is a radius of 100 m."""
    way = np.linspace(0.0, 500.0, 501)
    circuit = circuit_from_lap("ring", way, np.full(501, 30.0), np.full(501, 9.0))
    assert circuit.curvature_1_m == pytest.approx(0.01)


def test_air_of_a_run_sheet(tmp_path):
    """EXACT: 1013.25 hPa and 15 degC is 1.225 kg/m^3 (standard atmosphere)."""
    sheet = tmp_path / "runs.csv"
    sheet.write_text("run,start,end,parts,temperature_degc,pressure_hpa\n1,0,9,on,15,1013.25\n")
    (run,) = runs_of(SimpleNamespace(time_s=np.arange(10.0), source="x"), sheet)
    assert run.density_kg_m3 == pytest.approx(1.225, abs=2e-4)


def test_the_difference_that_would_be_noticed():
    """EXACT: half the band, t times the standard error and 0.84 more."""
    evidence = judged("drag", "m2", (0.05, 0.01, 10), 1.0, (0.05, 0.04, 0.08), 6, 6, "pair")
    assert evidence.noticed == pytest.approx(0.02 + (student_t(10) + 0.84) * 0.01)


def test_travel_of_both_sides(tmp_path):
    """EXACT: 10 and 14 mm are 12 mm of the axle; two cells of 100 and 150 N bear 250."""
    log = tmp_path / "log.csv"
    rows = [f"{i},30,10,14,100,150" for i in range(12)]
    head = "time [s],speed [m/s],FL travel [mm],FR travel [mm],load cell 1 [N],load cell 2 [N]"
    log.write_text("\n".join([head, *rows]))
    channels = read_log(log).channels
    assert channels["travel_front_m"] == pytest.approx(np.full(12, 0.012))
    assert channels["cells_n"] == pytest.approx(np.full(12, 250.0))
