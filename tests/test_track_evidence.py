"""Simulated logs whose truth is known: it comes back inside its interval; nothing is found in nothing."""

from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from simulated_logs import DENSITY, MASS_KG, ROLLING_N, ROTATING, cell_log, coast_logs, corner_log, travel_log
from trap_logs import drive

from wingtool.errors import LogError
from wingtool.track import (
    CONSISTENT,
    NOT_CONSISTENT,
    TOO_NOISY,
    Log,
    TestRun,
    bare_lift_test,
    cell_test,
    change_with_drift,
    coast_down,
    corner_test,
    judged,
    more_units,
    runs_of,
    steady_units,
    student_t,
    suspension_test,
)
from wingtool.track.coast import _pairs
from wingtool.track.road import along_road, speed_by_road

SEEDS = 200


def coast(log, predicted=(0.03, 0.025, 0.035)):
    return coast_down(log, runs_of(log), MASS_KG * ROTATING, DENSITY, predicted, 0.72, ROLLING_N).evidence


def coverage(evidence, truth):
    """Share of intervals that hold the truth, and share that claim a change."""
    inside = np.mean([one.low <= truth <= one.high for one in evidence])
    return inside, np.mean([one.found for one in evidence])


def check(evidence, truth):
    """The bars: 90 to 99 % of 200 seeds inside; false alarms at most 9 %."""
    inside, found = coverage(evidence, truth)
    print(f"inside {inside:.1%}, found {found:.1%}")
    assert 0.90 <= inside <= 0.99
    if truth == 0.0:
        assert found <= 0.09


@pytest.mark.parametrize(
    "rate", [1.0, pytest.param(5.0, marks=pytest.mark.slow), pytest.param(25.0, marks=pytest.mark.slow)]
)
@pytest.mark.parametrize("truth", [0.03, 0.0])
def test_coast_downs_in_wind_on_a_sloping_road(rate, truth):
    """EXACT: the simulated car's own drag area; wind, gusts, slope and noise in both directions."""
    logs = coast_logs(SEEDS, rate, truth, first_seed=int(10 * rate))
    check([coast(log) for log in logs], truth)


@pytest.mark.parametrize("rate", [1.0, 10.0])
def test_a_still_day_gives_the_drag_area(rate):
    """EXACT: dV/dt = -(a + c V^2) is V = sqrt(a/c) tan(t0 - sqrt(a c) t); 2 m c / rho is the drag area."""
    a, area = 0.15, 0.72
    c = 0.5 * DENSITY * area / (MASS_KG * ROTATING)
    t = np.arange(0.0, 70.0, 1.0 / rate)
    speed = np.sqrt(a / c) * np.tan(np.arctan(47.0 / np.sqrt(a / c)) - np.sqrt(a * c) * t)
    time = np.concatenate([t + 400.0 * i for i in range(4)])
    channels = {"speed_m_s": np.tile(speed, 4), "run": np.repeat(np.arange(4.0), len(t))}
    words = {
        "parts": np.repeat(["off", "off", "on", "on"], len(t)),
        "direction": np.repeat(["a", "b"] * 2, len(t)),
    }
    log = Log("closed form", time, channels, words, ())
    found = coast_down(log, runs_of(log), MASS_KG * ROTATING, DENSITY, (0.0, 0.0, 0.0), 0.72, 170.0)
    assert found.pair_cda_m2 == pytest.approx([area] * 2, rel=2e-3 if rate < 5 else 5e-4)


def test_only_neighbours_in_opposite_directions_are_a_pair():
    """EXACT: by hand, from the order of the runs."""
    ways = ["out", "out", "back", "back", "out"]
    runs = [TestRun(str(i), np.arange(1), False, way) for i, way in enumerate(ways)]
    areas = [0.0, 1.0, 2.0, 3.0, 4.0]
    told: list[str] = []
    values, on, unit = _pairs(runs, areas, told)
    assert values == [1.5, 3.5]
    assert on == [False, False]
    assert unit == "pair of runs"
    assert told == ["run 0 has no partner in the other direction and is left out"]
    alone = _pairs(runs[:2], areas[:2], told)
    assert alone[2] == "run"
    assert "wind does not cancel" in told[-1]


@pytest.mark.parametrize("truth", [0.03, 0.0])
def test_a_strong_steady_wind_cancels(truth):
    """EXACT: 4 m/s of steady wind leaves coverage and mean alone."""
    evidence = [coast(log) for log in coast_logs(100, 5.0, truth, first_seed=77, wind_m_s=4.0)]
    assert np.mean([one.change for one in evidence]) == pytest.approx(truth, abs=0.004)
    assert coverage(evidence, truth)[0] >= 0.88


def axle_units(log, runs):
    return steady_units(log, runs, "rear", DENSITY)


