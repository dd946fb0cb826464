"""Logs of a car whose true areas are known: coast-downs, steady passes, corners; wind, slope, noise."""

import numpy as np

from wingtool.track import Log

MASS_KG, ROTATING, DENSITY, ROLLING_N, G = 1150.0, 1.04, 1.225, 170.0, 9.80665
EARTH_RADIUS_M = 6371008.8


def coast_logs(
    seeds: int, rate_hz: float, change_m2: float, pairs: int = 6, first_seed: int = 0, wind_m_s: float = 1.5,
    undulation: float = 0.001, positions: bool = False,
) -> list[Log]:  # fmt: skip
    """One log a seed: `pairs` pairs of coasts, out and back, parts off, on, off, on ...

    True drag area 0.72 m2, `change_m2` more with the parts. Wind along the road: steady part per session,
    wander from run to run, gusts (5 s memory). A road that climbs and dips by `undulation`. Speed noise
    0.06 m/s at every reading, read at `rate_hz`.
    """
    rng = np.random.default_rng(first_seed)
    runs = 2 * pairs
    on = np.repeat(np.arange(pairs) % 2 == 1, 2)
    way = np.where(np.arange(runs) % 2 == 0, 1.0, -1.0)
    area = 0.72 + change_m2 * on
    dt, seconds = 0.04, 75.0
    steps = int(seconds / dt)
    wind = rng.normal(0.0, wind_m_s, (seeds, 1)) + rng.normal(0.0, 0.25, (seeds, runs))
    gust = np.zeros((seeds, runs))
    speed = 47.0 + rng.normal(0.0, 0.4, (seeds, runs))
    place = np.where(way > 0, 0.0, 2000.0) + np.zeros((seeds, runs))
    grade = rng.normal(0.0, 0.0005, (seeds, 1))
    trace, where = np.empty((steps, seeds, runs)), np.empty((steps, seeds, runs))
    for i in range(steps):
        trace[i], where[i] = speed, place
        gust += -gust * dt / 5.0 + 0.4 * np.sqrt(2 * dt / 5.0) * rng.normal(size=gust.shape)
        slope = way * (grade + undulation * np.sin(place / 300.0))
        air = speed + way * (wind + gust)
        force = 0.5 * DENSITY * area * air * np.abs(air) + ROLLING_N + MASS_KG * G * slope
        speed = np.maximum(speed - force / (MASS_KG * ROTATING) * dt, 0.0)
        place += way * speed * dt
    every = round(1.0 / (rate_hz * dt))
    read, placed = trace[::every], where[::every]
    return [
        _log(read[:, s, :], every * dt, on, way, rng, placed[:, s, :] if positions else None)
        for s in range(seeds)
    ]


def _log(speed: np.ndarray, step_s: float, on: np.ndarray, way: np.ndarray, rng, place=None) -> Log:
    samples, runs = speed.shape
    time = (np.arange(samples) * step_s)[None, :] + 400.0 * np.arange(runs)[:, None]
    noisy = speed.T + rng.normal(0.0, 0.06, (runs, samples))
    parts = np.repeat(np.where(on, "on", "off"), samples)
    heading = np.repeat(np.where(way > 0, 80.0, 260.0), samples)
    channels = {
        "speed_m_s": noisy.ravel(),
        "run": np.repeat(np.arange(runs, dtype=float), samples),
        "heading_deg": heading,
    }
    if place is not None:
        metres = place.T.ravel() + rng.normal(0.0, 1.0, time.size)
        channels["latitude_deg"] = 52.0 + np.degrees(0.6 * metres / EARTH_RADIUS_M)
        channels["longitude_deg"] = np.degrees(0.8 * metres / EARTH_RADIUS_M / np.cos(np.radians(52.0)))
    return Log("simulated", time.ravel(), channels, {"parts": parts}, ())


