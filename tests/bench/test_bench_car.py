"""Lap, best angle and log against their bars, as ratios: below 1 is within the bar."""

import tracemalloc
from time import perf_counter

import numpy as np
import pytest

from wingtool.car import Axle, Car, Tyre, body_areas, placed, total
from wingtool.track import Segment, best_angle, circuit_from_segments, lap, lateral_m_s2, read_log, sustained
from wingtool.track.runs import runs_of
from wingtool.track.steady import corner_units

pytestmark = pytest.mark.bench
CAR = Car(
    1150.0,
    0.58,
    2.5,
    0.5,
    0.72,
    135e3,
    driven="front",
    tyre=Tyre(1.05, 0.1, 1.05),
    front=Axle(5e4),
    rear=Axle(4e4),
)
ROAD = circuit_from_segments(
    "Harrow Down",
    tuple(Segment(f"{i}", length, radius) for i, (length, radius) in enumerate(
        ((700, None), (150, 60), (400, None), (300, 150), (300, None), (60, 25), (500, None), (200, 100),
         (900, None), (250, 200), (240, None)))),
)  # fmt: skip


def best(call, repeats=5):
    times = []
    for _ in range(repeats):
        start = perf_counter()
        call()
        times.append(perf_counter() - start)
    return min(times)


def test_a_lap_of_four_kilometres():
    taken = best(lambda: lap(CAR, body_areas(CAR), ROAD, 1.225))
    print(f"\nlap of 4 km at 1 m: {taken * 1e3:.0f} ms, {taken / 0.2:.2f} of the bar of 200 ms")


def test_best_angle_of_41_by_two_tabs():
    angles = np.linspace(-4.0, 16.0, 41)
    lift = np.stack([0.35 * (0.3 + 0.08 * angles), 0.35 * (0.6 + 0.08 * angles)])
    wing = placed(lift.ravel(), (0.007 + 0.25 * lift**2).ravel(), 2.95, 1.3, 2.5)
    whole = total(body_areas(CAR), wing, placed(0.2, 0.01, -0.8, 0.1, 2.5))

    def search():
        times = lap(CAR, whole, ROAD, 1.225).lap_time_s.reshape(2, 41)
        return [best_angle(name, angles, row) for name, row in zip(("no tab", "tab"), times, strict=True)]

    taken = best(search)
    print(f"\n41 angles by 2 tabs: {taken * 1e3:.0f} ms, {taken / 5:.3f} of the bar of 5 s")
    one = best(lambda: lap(CAR, whole.at(0), ROAD, 1.225))
    print(f"82 set-ups together cost {taken / one:.1f} laps, alone 82")


def test_an_hour_at_25_readings_a_second(tmp_path):
    rng = np.random.default_rng(0)
    n = 90_000
    t = np.arange(n) / 25.0
    speed = 120 + 40 * np.sin(t / 20)
    side = np.sin(t / 7) + rng.normal(0, 0.03, n)
    others = rng.normal(0, 1, (n, 8))
    on = np.where((t // 600).astype(int) % 2 == 1, "on", "off")
    path = tmp_path / "hour.csv"
    with path.open("w") as file:
        file.write("Time [s],Speed [km/h],Lateral g,a,b,c,d,e,f,g,h,Parts\n")
        for i in range(n):
            numbers = ",".join(f"{v:.4f}" for v in others[i])
            file.write(f"{t[i]:.2f},{speed[i]:.3f},{side[i]:.4f},{numbers},{on[i]}\n")

    def analysed():
        log = read_log(path)
        units = corner_units(log, runs_of(log), 1.225)
        return units, sustained(lateral_m_s2(log) / 9.80665, np.full(len(log.time_s), 0.04))

    taken = best(analysed, 3)
    tracemalloc.start()
    units, _ = analysed()
    peak = tracemalloc.get_traced_memory()[1] / 1e6
    print(f"\none hour at 25 Hz, {len(units.on)} corners: {taken:.2f} s, {taken / 5:.2f} of the bar of 5 s")
    print(f"greatest memory {peak:.0f} MB, {peak / 500:.2f} of the bar of 500 MB")
