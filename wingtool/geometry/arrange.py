"""Points as a file holds them to one loop from the tail over the upper side and back."""

import numpy as np

from wingtool.errors import CoordinateFileError
from wingtool.geometry.rows import Rows

FEWEST_POINTS = 7
SAME_POINT = 1e-7  # of the chord
JUMP = 0.5  # of the chord: a longer step leads from one surface to the next


def _drop_heading(rows: Rows, place: str) -> tuple[np.ndarray, np.ndarray, list[str], str]:
    """Leave out a first pair that is no point: the number of points on each side, or a name of digits."""
    xy, lines = rows.xy, rows.lines
    first, rest = xy[0], xy[1:]
    if not np.all(first == np.round(first)) or len(rest) < FEWEST_POINTS:
        return xy, lines, [], ""
    written = f"{first[0]:g} {first[1]:g}"
    low, high = rest.min(axis=0), rest.max(axis=0)
    size = (high - low).max()
    far = bool(np.any(first < low - 0.2 * size) or np.any(first > high + 0.2 * size))
    if first.min() >= 3 and first.sum() == len(rest):
        return rest, lines[1:], [], ""
    if first.min() >= 3 and far and abs(first.sum() - len(rest)) <= max(4, 0.1 * len(rest)):
        raise CoordinateFileError(
            f"{place}, line {lines[0]}: '{written}' are the points of each side, but {len(rest)} follow; "
            "look for a missing line or correct the counts"
        )
    if far:
        note = f"line {lines[0]}: '{written}' taken for a name, not for a point"
        return rest, lines[1:], [note], written
    return xy, lines, [], ""


def _distinct(xy: np.ndarray, chord: float, repairs: list[str]) -> np.ndarray:
    step = np.linalg.norm(np.diff(xy, axis=0), axis=1)
    keep = np.r_[True, step > SAME_POINT * chord]
    if not keep.all():
        count = int((~keep).sum())
        repairs.append(f"{count} repeated point{'s' if count > 1 else ''} left out")
    return xy[keep]


def _from_nose(xy: np.ndarray, ahead: np.ndarray, repairs: list[str]) -> np.ndarray:
    """Loop that starts and ends at the nose, made to start at the tail."""
    tail = int(np.argmax(ahead))
    after = (tail + 1) % len(xy)
    step = np.abs(xy[after] - xy[tail])
    blunt = step[1] > 5.0 * step[0]
    repairs.append("loop from the nose made to start at the tail")
    head = xy[after:] if blunt else xy[tail:]
    nose_twice = np.linalg.norm(xy[0] - xy[-1]) <= 1e-6 * np.ptp(xy[:, 0])
    return np.concatenate([head, xy[int(nose_twice) : tail + 1]])


def _one_loop(xy: np.ndarray, lines: np.ndarray, place: str, repairs: list[str]) -> np.ndarray:
    """Loop from the tail, of either direction, from whichever arrangement the file has."""
    chord = np.ptp(xy[:, 0])
    ahead = (xy[:, 0] - xy[:, 0].min()) / chord
    jumps = np.flatnonzero(np.abs(np.diff(ahead)) > JUMP) + 1
    if len(jumps) > 1:
        raise CoordinateFileError(
            f"{place}, line {lines[jumps[1]]}: the points jump to and fro; "
            "list them in order along the outline"
        )
    if len(jumps) == 0:
        if ahead[0] < 0.5 and ahead[-1] < 0.5:
            return _from_nose(xy, ahead, repairs)
        if min(ahead[0], ahead[-1]) < 0.5:
            raise CoordinateFileError(f"{place}: only one side of the section is given; add the other side")
        return xy
    first, second = xy[: jumps[0]], xy[jumps[0] :]
    first = first if ahead[0] > ahead[jumps[0] - 1] else first[::-1]
    second = second if ahead[-1] > ahead[jumps[0]] else second[::-1]
    return np.concatenate([first, second])