@pytest.mark.parametrize(
    ("make", "test", "truths"),
    [
        (
            travel_log,
            lambda log: suspension_test(axle_units(log, runs_of(log)), "rear", 40e3, (0.3, 0.2, 0.4)),
            (0.3, 0.0),
        ),
        (cell_log, lambda log: cell_test(log, runs_of(log), "cells_n", DENSITY, (0.3, 0.2, 0.4)), (0.3,)),
        (
            corner_log,
            lambda log: corner_test(log, runs_of(log), MASS_KG, 1.05, 0.0, DENSITY, (0.3, 0.2, 0.4)),
            (0.3, 0.0),
        ),
    ],
    ids=["travel", "cells", "corners"],
)
@pytest.mark.parametrize(
    "rate", [1.0, pytest.param(10.0, marks=pytest.mark.slow), pytest.param(25.0, marks=pytest.mark.slow)]
)
def test_steady_speeds_cells_and_corners(make, test, truths, rate):
    """EXACT: the simulated car's own areas at 1 to 25 readings a second."""
    for truth in truths:
        check([test(make(1000 + seed, rate, truth)) for seed in range(SEEDS)], truth)


def test_a_tyre_whose_friction_falls_turns_less_of_the_load_into_grip():
    """EXACT: a = mu (1 - n) ClA q / m, so the same corners tell of 1 / 0.9 of the area where n is 0.1."""
    log = corner_log(1000, 1.0, 0.3)
    even, falling = (
        corner_test(log, runs_of(log), MASS_KG, 1.05, n, DENSITY, (0.3, 0.2, 0.4)).change for n in (0.0, 0.1)
    )
    assert falling == pytest.approx(even / 0.9)


def test_lift_of_the_bare_body_and_change_by_the_parts_are_apart():
    """EXACT: 2 k dz = q area: lift 0.2 m2, parts that press 0.5 m2 and weigh 3 mm, in thinner air."""
    speed = np.repeat(np.tile([25.0, 32.0, 40.0, 46.0], 4), 20)
    on = np.repeat(np.arange(4) % 2 == 1, 80)
    time = np.arange(len(speed)) * 0.5 + 60.0 * np.repeat(np.arange(16), 20)
    rho = DENSITY * (1.0 - 0.04 * on)
    travel = 0.5 * rho * speed**2 * (0.5 * on - 0.2) / (2 * 40e3) + 0.003 * on + 0.02
    channels = {"speed_m_s": speed, "run": np.repeat(np.arange(16.0), 20)}
    parts = {"parts": np.where(on, "on", "off")}
    logs = [
        Log("x", time, channels | {name: sign * travel}, parts, ())
        for name, sign in (("travel_rear_m", 1.0), ("height_rear_m", -1.0))
    ]
    for log in logs:
        runs = tuple(replace(r, density_kg_m3=float(rho[r.rows[0]])) for r in runs_of(log))
        known = (axle_units(log, runs), "rear", 40e3, (0.3, 0.2, 0.4))
        assert bare_lift_test(*known).change == pytest.approx(0.2)
        assert suspension_test(*known).change == pytest.approx(0.5)


@pytest.mark.parametrize("truth", [0.058, 0.0])
def test_an_undulating_road_is_found_and_taken_out(truth):
    """EXACT: 0.3 per cent of rise and fall with positions in the log: the bars hold as on a level road."""
    logs = coast_logs(SEEDS, 1.0, truth, first_seed=31, undulation=0.003, positions=True)
    evidence = [coast(log, (truth,) * 3) for log in logs]
    check(evidence, truth)
    assert np.mean([one.change for one in evidence]) == pytest.approx(truth, abs=0.0035)


def test_one_direction_tells_nothing_of_the_road():
    """EXACT: there slope and drag look alike, so nothing is taken out."""
    t = np.arange(0.0, 30.0, 0.5)
    (added,) = speed_by_road([t], [40.0 - t], [40.0 * t])
    assert np.all(added == 0.0)


def test_distance_along_the_road_is_that_along_its_main_direction():
    """EXACT: a straight road at any bearing."""
    gone = np.linspace(0.0, 900.0, 50)
    along = along_road(0.6 * gone + 5.0, -0.8 * gone)
    assert np.abs(np.diff(along)) == pytest.approx(np.diff(gone))


def test_student_t_is_the_handbooks():
    """EXACT: as tables print it (JCGM 100:2008, table G.2, from memory), 95 %, 1 to 100 degrees."""
    assert [round(student_t(n), 2) for n in (1, 3, 10, 20, 100)] == [12.71, 3.18, 2.23, 2.09, 1.98]


@given(drift=st.floats(-1, 1), change=st.floats(-1, 1))
def test_a_steady_drift_is_taken_out(drift, change):
    """EXACT: a made drift and a made change, without noise."""
    on = np.array([0, 1, 0, 1, 0, 1, 0, 1], bool)
    values = 3.0 + drift * np.arange(8) + change * on
    found, error, degrees = change_with_drift(values, on)
    assert found == pytest.approx(change, abs=1e-9)
    assert error == pytest.approx(0.0, abs=1e-9)
    assert degrees == 5


word = partial(judged, "x", "m^2", factor=1.0, units_on=6, units_off=6, unit_name="run")


