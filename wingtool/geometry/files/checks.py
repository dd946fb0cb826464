"""What no outline may do: fold back, cross itself, have no inside, be as thick as it is long."""

import numpy as np

from wingtool.geometry.curve import Curve, arc_length
from wingtool.geometry.polyline import first_crossing, sides, signed_area
from wingtool.geometry.waviness import offsets

THICKEST = 0.6  # area over chord squared; a circle has 0.785
OPEN_TAIL = 0.15
BETWEEN = 160  # places at which the curve between the points is looked at
FOLD_DEG = 120.0  # turn at one point behind the nose
DENT_DEG = -75.0  # inward turn at one point anywhere
# Doubts, not refusals: each is met by less than two in a hundred sections of the open collection.
GAP, GAP_RATIO = 0.02, 3.0  # a step of so much chord, so many times its neighbours, has lost points
LONGEST_STEP = 0.165  # of the chord, whatever the neighbours; the collection's longest is 0.162
FROM_NOSE = 0.03  # of the chord, to a nose that was put in: nearer, few are 0.3 % off in camber
THIN, THICK, CAMBERED = 0.025, 0.327, 1.5  # of the chord; camber counts so many times towards the thickest
OPENS = 0.002  # of the chord: so much more than ahead of it is a tail that opens
ALIKE, SCALED = 0.01, 1.35  # sides proportional to so much of their height, in at least this ratio
FOREMOST = 8  # stations behind the nose, 0.1 of the chord: no symmetric section is thickest ahead of that
WIDE_TAIL = 0.02  # of the chord
NOSE_X, UNLIKE = 0.01, 4.0  # how far one side has risen from the nose there over how far the other has
STEP_X, STEP_DEG = 0.02, 9.1  # behind it, turns one way and back at two points; the collection reaches 9.03
OFF_X, OFF = (0.15, 0.9), 0.0064  # of the chord, off the curve through neighbours; the collection: 0.0063
OFF_OF_THICKNESS = 0.125  # the same over the thickness; the collection: 0.1234


def _turns_deg(xy: np.ndarray) -> np.ndarray:
    """Turn at each point between the first and the last [deg], positive to the left, shape (n - 2,)."""
    step = np.diff(xy, axis=0)
    heading = np.degrees(np.arctan2(step[:, 1], step[:, 0]))
    return (np.diff(heading) + 180.0) % 360.0 - 180.0


def _stray_point(xy: np.ndarray) -> int | None:
    """Index of a point at which the outline folds back or is dented, or None."""
    turn = _turns_deg(xy)
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


def _out_of_line(xy: np.ndarray, curve: Curve, thickness: float) -> np.ndarray:
    """Indices of points at which the outline steps up or down, or that stand far off their neighbours."""
    turn = _turns_deg(xy)
    back = (turn[:-1] * turn[1:] < 0.0) & (np.minimum(*np.abs([turn[:-1], turn[1:]])) > STEP_DEG)
    steps = np.flatnonzero(back & (np.minimum(xy[1:-2, 0], xy[2:-1, 0]) > STEP_X)) + 1
    index, height, _ = offsets(xy, curve.knots)
    middle = (xy[index, 0] > OFF_X[0]) & (xy[index, 0] < OFF_X[1])
    return np.union1d(steps, index[middle & (np.abs(height) > min(OFF, OFF_OF_THICKNESS * thickness))])


def doubts(loop: np.ndarray, curve: Curve) -> tuple[str, ...]:
    """What in a loop, shape (n, 3), laid on its chord line, may be a mistake although it can be a section."""
    xy, lines = loop[:, :2], loop[:, 2].astype(int)
    found = []
    step = np.linalg.norm(np.diff(xy, axis=0), axis=1)
    beside = np.maximum(np.r_[step[1], step[:-1]], np.r_[step[1:], step[-2]])
    for k in np.flatnonzero((step > LONGEST_STEP) | (step > GAP) & (step > GAP_RATIO * beside)):
        where = f"between lines {lines[k]} and {lines[k + 1]}"
        found.append(
            f"{where} no point for {step[k]:.2f} chord, bridged by a smooth curve: perhaps points missing"
        )
    if (from_nose := step[(lines[:-1] * lines[1:]) == 0].max(initial=0.0)) > FROM_NOSE:
        found.append(f"no point within {from_nose:.2f} chord of the nose, which is a guess: add them")
    upper, lower = sides(xy, np.linspace(0.02, 0.98, 97))
    thick = upper - lower
    if len(wrong := _out_of_line(xy, curve, thick.max())):
        found.append(f"line {lines[wrong[0]]}: the outline steps or bulges here: is a digit or sign wrong?")
    camber = 0.5 * np.abs(upper + lower).max()
    if not THIN < thick.max() < THICK - CAMBERED * camber:
        size = f"{thick.max():.1%} thick and {camber:.1%} cambered"
        found.append(f"{size}: are both sides, and x and y, in the same unit?")
    heights = sorted((np.abs(upper).max(), np.abs(lower).max()))
    ratio = -(upper @ lower) / max(lower @ lower, 1e-12)
    alike = np.abs(upper + ratio * lower).max() < ALIKE * heights[1]
    if alike and not 1 / SCALED < ratio < SCALED:
        found.append(f"one side is {ratio:.3g} times the other all along: are both in the same unit?")
    elif alike and thick.argmax() < FOREMOST:
        found.append("both sides are alike and highest at the nose: is one flat side there twice?")
    above, below = sides(xy - xy[xy[:, 0].argmin()], np.array([NOSE_X]))
    rise = sorted([above[0], -below[0]])  # one below zero: both sides go the same way
    if rise[1] > UNLIKE * rise[0]:
        found.append(
            "the sides leave the nose unlike: do both start at it, in the same unit, with their signs?"
        )
    gap = np.linalg.norm(xy[0] - xy[-1])
    if gap > thick[-8:].min() + OPENS:
        found.append("the sides draw apart towards the tail: is the last point of each side right?")
    elif gap > WIDE_TAIL:
        found.append(f"the tail is {gap:.1%} of the chord thick: is the last point of each side right?")
    return tuple(found)


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