def _missing_nose(xy: np.ndarray, repairs: list[str]) -> np.ndarray:
    """Put in the nose at x = 0 when both sides begin behind it (unit chord; the tail already at 1)."""
    i = int(np.argmin(xy[:, 0]))
    x = xy[:, 0]
    j = i + 1 if i == 0 or (i + 1 < len(xy) and x[i + 1] <= x[i - 1]) else i - 1
    a, b = sorted((i, j))
    gap, reach = abs(xy[a, 1] - xy[b, 1]), x[[a, b]].max()
    open_nose = 0.0005 < x.min() <= 0.06 and gap > 2.0 * abs(x[a] - x[b]) and gap > reach
    if not open_nose or abs(x.max() - 1.0) > 0.003:
        return xy
    # parabola through both points with its vertex on x = 0: distances from the axis go as the root of x
    share = np.sqrt(x[a]) / (np.sqrt(x[a]) + np.sqrt(x[b]))
    nose = np.array([0.0, xy[a, 1] + share * (xy[b, 1] - xy[a, 1])])
    repairs.append(f"nose point missing, put in at x 0, y {nose[1]:.4f}")
    return np.insert(xy, b, nose, axis=0)


def _tail(xy: np.ndarray, repairs: list[str]) -> np.ndarray:
    """Leave out points on the base of a blunt tail; join a side that stops short to the tail of the other."""
    start = xy
    for _ in range(3):
        for end, beside in ((0, 1), (-1, -2)):
            step = np.abs(xy[beside] - xy[end])
            closes = (
                step[1] > 0.0003 and step[0] < 0.1 * step[1] and xy[end, 0] > 0.99 and len(xy) > FEWEST_POINTS
            )
            if closes and abs(xy[beside, 1] - xy[-1 - end if end == 0 else 0, 1]) + 1e-9 > step[1]:
                xy = xy[1:] if end == 0 else xy[:-1]
    if len(xy) < len(start):
        repairs.append("points on the base of the blunt tail left out")
    short = xy[0, 0] - xy[-1, 0]
    if abs(short) > 0.005:
        longer = xy[0] if short > 0 else xy[-1]
        side = "second" if short > 0 else "first"
        repairs.append(f"{side} side stops {abs(short):.3f} chord short of the tail, joined to it")
        xy = np.concatenate([xy, longer[None]] if short > 0 else [longer[None], xy])
    return xy


def signed_area(xy: np.ndarray) -> float:
    """Area inside a loop (shoelace), positive when it runs counter-clockwise."""
    x, y = xy[:, 0], xy[:, 1]
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def _scale(xy: np.ndarray, repairs: list[str]) -> np.ndarray:
    """To unit chord by the extent in x; a file that runs from 0 to 1 is left as it stands."""
    low, high = xy[:, 0].min(), xy[:, 0].max()
    if abs(low) <= 0.003 and abs(high - 1.0) <= 0.003:
        return xy
    if abs(low) <= 0.3 and abs(high - 100.0) <= 0.3:
        repairs.append("per cent of the chord made fractions")
        return xy / 100.0
    if high - low < 1.05 and low > -0.003 and low < 0.06 and abs(high - 1.0) <= 0.003:
        return xy  # nose missing: looked at next
    if high - low < 105.0 and -0.3 < low < 6.0 and abs(high - 100.0) <= 0.3:
        repairs.append("per cent of the chord made fractions")
        return xy / 100.0
    repairs.append(f"scaled to unit chord from x {low:.6g} to {high:.6g}")
    return (xy - [low, 0.0]) / (high - low)


def arrange(rows: Rows, place: str) -> tuple[np.ndarray, list[str], str]:
    """Loop, repairs, and the name if it stood among the numbers.

    Raises
    ------
    CoordinateFileError
        Too few points, no extent, one side only, points out of order.
    """
    if len(rows.xy) < 2:
        count = "one point" if len(rows.xy) else "no points"
        raise CoordinateFileError(f"{place}: {count} found; give two columns, x and y, one point a line")
    xy, lines, repairs, title = _drop_heading(rows, place)
    repairs = [*rows.repairs, *repairs]
    width, height = np.ptp(xy, axis=0)
    if width <= 0.0 or height >= width:
        raise CoordinateFileError(
            f"{place}: the outline is higher ({height:.4g}) than long ({width:.4g}); "
            "put x in the first column"
        )
    loop = _one_loop(xy, lines, place, repairs)
    loop = _distinct(loop, width, repairs)
    if len(loop) < FEWEST_POINTS:
        raise CoordinateFileError(
            f"{place}: {len(loop)} different points; an outline needs {FEWEST_POINTS} or more"
        )
    loop = _scale(loop, repairs)
    loop = _tail(_missing_nose(loop, repairs), repairs)
    if signed_area(loop) < 0.0:
        loop = loop[::-1]
        repairs.append("order of the points reversed: upper side first")
    return loop, repairs, title
