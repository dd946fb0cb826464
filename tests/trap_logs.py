"""Coast-downs written from Newton's second law alone, with the traps of a real day among them.

Written apart from the fit that reads them: a car of known drag area is integrated with the midpoint rule
through wind, gusts, a rolling term that creeps up with speed, a road that is not level, a logger that is late
and a driver who brakes at the end, in air that changes from run to run.
"""

from dataclasses import replace

import numpy as np

from wingtool.track import Log, TestRun

MASS_KG, SPINNING, CDA_M2, ROLL_N = 1150.0, 1.04, 0.72, 170.0
GAS, GRAVITY = 287.05287, 9.80665


def drive(rng, change_m2, traps, pairs=8, rate_hz=10.0):
    """A log, its runs with the air of each, and the traps that were set."""
    rows, runs, clock, first = [], [], 0.0, 0
    steady, creep = rng.normal(0.0, 1.2), rng.uniform(0.0, 0.5)
    drift = rng.normal(0.0, 0.004)  # tyres and oil that warm: rolling share a pair
    noise = rng.uniform(0.02, 0.08)
    for number in range(2 * pairs):
        on, way = (number // 2) % 2 == 1, 1.0 if number % 2 == 0 else -1.0
        celsius, hectopascal = 18.0, 1009.0
        if "air" in traps:  # the parts went on in the afternoon, or on another day
            celsius, hectopascal = (29.0, 1001.0) if on else (17.0, 1012.0)
            celsius += rng.normal(0.0, 0.3)
        rho = 100.0 * hectopascal / (GAS * (celsius + 273.15))
        dt = 1.0 / rate_hz / 4.0
        speed, place, gust = 46.0 + rng.normal(0.0, 0.5), 0.0 if way > 0 else 1900.0, 0.0
        wander, trace = rng.normal(0.0, 0.25), []
        braking = rng.uniform(0.05, 0.25) * GRAVITY if "brake" in traps and rng.random() < 0.5 else 0.0
        ends = rng.uniform(17.5, 19.5)
        while speed > (10.0 if braking else ends):
            if len(trace) % 4 == 0:
                gust += -gust * 4 * dt / 6.0 + 0.35 * np.sqrt(2 * 4 * dt / 6.0) * rng.normal()
            trace.append((speed, place))

            def slowing(v, x, way=way, on=on, rho=rho, wander=wander, gust=gust, brake=braking, ends=ends):
                air = v + way * (steady + wander) + gust
                drag = 0.5 * rho * (CDA_M2 + change_m2 * on) * air * abs(air)
                roll = ROLL_N * (1.0 + drift * len(runs)) + creep * v
                slope = way * MASS_KG * GRAVITY * 0.0004 * np.sin(x / 250.0)
                return (drag + roll + slope) / (MASS_KG * SPINNING) + (brake if v < ends else 0.0)

            half = speed - slowing(speed, place) * dt / 2
            place += way * half * dt
            speed -= slowing(half, place) * dt
        read = np.array(trace)[::4]
        time = clock + np.arange(len(read)) / rate_hz
        rows.append((time, read[:, 0] + rng.normal(0.0, noise, len(read)), np.full(len(read), way)))
        span = np.arange(first, first + len(read))
        runs.append(TestRun(str(number + 1), span, on, "out" if way > 0 else "back", rho))
        first += len(read)
        clock = time[-1] + 120.0
    time, speed, way = (np.concatenate(column) for column in zip(*rows, strict=True))
    if "mph" in traps:
        speed = speed / 0.44704  # miles per hour under a heading of metres per second
    if "half" in traps:
        speed = speed / 1.609344  # miles per hour under a heading of kilometres per hour
    if "no sheet" in traps:
        runs = [replace(run, density_kg_m3=None) for run in runs]
    channels = {"speed_m_s": speed, "heading_deg": np.where(way > 0, 80.0, 260.0)}
    return Log("traps", time, channels, {}, ()), tuple(runs)