def test_the_three_words():
    """EXACT: the rule written out: t(10) = 2.228."""
    assert word(estimate=(0.03, 0.01, 10), predicted=(0.03, 0.02, 0.04)).word == CONSISTENT
    assert word(estimate=(0.09, 0.01, 10), predicted=(0.03, 0.02, 0.04)).word == NOT_CONSISTENT
    assert word(estimate=(0.0, 0.003, 10), predicted=(0.03, 0.02, 0.04)).word == NOT_CONSISTENT
    noisy = word(estimate=(0.02, 0.02, 10), predicted=(0.03, 0.02, 0.04))
    assert noisy.word == TOO_NOISY
    assert noisy.more_units == more_units(0.02, 12, 0.03) == 2 * np.ceil((12 * (0.04 / 0.03) ** 2 - 12) / 2)
    assert word(estimate=(np.nan, np.nan, 0), predicted=(0.03, 0.02, 0.04)).word == TOO_NOISY


def test_a_sharp_nothing_within_a_band_that_holds_nothing_is_consistent():
    """EXACT: 0.000 +- 0.002 against -0.01 to 0.07: more runs would tell nothing more."""
    sharp = word(estimate=(0.0, 0.001, 10), predicted=(0.03, -0.01, 0.07))
    assert (sharp.word, sharp.found, sharp.more_units) == (CONSISTENT, False, 0)
    assert word(estimate=(0.0, 0.01, 10), predicted=(0.03, -0.01, 0.07)).word == TOO_NOISY


def test_more_runs_do_tell():
    """EXACT: with as many runs as the answer asks for, the standard error is about half of the target."""
    first = [coast(log) for log in coast_logs(20, 2.0, 0.03, pairs=4, first_seed=5)]
    error = np.median([one.standard_error for one in first])
    pairs = 4 + more_units(float(error), 4, 0.03)
    later = [coast(log) for log in coast_logs(20, 2.0, 0.03, pairs=pairs, first_seed=6)]
    assert np.median([one.standard_error for one in later]) < 0.75 * 0.03


def test_coasts_need_partners_and_range():
    log = coast_logs(1, 5.0, 0.03, pairs=1)[0]
    with pytest.raises(ValueError, match="at least two with and two without"):
        coast(log)


def test_braking_at_the_end_of_a_coast_is_left_out():
    """EXACT: a log that brakes after each coast gives the same drag area as one that does not."""
    log = coast_logs(1, 10.0, 0.03, first_seed=3)[0]
    speed = log.channels["speed_m_s"].copy()
    within = log.time_s % 400.0
    braking = (within > 55.0) & (speed > 0)
    speed[braking] = np.maximum(speed[braking] - 6.0 * (within[braking] - 55.0), 0.0)
    braked = Log(log.source, log.time_s, dict(log.channels) | {"speed_m_s": speed}, log.words, ())
    assert coast(braked).change == pytest.approx(coast(log).change, abs=0.015)


def trapped(truth, seed, *traps):
    log, runs = drive(np.random.default_rng(seed), truth, traps)
    return coast_down(log, runs, MASS_KG * ROTATING, 1.22, (0.03, 0.02, 0.04), 0.72, ROLLING_N)


def test_a_braked_end_is_cut_however_gentle():
    """EXACT: driver brakes at 0.05 to 0.25 g at the end of half of the coasts; the drag area stays."""
    found = trapped(0.03, 5, "brake")
    assert sum("braked from" in line for line in found.notes) >= 5
    assert np.mean(np.array(found.pair_cda_m2)[~np.array(found.pair_on)]) == pytest.approx(0.72, abs=0.04)
    assert not any("braked" in line for line in trapped(0.03, 5).notes)


def test_the_air_of_each_run_is_its_own():
    """EXACT: 4 % thinner air with the parts on, on the run sheet, leaves no change where there is none."""
    found = trapped(0.0, 11, "air").evidence
    assert found.low <= 0.0 <= found.high
    blind = trapped(0.0, 11, "air", "no sheet").evidence
    assert blind.change - found.change == pytest.approx(-0.04 * 0.72, abs=0.012)


@pytest.mark.parametrize(("trap", "says"), [("mph", "drag area"), ("half", "mph under a heading of km/h")])
def test_a_drag_area_that_is_not_the_cars_stops(trap, says):
    """EXACT: a speed in another unit scales the drag area by its factor."""
    with pytest.raises(LogError, match=says):
        trapped(0.03, 3, trap)


@pytest.mark.slow
@pytest.mark.parametrize("truth", [0.03, 0.0])
def test_coverage_of_200_days_with_traps(truth):
    """EXACT: the simulated car's own drag area; braked ends, air of another day, warming tyres among them."""
    sets = ((), ("brake",), ("air",), ("air", "brake"))
    evidence = [trapped(truth, 1000 + s, *sets[s % 4]).evidence for s in range(SEEDS)]
    inside, found = coverage(evidence, truth)
    print(f"inside {inside:.1%}, found {found:.1%}")
    assert inside >= 0.93
    if truth == 0.0:
        assert found <= 0.05
