"""Where an outline lies: scale, and the chord line on the x axis."""

import numpy as np

from wingtool.geometry.curve import Curve, foremost

AS_IT_STANDS = 0.003  # of the chord: a file that runs to 1 this closely is not scaled
DROOP = 0.01  # of the chord: as far ahead of its origin a cambered formula section may reach
OPEN_NOSE = 0.06  # of the chord: up to here the nose points may be missing
OFF_THE_LINE = 0.002  # of the chord: 0.1 deg, closer than a wing can be set


def to_unit_chord(xy: np.ndarray, repairs: list[str]) -> np.ndarray:
    """To unit chord by the extent in x; a file that runs from 0 to 1 is left as it stands.

    A nose that lacks its first points (up to 6 per cent of the chord) does not change the scale.
    """
    low, high = xy[:, 0].min(), xy[:, 0].max()
    for unit, name in ((1.0, ""), (100.0, "per cent of the chord made fractions")):
        from_nose = -DROOP <= low / unit <= OPEN_NOSE
        if from_nose and abs(high / unit - 1.0) <= AS_IT_STANDS:
            repairs += [name] if name else []
            return xy / unit
    repairs.append(f"scaled to unit chord from x {low:.6g} to {high:.6g}")
    return (xy - [low, 0.0]) / (high - low)


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
