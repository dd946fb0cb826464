"""Tests at steady speed or in corners: suspension travel, load cells, lateral g; each gives an area."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wingtool.constants import GRAVITY_M_S2
from wingtool.errors import LogError
from wingtool.files import words_beside
from wingtool.track.evidence import Evidence, judged, least_squares
from wingtool.track.log import Log, lateral_m_s2, local_xy_m, smooth, stretches
from wingtool.track.runs import TestRun

STEADY_M_S2, SLOWEST_M_S, SHORTEST_S = 0.2, 12.0, 2.0
LEAST_SPEED_RATIO = 1.4  # highest over lowest; below it weight, zero and lift cannot be separated
BARE_LIFT = "lift area of the bare body"
BARE, CHANGE = 0, 2  # coefficients of the fit
Three = tuple[float, float, float]  # value, low, high
WORDS = words_beside(__file__, "steady")


@dataclass(frozen=True, eq=False)
class Units:
    """Units of evidence (u,): dynamic pressure, mean reading, 1 with the parts, middle time, corner."""

    source: str
    q_pa: np.ndarray
    reading: np.ndarray
    on: np.ndarray
    time_s: np.ndarray
    place: np.ndarray

    @property
    def counts(self) -> tuple[int, int]:
        """How many with and without the parts."""
        return int(self.on.sum()), int((1.0 - self.on).sum())


def _units(log: Log, rows: Sequence[tuple[float, ...]]) -> Units:
    return Units(log.source, *np.array(rows, float).reshape(-1, 5).T)


def _lasting(log: Log, runs: tuple[TestRun, ...], mask: np.ndarray, least_s: float):
    """Rows of each unbroken stretch of the mask that lasts so long, with its run."""
    for run in runs:
        for a, b in stretches(mask[run.rows]):
            rows = run.rows[a:b]
            if log.time_s[rows[-1]] - log.time_s[rows[0]] >= least_s:
                yield run, rows


def steady_units(log: Log, runs: tuple[TestRun, ...], axle: str, density_kg_m3: float) -> Units:
    """Travel of an axle [m] over stretches of steady speed, straight, of two seconds and more: a unit each.

    Raises
    ------
    LogError
        No travel of that axle in the log.
    """
    height = log.channels.get(f"height_{axle}_m")  # of springs and tyres together, in place of travel
    pressed = log.need(f"travel_{axle}_m") if height is None else -height
    speed = log.need("speed_m_s")
    change = np.gradient(smooth(speed, log.time_s, 1.5), log.time_s)
    steady = (np.abs(smooth(change, log.time_s, 1.0)) < STEADY_M_S2) & (speed > SLOWEST_M_S)
    if "lateral_m_s2" in log.channels:
        steady &= np.abs(smooth(log.channels["lateral_m_s2"], log.time_s, 1.0)) < 0.15 * GRAVITY_M_S2
    time, rows_of = log.time_s, _lasting(log, runs, steady, SHORTEST_S)
    rows = [
        (run.q_pa(speed[i], density_kg_m3), np.nanmean(pressed[i]), run.parts_on, time[i].mean(), 0)
        for run, i in rows_of
    ]
    return _units(log, rows)


def _of_axle(units: Units, what: str, of: int, rate_n_m: float, predicted_m2, note: str = "") -> Evidence:
    """Reading = s q + z0 + d (on q) + o on + drift: s or d, the coefficient `of`, times a rate.

    The offset o is what the parts' own weight, and the sensors' zero, change.
    """
    columns = [units.q_pa, np.ones_like(units.on)]
    if units.on.any():
        columns += [units.on * units.q_pa, units.on]
    if len(units.on) >= 8:
        columns.append(units.time_s - units.time_s.mean())
    fit = least_squares(np.stack(columns, axis=1), units.reading, of)
    return judged(what, "m^2", fit, rate_n_m, predicted_m2, *units.counts, "steady stretch", note)


def suspension_test(units: Units, axle: str, rate_n_m: float, predicted_m2: Three) -> Evidence:
    """Change of an axle's load area [m^2] from suspension travel at steady speeds: F = 2 k dz.

    The axle's load holds the couple of the drag; the prediction does as well.

    Raises
    ------
    LogError
        Fewer than two steady stretches with or without the parts.
    """
    on, off = units.counts
    if on < 2 or off < 2:
        raise LogError(WORDS["few_stretches"].format(units.source, on, off))
    return _of_axle(units, f"load area of the {axle} axle", CHANGE, 2.0 * rate_n_m, predicted_m2)


def bare_lift_test(units: Units, axle: str, rate_n_m: float, predicted_m2: Three) -> Evidence:
    """Lift area [m^2] of the car without any part at one axle: travel over q in the same fit.

    Raises
    ------
    LogError
        Steady stretches without the parts at less than three speeds that reach from one to LEAST_SPEED_RATIO.
    """
    bare = np.sqrt(units.q_pa[units.on == 0.0])
    if len(bare) < 3 or bare.max() < LEAST_SPEED_RATIO * bare.min():
        raise LogError(WORDS["few_speeds"].format(units.source, len(bare), LEAST_SPEED_RATIO))
    what = f"{BARE_LIFT}, {axle} axle"
    return _of_axle(units, what, BARE, -2.0 * rate_n_m, predicted_m2, WORDS["road"])


def cell_test(
    log: Log,
    runs: tuple[TestRun, ...],
    channel: str,
    density_kg_m3: float,
    predicted_m2: Three,
) -> Evidence:
    """Force area of the wing [m^2] from load cells under its stands: reading = tare + area q in each run.

    The cells bear the wing alone, so no run without it is needed; the unit is one run's slope. Wing mass
    times bumps is noise: readings are smoothed over a second first.

    Raises
    ------
    LogError
        No such channel, or fewer than two runs with the wing that span a range of speeds.
    """
    reading = smooth(log.need(channel), log.time_s, 1.0)
    square = smooth(log.need("speed_m_s"), log.time_s, 1.0) ** 2
    slopes = []
    for run in runs:
        x, y = square[run.rows] * run.q_pa(1.0, density_kg_m3), reading[run.rows]
        good = np.isfinite(x) & np.isfinite(y)
        if run.parts_on and good.sum() > 10 and np.ptp(x[good]) > 0.3 * x[good].max():
            slopes.append(np.polyfit(x[good], y[good], 1)[0])
    if len(slopes) < 2:
        raise LogError(WORDS["few_runs"].format(log.source, len(slopes)))
    fit = least_squares(np.ones((len(slopes), 1)), np.array(slopes), 0)
    what = "drag area of the wing" if channel == "cells_drag_n" else "downforce area of the wing"
    return judged(what, "m^2", fit, 1.0, predicted_m2, len(slopes), 0, "run")


def corner_units(log: Log, runs: tuple[TestRun, ...], density_kg_m3: float, least_g: float = 0.4) -> Units:
    """Corners passed: one unit each, a second about the peak of the smoothed lateral acceleration.

    With positions in the log, passages within 40 m of each other are one corner.
    """
    side = np.abs(smooth(lateral_m_s2(log), log.time_s, 1.0))
    speed = smooth(log.need("speed_m_s"), log.time_s, 1.0)
    xy = local_xy_m(log)
    units, places = [], list[tuple[float, float]]()
    for run, rows in _lasting(log, runs, side > least_g * GRAVITY_M_S2, 1.0):
        peak = rows[int(np.argmax(side[rows]))]
        near = rows[np.abs(log.time_s[rows] - log.time_s[peak]) <= 0.5]
        place = 0 if xy is None else _place((xy[0][peak], xy[1][peak]), places)
        q = run.q_pa(speed[near], density_kg_m3)
        units.append((q, np.mean(side[near]), run.parts_on, log.time_s[peak], place))
    return _units(log, units)


def _place(point: tuple[float, float], places: list[tuple[float, float]], reach_m: float = 40.0) -> int:
    for number, known in enumerate(places):
        if np.hypot(point[0] - known[0], point[1] - known[1]) < reach_m:
            return number
    places.append(point)
    return len(places) - 1


def corner_test(
    log: Log,
    runs: tuple[TestRun, ...],
    mass_kg: float,
    grip: float,
    load_sensitivity: float,
    density_kg_m3: float,
    predicted_m2: Three,
) -> Evidence:
    """Downforce area [m^2] that shows in the corners: lateral acceleration against q, on against off.

    a = a_corner + d (on q): with places known each corner has its own level (camber, line), otherwise one
    line a0 + b q serves all. d = mu (1 - n) ClA / m for tyres of load sensitivity n. It is the area
    that the weaker axle turns into grip, as the prediction is. Expect weak proof.

    Raises
    ------
    LogError
        Fewer than three corner passages with or without the parts.
    """
    units = corner_units(log, runs, density_kg_m3)
    on, off = units.counts
    if on < 3 or off < 3:
        raise LogError(WORDS["few_corners"].format(log.source, on, off))
    q, place = units.q_pa, units.place
    columns = [units.on * q]
    if place.max() > 0:
        columns += [(place == number).astype(float) for number in np.unique(place)]
    else:
        columns += [np.ones_like(q), q]
    if len(q) > len(columns) + 4:
        columns.append(units.time_s - units.time_s.mean())
    fit = least_squares(np.stack(columns, axis=1), units.reading, 0)
    factor = mass_kg / (grip * (1.0 - load_sensitivity))
    what = "downforce area that the corners feel"
    return judged(what, "m^2", fit, factor, predicted_m2, on, off, "corner passed", WORDS["belief"])
