"""What no outline may do: fold back, cross itself, have no inside, be as thick as it is long."""

import numpy as np

from wingtool.geometry.curve import Curve, arc_length
from wingtool.geometry.polyline import first_crossing, signed_area

THICKEST = 0.6  # area over chord squared; a circle has 0.785
OPEN_TAIL = 0.15
BETWEEN = 160  # places at which the curve between the points is looked at
FOLD_DEG = 120.0  # turn at one point behind the nose
DENT_DEG = -75.0  # inward turn at one point anywhere


def _stray_point(xy: np.ndarray) -> int | None:
    """Index of a point at which the outline folds back or is dented, or None."""
    step = np.diff(xy, axis=0)
    heading = np.degrees(np.arctan2(step[:, 1], step[:, 0]))
    turn = (np.diff(heading) + 180.0) % 360.0 - 180.0
    from_tail = np.linalg.norm(xy[1:-1] - 0.5 * (xy[0] + xy[-1]), axis=1)
    folds = (np.abs(turn) > FOLD_DEG) & (from_tail < 0.9 * from_tail.max())
    wrong = np.flatnonzero(folds | (turn < DENT_DEG))
    return int(wrong[np.argmax(np.abs(turn[wrong]))]) + 1 if len(wrong) else None


def complaint(loop: np.ndarray) -> str:
    """Why a loop, shape (n, 3) with the line of each point last, cannot be a section; or an empty text."""
    xy, lines = loop[:, :2], loop[:, 2].astype(int)
    area, gap = signed_area(xy), float(np.linalg.norm(xy[0] - xy[-1]))
    if area < 1e-4:
        return ": the outline has no inside; check that both sides are there and in order"
    if area > THICKEST:
        return ": the outline is nearly as thick as it is long; check the columns and their units"
    if gap > OPEN_TAIL:
        return f": the tail is open by {gap:.2g} chord; add the missing points"
    stray = _stray_point(xy)
    if stray is not None:
        return f", line {lines[stray]}: the outline folds back at this point; correct or delete it"
    crossing = first_crossing(xy)
    if crossing:
        i, j = crossing
        return f", lines {lines[i]} and {lines[j]}: the outline crosses itself; check the order of the points"
    return ""


def complaint_between(loop: np.ndarray, curve: Curve) -> str:
    """Why the smooth curve through a loop's points cannot be a section; or an empty text."""
    t, s = arc_length(curve)
    smooth = curve.at(np.interp(np.linspace(0.0, s[-1], BETWEEN), s, t))
    crossing = first_crossing(smooth)
    if not crossing:
        return ""
    nearest = int(np.argmin(np.linalg.norm(loop[:, :2] - smooth[crossing[0]], axis=1)))
    line = f"line {loop[nearest, 2]:.0f}"
    return f", {line}: a smooth outline through the points here crosses itself; correct or add points"