def travel_log(seed: int, rate_hz: float, load_area_m2: float, wheel_rate_n_m: float = 40e3) -> Log:
    """Steady passes at 100, 130 and 160 km/h in turn, parts off and on in turn; rear travel in metres.

    Damper friction leaves each pass with its own offset (0.5 mm), readings have 0.3 mm of noise, the day a
    drift of 0.1 mm a pass (fuel).
    """
    rng = np.random.default_rng(seed)
    time, speed, travel, parts, run = [], [], [], [], []
    clock = 0.0
    for number in range(24):
        on = (number // 3) % 2 == 1
        v = (100.0, 130.0, 160.0)[number % 3] / 3.6 + rng.normal(0.0, 0.3)
        t = np.arange(0.0, 8.0, 1.0 / rate_hz)
        body = 0.0006 * 0.5 * DENSITY * v**2 / 1000.0
        load = 0.5 * DENSITY * load_area_m2 * v**2 / (2.0 * wheel_rate_n_m) if on else 0.0
        offset = rng.normal(0.0, 0.5e-3) - 0.1e-3 * number
        time.append(clock + t)
        speed.append(v + rng.normal(0.0, 0.06, len(t)))
        travel.append(0.02 + body + load + offset + rng.normal(0.0, 0.3e-3, len(t)))
        parts += ["on" if on else "off"] * len(t)
        run.append(np.full(len(t), float(number)))
        clock += 60.0
    channels = {
        "speed_m_s": np.concatenate(speed),
        "travel_rear_m": np.concatenate(travel),
        "run": np.concatenate(run),
    }
    return Log("simulated", np.concatenate(time), channels, {"parts": np.array(parts)}, ())


def cell_log(seed: int, rate_hz: float, area_m2: float) -> Log:
    """Six runs through the gears and back with load cells: tare, gain error by run (2 %), bumps."""
    rng = np.random.default_rng(seed)
    time, speed, cells, run = [], [], [], []
    for number in range(6):
        t = np.arange(0.0, 40.0, 1.0 / rate_hz)
        v = 30.0 + 15.0 * np.sin(np.pi * t / 40.0)
        gain = 1.0 + rng.normal(0.0, 0.02)
        force = gain * 0.5 * DENSITY * area_m2 * v**2 + rng.normal(0.0, 40.0, len(t)) - 12.0
        time.append(100.0 * number + t)
        speed.append(v + rng.normal(0.0, 0.06, len(t)))
        cells.append(force)
        run.append(np.full(len(t), float(number)))
    channels = {
        "speed_m_s": np.concatenate(speed),
        "cells_n": np.concatenate(cells),
        "run": np.concatenate(run),
    }
    words = {"parts": np.full(len(channels["run"]), "on")}
    return Log("simulated", np.concatenate(time), channels, words, ())


def corner_log(seed: int, rate_hz: float, area_m2: float, grip: float = 1.05, laps: int = 16) -> Log:
    """Laps of a circle of eight corners with positions; parts off and on in turn, four laps each.

    Each corner has its own level of grip (camber, 2 %), each passage its own (driver and line, 1.2 %); the
    tyres follow mu (g + rho ClA V^2 / 2 m) exactly, so the load sensitivity is none.
    """
    rng = np.random.default_rng(seed)
    radius = np.array([30.0, 45.0, 60.0, 80.0, 110.0, 150.0, 190.0, 230.0])
    level = 1.0 + rng.normal(0.0, 0.02, len(radius))
    rows = []
    clock = 0.0
    for lap in range(laps):
        on = (lap // 4) % 2 == 1
        for corner, r in enumerate(radius):
            mu = grip * level[corner] * (1.0 + rng.normal(0.0, 0.012))
            gain = mu * DENSITY * area_m2 * on / (2.0 * MASS_KG)
            v = np.sqrt(mu * G / (1.0 / r - gain))
            t = np.arange(0.0, 6.0, 1.0 / rate_hz)
            shape = np.clip(np.minimum(t, 6.0 - t) / 1.0, 0.0, 1.0)
            side = v**2 / r * shape + rng.normal(0.0, 0.15, len(t))
            speed = v + rng.normal(0.0, 0.06, len(t))
            lat = 52.0 + 0.004 * corner + 1e-5 * t / 6.0
            lon = np.full(len(t), 0.1)
            rows.append((clock + t, speed, side, lat, lon, np.full(len(t), on), np.full(len(t), float(lap))))
            clock += 12.0
    time, speed, side, lat, lon, on, run = (np.concatenate(c) for c in zip(*rows, strict=True))
    channels = {
        "speed_m_s": speed, "lateral_m_s2": side, "latitude_deg": lat, "longitude_deg": lon, "run": run,
    }  # fmt: skip
    return Log("simulated", time, channels, {"parts": np.where(on, "on", "off")}, ())
