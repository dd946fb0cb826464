"""What no outline may do: fold back, cross itself, have no inside, be as thick as it is long."""

import numpy as np

from wingtool.geometry.curve import Curve, arc_length
from wingtool.geometry.polyline import first_crossing, signed_area

THICKEST = 0.6  # area over chord squared; a circle has 0.785
OPEN_TAIL = 0.15
BETWEEN = 160  # places at which the curve between the points is looked at
FOLD_DEG = 120.0  # turn at one point behind the nose
DENT_DEG = -75.0  # inward turn at one point anywhere
# Doubts, not refusals: each is met by less than two in a hundred sections of the open collection.
GAP, GAP_RATIO = 0.02, 3.0  # a step of so much chord, so many times its neighbours, has lost points
LONGEST_STEP = 0.165  # of the chord, whatever the neighbours; the collection's longest is 0.162
THICK = 0.32
OPENS = 0.002  # of the chord: so much more than ahead of it is a tail that opens
FLAT = 35.0  # one side's height over the other's
WIDE_TAIL = 0.02  # of the chord
NOSE_X, UNLIKE = 0.01, 4.0  # how far one side has risen from the nose there over how far the other has


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


def doubts(loop: np.ndarray) -> tuple[str, ...]:
    """What in a loop, shape (n, 3), may be a mistake although it can be a section, one sentence each."""
    xy, lines = loop[:, :2], loop[:, 2].astype(int)
    found = []
    step = np.linalg.norm(np.diff(xy, axis=0), axis=1)
    beside = np.maximum(np.r_[step[1], step[:-1]], np.r_[step[1:], step[-2]])
    for k in np.flatnonzero((step > LONGEST_STEP) | (step > GAP) & (step > GAP_RATIO * beside)):
        where = f"between lines {lines[k]} and {lines[k + 1]}"
        found.append(
            f"{where} no point for {step[k]:.2f} chord, bridged by a smooth curve: are points missing?"
        )
    nose = int(np.argmin(xy[:, 0]))
    x = np.linspace(0.02, 0.98, 97)
    upper, lower = (np.interp(x, *side.T) for side in (xy[nose::-1], xy[nose:]))
    thick = upper - lower
    if thick.max() > THICK:
        found.append(f"{thick.max():.0%} thick: are both sides, and x and y, in the same unit?")
    heights = sorted((np.abs(upper).max(), np.abs(lower).max()))
    if heights[1] > FLAT * heights[0] > 0.0:
        found.append("one side is all but flat next to the other: are both in the same unit?")
    rise = sorted(abs(_beside_nose(side) - xy[nose, 1]) for side in (xy[nose::-1], xy[nose:]))
    if rise[1] > UNLIKE * rise[0]:
        found.append("the sides leave the nose unlike: do both start at it, in the same unit?")
    gap = np.linalg.norm(xy[0] - xy[-1])
    if gap > thick[-8:].min() + OPENS:
        found.append("the sides draw apart towards the tail: is the last point of each side right?")
    elif gap > WIDE_TAIL:
        found.append(f"the tail is {gap:.1%} of the chord thick: is the last point of each side right?")
    return tuple(found)


def _beside_nose(side: np.ndarray) -> float:
    """Ordinate of a side at `NOSE_X`, over the root of x, in which a nose is straight."""
    root = np.sqrt(np.maximum(side[:, 0] - side[0, 0], 0.0))
    return float(np.interp(np.sqrt(NOSE_X), root, side[:, 1]))


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
