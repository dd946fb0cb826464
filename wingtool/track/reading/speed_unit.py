"""The unit of a logged speed held against the positions of the same log: found, or doubted."""

import numpy as np

from wingtool.errors import LogError
from wingtool.files import words_beside
from wingtool.track.log import Log, distance_m, local_xy_m
from wingtool.track.reading.columns import UNITS, Heading

WORDS = words_beside(__file__, "speed_unit")
SPOKEN = ("km/h", "mph", "m/s", "kn")
FASTER_M_S = 10.0  # slower than this the scatter of the positions is too large beside the way gone
FEWEST = 20  # stretches that must agree
NEAR_UNIT = 0.06  # wheel speed and position differ by up to some 5 %; two units of SPOKEN by 15 % or more
UNLIKE = 0.25  # nearer to one than this the ratio may be a wheel's size as well as a unit
ODD = 0.1  # of the ratio, either way, that calls for a line


def unit_by_position(raw: np.ndarray, derived: np.ndarray, source: str, notes: list[str]) -> float:
    """Factor to SI of a speed without a unit, from the speed that the positions tell.

    Raises
    ------
    LogError
        They match no unit.
    """
    fast = np.isfinite(raw) & np.isfinite(derived) & (derived > FASTER_M_S)
    if fast.sum() > FEWEST:
        ratio = float(np.median(derived[fast] / np.maximum(raw[fast], 1e-9)))
        for unit in SPOKEN:
            if abs(ratio / UNITS["speed"][unit] - 1) < 0.04:
                notes.append(f"speed is in {unit}: it agrees with the positions")
                return UNITS["speed"][unit]
    raise LogError(f"{source}: the speed has no unit and the positions do not settle it; write speed [km/h]")


def doubt_of_unit(log: Log, head: Heading) -> str:
    """Warning on a logged speed that the positions contradict; empty otherwise.

    Raises
    ------
    LogError
        The positions say that the speed is in another unit than its heading.
    """
    ratio = _over_positions(log)
    if ratio is None or abs(ratio - 1.0) < ODD:
        return ""
    for unit in SPOKEN:
        expected = head.factor / UNITS["speed"][unit]
        if abs(np.log(expected)) > UNLIKE and abs(ratio / expected - 1.0) < NEAR_UNIT:
            raise LogError(WORDS["other"].format(log.source, head.text, head.unit, ratio, unit))
    return f"{head.text}: {ratio:.2f} times the speed of the positions; find out which of them is wrong"


def _over_positions(log: Log) -> float | None:
    """Way by the logged speed over way between fixes about a second apart, the middle one; None if too few.

    Rows that repeat a fix are passed over: a slow receiver in a fast log stands still and then jumps.
    """
    xy = local_xy_m(log)
    if xy is None:
        return None
    known = np.flatnonzero(np.isfinite(xy[0]) & np.isfinite(xy[1]))
    east, north = xy[0][known], xy[1][known]
    new = known[np.r_[True, (np.diff(east) != 0.0) | (np.diff(north) != 0.0)]]
    if len(new) <= FEWEST:
        return None
    time, east, north, gone = log.time_s[new], xy[0][new], xy[1][new], distance_m(log)[new]
    apart = max(1, round(1.0 / float(np.median(np.diff(time)))))
    way = np.hypot(east[apart:] - east[:-apart], north[apart:] - north[:-apart])
    fast = way > FASTER_M_S * (time[apart:] - time[:-apart])
    if fast.sum() <= FEWEST:
        return None
    return float(np.median((gone[apart:] - gone[:-apart])[fast] / way[fast]))
