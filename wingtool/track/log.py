"""A log: channels over time in SI, how the file was read, and what follows from the channels."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from wingtool.errors import LogError
from wingtool.track.circuit import Circuit, circuit_from_lap

# with the parts and without, in a column of a log or a run sheet; A is without, as in A-B-A-B
ON_WORDS = {"on", "with", "yes", "1", "b", "true", "fitted"}
OFF_WORDS = {"off", "without", "no", "0", "a", "false", "bare"}
EARTH_RADIUS_M = 6371008.8  # mean radius, IUGG


@dataclass(frozen=True, eq=False)
class Log:
    """One file from a logger.

    Parameters
    ----------
    source : str
        The file's name.
    time_s : ndarray, shape (n,)
        Rising [s], from the first row.
    channels : mapping of str to ndarray, shape (n,)
        SI: ``speed_m_s``, ``lateral_m_s2``, ``longitudinal_m_s2``, ``latitude_deg``, ``longitude_deg``,
        ``altitude_m``, ``heading_deg``, ``travel_front_m``, ``travel_rear_m`` (compression positive),
        ``height_front_m``, ``height_rear_m`` (of the body over the road),
        ``cells_n`` (sum of the vertical load cells, down positive), ``cells_drag_n``, ``throttle``, ``lap``,
        ``run``; nan where a cell was empty.
    words : mapping of str to ndarray of str, shape (n,)
        ``parts`` (on, off), ``direction``.
    understood : tuple of str
        One line each: delimiter, decimal sign, columns with unit, what was left out and why.
    """

    source: str
    time_s: np.ndarray
    channels: Mapping[str, np.ndarray]
    words: Mapping[str, np.ndarray]
    understood: tuple[str, ...]

    def need(self, name: str) -> np.ndarray:
        """A required channel.

        Raises
        ------
        LogError
            The log has none.
        """
        if name not in self.channels:
            has = ", ".join(sorted(self.channels)) or "none"
            raise LogError(f"{self.source}: no channel {name}; it has {has}; add the column, with its unit")
        return self.channels[name]


def local_xy_m(log: Log) -> tuple[np.ndarray, np.ndarray] | None:
    """East and north of the first fix [m] on a flat piece of the mean sphere; None without position."""
    if "latitude_deg" not in log.channels or "longitude_deg" not in log.channels:
        return None
    lat, lon = log.channels["latitude_deg"], log.channels["longitude_deg"]
    return flat_xy_m(lat, lon) if np.any(np.isfinite(lat) & np.isfinite(lon)) else None


def flat_xy_m(latitude_deg: np.ndarray, longitude_deg: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """East and north of the first fix [m]."""
    lat, lon = np.radians(latitude_deg), np.radians(longitude_deg)
    first = int(np.argmax(np.isfinite(lat) & np.isfinite(lon)))
    east = EARTH_RADIUS_M * np.cos(lat[first]) * (lon - lon[first])
    return east, EARTH_RADIUS_M * (lat - lat[first])


def speed_from_position(time_s: np.ndarray, east_m: np.ndarray, north_m: np.ndarray) -> np.ndarray:
    """Speed [m/s] by central differences of position over about one second, against the fixes' jitter."""
    before, after = _about(time_s, 0.5)
    travelled = np.hypot(east_m[after] - east_m[before], north_m[after] - north_m[before])
    return travelled / (time_s[after] - time_s[before])


def _about(time_s: np.ndarray, reach_s: float) -> tuple[np.ndarray, np.ndarray]:
    """Index of the rows about `reach_s` before and after each row."""
    reach = max(1, round(reach_s / float(np.median(np.diff(time_s)))))
    i = np.arange(len(time_s))
    return np.maximum(i - reach, 0), np.minimum(i + reach, len(i) - 1)


def distance_m(log: Log) -> np.ndarray:
    """Distance since the first row [m], the speed summed over time."""
    from scipy.integrate import cumulative_trapezoid

    return cumulative_trapezoid(log.need("speed_m_s"), log.time_s, initial=0.0)


def lateral_m_s2(log: Log) -> np.ndarray:
    """Lateral acceleration [m/s^2]: as logged, else speed times the rate of turn of heading or position.

    Raises
    ------
    LogError
        The log has neither lateral acceleration, nor heading, nor position.
    """
    if "lateral_m_s2" in log.channels:
        return log.channels["lateral_m_s2"]
    heading = heading_rad(log)
    if heading is None:
        raise LogError(f"{log.source}: no lateral acceleration, heading or position; log one of them")
    turning = np.zeros_like(heading)
    for rows in unbroken(log.time_s):
        if len(rows) >= 3:
            turning[rows] = np.gradient(smooth(heading[rows], log.time_s[rows], 0.6), log.time_s[rows])
    return log.need("speed_m_s") * turning


def heading_rad(log: Log) -> np.ndarray | None:
    """Unwrapped heading [rad], clockwise from north; None without heading or positions."""
    if "heading_deg" in log.channels:
        return np.unwrap(np.radians(log.channels["heading_deg"]))
    xy = local_xy_m(log)
    if xy is None:
        return None
    before, after = _about(log.time_s, 0.3)
    return np.unwrap(np.arctan2(xy[0][after] - xy[0][before], xy[1][after] - xy[1][before]))


def smooth(values: np.ndarray, time_s: np.ndarray, width_s: float) -> np.ndarray:
    """Running mean over about `width_s` seconds; ends and gaps in time use what there is on their side."""
    step = float(np.median(np.diff(time_s)))
    half = max(int(width_s / step / 2), 0)
    if half == 0:
        return values
    running = np.r_[0.0, np.cumsum(values)]
    i = np.arange(len(values))
    edges = np.r_[0, _breaks(time_s), len(values)]
    piece = np.searchsorted(edges, i, side="right")
    first, last = np.maximum(i - half, edges[piece - 1]), np.minimum(i + half + 1, edges[piece])
    return (running[last] - running[first]) / (last - first)


def _breaks(time_s: np.ndarray) -> np.ndarray:
    """Index of each row that follows a gap in time (over five steps and over a second)."""
    steps = np.diff(time_s)
    return np.flatnonzero(steps > max(5.0 * float(np.median(steps)), 1.0)) + 1


def stretches(mask: np.ndarray) -> list[tuple[int, int]]:
    """First row and row after the last of each unbroken stretch of True.

    Examples
    --------
    >>> stretches(np.array([False, True, True, False, True]))
    [(1, 3), (4, 5)]
    """
    edges = np.flatnonzero(np.diff(np.r_[False, mask, False]))
    return [(int(first), int(last)) for first, last in edges.reshape(-1, 2)]


def unbroken(time_s: np.ndarray) -> list[np.ndarray]:
    """Rows cut where there are gaps in time."""
    return np.split(np.arange(len(time_s)), _breaks(time_s))


def circuit_from_log(name: str, log: Log) -> Circuit:
    """Circuit of the fastest whole lap, by the lap column; the whole log when there is none."""
    laps = log.channels.get("lap")
    speed, lateral, way = log.need("speed_m_s"), lateral_m_s2(log), distance_m(log)
    pieces = [np.arange(len(speed))]
    if laps is not None:
        pieces = [np.flatnonzero(laps == number) for number in np.unique(laps[np.isfinite(laps)])]
        longest = max(float(np.ptp(way[piece])) for piece in pieces)
        pieces = [piece for piece in pieces if np.ptp(way[piece]) > 0.95 * longest]
    fastest = min(pieces, key=lambda piece: np.ptp(log.time_s[piece]))
    return circuit_from_lap(name, way[fastest], speed[fastest], lateral[fastest])
