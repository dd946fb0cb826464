"""Where an outline lies: scale, and the chord line on the x axis."""

import numpy as np

from wingtool.geometry.curve import Curve, foremost

AS_IT_STANDS = 0.003  # of the chord: a file that runs to 1 this closely is not scaled
DROOP = 0.01  # of the chord: as far ahead of its origin a cambered formula section may reach
OPEN_NOSE = 0.06  # of the chord: up to here the nose points may be missing
# Of the chord: so far behind x 0 a first point may be that of a lost nose; over its place, how near to 0 the
# sides then meet and how near to each other they begin. 7 of 30,400 whole noses of the collection look so.
NOSE_LOST, MEETS_AT, ALONGSIDE = 0.004, 0.4, 0.5
OFF_THE_LINE = 0.002  # of the chord: 0.1 deg, closer than a wing can be set


def to_unit_chord(xy: np.ndarray, repairs: list[str]) -> np.ndarray:
    """To unit chord by the extent in x; a file that runs from 0 to 1 is left as it stands.

    A nose that lacks its first points (up to 6 per cent of the chord) does not change the scale: taken for
    granted in a file that ends at 1 or 100, in any other unit where both sides point to a nose at 0.
    """
    low, high = xy[:, 0].min(), xy[:, 0].max()
    for unit, name in ((1.0, ""), (100.0, "per cent of the chord made fractions")):
        from_nose = -DROOP <= low / unit <= OPEN_NOSE
        if from_nose and abs(high / unit - 1.0) <= AS_IT_STANDS:
            repairs += [name] if name else []
            return xy / unit
    low = 0.0 if low > 0.0 and _nose_lost(xy / high) else low
    repairs.append(f"scaled to unit chord from x {low:.6g} to {high:.6g}")
    return (xy - [low, 0.0]) / (high - low)


def _nose_lost(xy: np.ndarray) -> bool:
    """Whether both sides begin alongside each other behind x 0 and would meet there (tail at 1).

    Near a nose the square of the distance between the sides grows as x does: a line through two stations.
    """
    x, nose = xy[:, 0], int(xy[:, 0].argmin())
    if not NOSE_LOST <= x[nose] <= OPEN_NOSE or not 3 <= nose <= len(x) - 4:
        return False
    last = nose - 1 if x[nose - 1] < x[nose + 1] else nose  # of the first side; the next begins the other
    upper, lower = xy[last::-1][:6], xy[last + 1 :][:6]
    if np.any(np.diff(upper[:3, 0]) <= 0.0) or np.any(np.diff(lower[:3, 0]) <= 0.0):
        return False
    stations = np.maximum(upper[:2, 0], lower[:2, 0])
    near, far = (np.interp(stations, *upper.T) - np.interp(stations, *lower.T)) ** 2
    meets = stations[0] - near * (stations[1] - stations[0]) / max(far - near, 1e-12)
    return bool(abs(meets) < MEETS_AT * x[nose] and abs(upper[0, 0] - lower[0, 0]) <= ALONGSIDE * x[nose])


def chord_angle_deg(nose: np.ndarray, tail: np.ndarray) -> float:
    """Angle of the line from tail to nose against the x axis [deg], positive with the nose up."""
    return float(np.degrees(np.arctan2(nose[1] - tail[1], tail[0] - nose[0])))


def on_chord_line(xy: np.ndarray, curve: Curve, repairs: list[str]) -> np.ndarray:
    """Nose at (0, 0) and middle of the tail at (1, 0), by turning, shifting and scaling; shape (n, 2).

    An outline that already runs through (0, 0) to (1, 0) is left as it stands: the formula families' nose is
    there, though their foremost point may lie a little beside it.
    """
    tail = 0.5 * (xy[0] + xy[-1])
    fine = curve.at(np.linspace(curve.knots[0], curve.knots[-1], 2000))
    off = max(np.linalg.norm(fine, axis=1).min(), np.linalg.norm(tail - [1.0, 0.0]))
    if off <= OFF_THE_LINE:
        return xy
    nose = foremost(curve)
    angle = chord_angle_deg(nose, tail)
    along = (tail - nose) / np.linalg.norm(tail - nose) ** 2
    turn = np.array([along, [-along[1], along[0]]])
    if abs(angle) >= 0.05:
        repairs.append(f"turned by {angle:+.2f} deg: chord line, from which angles count, laid on the x axis")
    else:
        repairs.append("shifted so that nose and tail lie on the x axis")
    return (xy - nose) @ turn.T
