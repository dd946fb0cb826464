"""Repairs at nose and tail, and of repeated points. Loops have columns x, y, line of the file."""

import numpy as np

from wingtool.errors import CoordinateFileError
from wingtool.geometry.curve import CORNER_DEG
from wingtool.geometry.frame import AS_IT_STANDS, OPEN_NOSE

FEWEST_POINTS = 7
SAME_POINT = 1e-7  # of the chord
BASE = 0.006  # of the chord: the base of a blunt tail is within this of the end
SHORT_SIDE = 0.1  # of the chord: more than this is a missing piece, not a side that stops short


def distinct(loop: np.ndarray, chord: float, repairs: list[str]) -> np.ndarray:
    """Without points that repeat the one before."""
    step = np.linalg.norm(np.diff(loop[:, :2], axis=0), axis=1)
    keep = np.r_[True, step > SAME_POINT * chord]
    if not keep.all():
        count = int((~keep).sum())
        repairs.append(f"{count} repeated point{'s' if count > 1 else ''} left out")
    return loop[keep]


def mended_nose(loop: np.ndarray, repairs: list[str]) -> np.ndarray:
    """Put in the nose at x = 0 when both sides begin behind it (unit chord, tail at 1).

    Its ordinate y0 is that from which both sides rise as a nose does: y0 + a sqrt(x) + b x above and
    y0 - a sqrt(x) + c x below, through the two foremost points of each.
    """
    x, y = loop[:, 0], loop[:, 1]
    first = int(np.argmin(x))
    if not 0.001 < x[first] <= OPEN_NOSE or not 2 <= first <= len(x) - 3 or abs(x.max() - 1.0) > AS_IT_STANDS:
        return loop
    step = np.linalg.norm(np.diff(loop[first - 1 : first + 2, :2], axis=0), axis=1)
    step[int(x[first - 1] > x[first + 1])] *= 1.5  # of the two beside the foremost point the nearer, unless
    before = first - 1 if step[0] > step[1] else first  # the other is far off: that one leads round the nose
    near = np.arange(before - 1, before + 3)
    root, one = np.sqrt(x[near]), np.ones(4)
    above = np.array([1.0, 1.0, 0.0, 0.0])
    terms = np.stack([one, root * (2.0 * above - 1.0), x[near] * above, x[near] * (1.0 - above)], axis=1)
    if np.linalg.matrix_rank(terms) < 4:
        return loop
    nose_y = np.linalg.solve(terms, y[near])[0]
    between = min(y[near[1:3]]) < nose_y < max(y[near[1:3]])
    if not between or abs(nose_y) > 0.02 or abs(y[near[1]] - y[near[2]]) < 0.7 * x[near[1:3]].max():
        return loop
    repairs.append(f"nose point missing, put in at x 0, y {nose_y:.4f}")
    return np.insert(loop, before + 1, [0.0, nose_y, 0.0], axis=0)


def off_the_base(loop: np.ndarray) -> np.ndarray:
    """Leave out points on the base of a blunt tail: behind an edge, close to the end."""
    for _ in range(6):
        step = np.diff(loop[[0, 1, 2, -3, -2, -1], :2], axis=0)[[0, 1, 3, 4]]
        length = np.linalg.norm(step, axis=1)
        cosine = (step[[0, 2]] * step[[1, 3]]).sum(axis=1) / (length[[0, 2]] * length[[1, 3]])
        edge = (cosine < np.cos(np.radians(CORNER_DEG))) & (length[[0, 3]] < BASE)
        if not edge.any() or len(loop) <= FEWEST_POINTS:
            break
        slanted = edge & (np.abs(step[[0, 3], 0]) > 0.2 * np.abs(step[[0, 3], 1]))
        both = slanted.any() and np.linalg.norm(loop[0, :2] - loop[-1, :2]) <= SAME_POINT
        loop = loop[int(edge[0] or both) : len(loop) - int(edge[1] or both)]
    return loop


def mended_tail(loop: np.ndarray, source: str, repairs: list[str]) -> np.ndarray:
    """A blunt tail without its base; a side that stops a little short joined to the tail of the other.

    Raises
    ------
    CoordinateFileError
        One side stops far short of the other.
    """
    count = len(loop)
    loop = off_the_base(loop)
    if len(loop) < count:
        repairs.append("points on the base of the blunt tail left out")
    short = loop[0, 0] - loop[-1, 0]
    if abs(short) > SHORT_SIDE:
        line = loop[-1 if short > 0 else 0, 2]
        raise CoordinateFileError(
            f"{source}, line {line:.0f}: this side stops {abs(short):.2f} chord short of the tail; "
            "add the missing points"
        )
    if abs(short) > 0.005:
        side = "second" if short > 0 else "first"
        repairs.append(f"{side} side stops {abs(short):.3f} chord short of the tail, joined to it")
        loop = np.concatenate([loop, loop[:1]] if short > 0 else [loop[-1:], loop])
    return loop
