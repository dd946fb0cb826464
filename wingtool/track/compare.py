"""Two laps held against each other: where the time is, corner by corner and straight by straight."""

from dataclasses import dataclass

import numpy as np

from wingtool.track.lap import Lap
from wingtool.track.log import stretches

FLAT_S = 0.05  # of a lap: angles this near to the best are as good


@dataclass(frozen=True)
class PartGain:
    """One corner or straight: time gained [s] (negative: lost) and slowest and fastest speeds [m/s]."""

    name: str
    gain_s: float
    slowest_with_m_s: float
    slowest_without_m_s: float
    fastest_with_m_s: float
    fastest_without_m_s: float


@dataclass(frozen=True, eq=False)
class LapDifference:
    """`distance_m`, `gain_s` (n,): time gained since the line (rising: the parts gain there)."""

    distance_m: np.ndarray
    gain_s: np.ndarray
    parts: tuple[PartGain, ...]


def lap_difference(with_parts: Lap, without: Lap) -> LapDifference:
    """Difference trace of the first set-ups of two laps on the same circuit."""
    circuit = with_parts.circuit
    gain = without.time_s[0] - with_parts.time_s[0]
    step_gain = np.diff(gain, prepend=0.0)
    fast, slow = with_parts.speed_m_s[0], without.speed_m_s[0]
    rows = []
    for index, name in enumerate(circuit.names):
        here = circuit.part == index
        if here.any():
            rows.append(
                PartGain(
                    name, float(step_gain[here].sum()), float(fast[here].min()), float(slow[here].min()),
                    float(fast[here].max()), float(slow[here].max()),
                )
            )  # fmt: skip
    return LapDifference(circuit.distance_m, gain, tuple(rows))


@dataclass(frozen=True, eq=False)
class BestAngle:
    """Lap time over the wing angle.

    `wing_angle_deg`, `lap_time_s` (m,); `best_deg`; `flat_from_deg`, `flat_to_deg` where the lap is within
    `FLAT_S` of the best: how much the angle matters here. `at_edge`: the best is the first or last that may
    be chosen.
    """

    name: str
    wing_angle_deg: np.ndarray
    lap_time_s: np.ndarray
    best_deg: float
    best_time_s: float
    flat_from_deg: float
    flat_to_deg: float
    at_edge: bool


def best_angle(
    name: str, wing_angle_deg: np.ndarray, lap_time_s: np.ndarray, allowed: np.ndarray | None = None
) -> BestAngle:
    """The fastest angle of the table and the range that is as good to 0.05 s; nan rows are passed over.

    Only angles that are `allowed` (m,) are chosen; the lap does not know how suddenly a stall comes.

    Examples
    --------
    >>> best = best_angle("wing", np.arange(5.0), np.array([60.1, 60.02, 60.0, 60.01, 60.2]))
    >>> best.best_deg, best.flat_from_deg, best.flat_to_deg
    (2.0, 1.0, 3.0)
    """
    allowed = np.ones(len(lap_time_s), bool) if allowed is None else allowed
    times = np.where(allowed, lap_time_s, np.nan)
    if np.all(np.isnan(times)):
        nan = float("nan")
        return BestAngle(name, wing_angle_deg, lap_time_s, nan, nan, nan, nan, False)
    best = int(np.nanargmin(times))
    flat = stretches(times <= times[best] + FLAT_S)
    first, after = next((first, after) for first, after in flat if first <= best < after)
    return BestAngle(
        name, wing_angle_deg, lap_time_s, float(wing_angle_deg[best]), float(lap_time_s[best]),
        float(wing_angle_deg[first]), float(wing_angle_deg[after - 1]),
        best in np.flatnonzero(allowed)[[0, -1]],
    )  # fmt: skip
