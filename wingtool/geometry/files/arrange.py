"""Points as a file holds them to one loop from the tail over the upper side and back.

Loops here have three columns: x, y, and the line of the file that the point stands on (0 for one put in).
"""

import numpy as np

from wingtool.errors import CoordinateFileError
from wingtool.geometry.fairing import printed_rounding
from wingtool.geometry.files.mend import FEWEST_POINTS, SAME_POINT, distinct, mended_nose, mended_tail
from wingtool.geometry.files.rows import Rows
from wingtool.geometry.frame import to_unit_chord
from wingtool.geometry.polyline import signed_area

END = 0.03  # of the chord: how blunt an end is, is judged over this
BLUNTER = 2.0  # no tail is blunter than its nose by this; the open collection's bluntest reaches 1.5
JUMP = 0.5  # of the chord: a longer step leads from one side to the next


def _heading(loop: np.ndarray, written: str, source: str) -> str:
    """What a first pair of whole numbers is, if it is no point: ``counts``, ``name``, or an empty text."""
    first, rest = loop[0, :2], loop[1:, :2]
    if len(rest) < FEWEST_POINTS or np.any(first != np.round(first)):
        return ""
    low, high = rest.min(axis=0), rest.max(axis=0)
    size = (high - low).max()
    far = bool(np.any(first < low - 0.2 * size) or np.any(first > high + 0.2 * size))
    if first.min() >= 3 and first.sum() == len(rest):
        return "counts"
    if first.min() >= 3 and far and abs(first.sum() - len(rest)) <= max(4, 0.1 * len(rest)):
        raise CoordinateFileError(
            f"{source}, line {loop[0, 2]:.0f}: '{written}' are the points of each side, "
            f"but {len(rest)} follow; look for a missing line or correct the counts"
        )
    return "name" if far else ""


def _from_nose(loop: np.ndarray, ahead: np.ndarray, repairs: list[str]) -> np.ndarray:
    """Loop that starts and ends at the nose, made to start at the tail."""
    tail = int(np.argmax(ahead))
    step = np.abs(np.diff(loop[[tail - 1, tail, (tail + 1) % len(loop)], :2], axis=0))
    base = step[:, 1] > 2.0 * step[:, 0]
    first, last = (tail, tail - 1) if base[0] else (tail + int(base[1]), tail)
    repairs.append("loop from the nose made to start at the tail")
    nose_twice = np.linalg.norm(loop[0, :2] - loop[-1, :2]) <= SAME_POINT * np.ptp(loop[:, 0])
    return np.concatenate([loop[first:], loop[int(nose_twice) : last + 1]])


def _one_loop(loop: np.ndarray, source: str, repairs: list[str]) -> np.ndarray:
    """Loop from the tail, of either direction, from whichever arrangement the file has."""
    ahead = (loop[:, 0] - loop[:, 0].min()) / np.ptp(loop[:, 0])
    jumps = np.flatnonzero(np.abs(np.diff(ahead)) > JUMP) + 1
    if len(jumps) > 1:
        raise CoordinateFileError(
            f"{source}, line {loop[jumps[1], 2]:.0f}: the points jump to and fro; "
            "list them in order along the outline, one section a file"
        )
    if len(jumps) == 0:
        if ahead[0] < 0.5 and ahead[-1] < 0.5:
            return _from_nose(loop, ahead, repairs)
        if min(ahead[0], ahead[-1]) < 0.5:
            raise CoordinateFileError(f"{source}: only one side of the section is given; add the other side")
        return loop
    k = int(jumps[0])
    first = loop[:k] if ahead[0] > ahead[k - 1] else loop[:k][::-1]
    second = loop[k:] if ahead[-1] > ahead[k] else loop[k:][::-1]
    nose_twice = np.linalg.norm(first[-1, :2] - second[0, :2]) <= SAME_POINT * np.ptp(loop[:, 0])
    return np.concatenate([first, second[int(nose_twice) :]])


def _nose_left(loop: np.ndarray, repairs: list[str]) -> np.ndarray:
    """Mirrored when the blunter end lies at the largest x: drawn with the nose to the right."""
    x, y = loop[:, 0], loop[:, 1]
    low, high = x.min(), x.max()
    near = END * (high - low)
    left, right = np.ptp(y[x <= low + near]), np.ptp(y[x >= high - near])
    if right <= BLUNTER * left or right <= 0.01 * (high - low):
        return loop
    repairs.append("drawn with the nose to the right: mirrored")
    return np.column_stack([low + high - x, loop[:, 1:]])


def _refuse_several(rows: Rows, source: str) -> None:
    """An error when two or more of the blocks between blank lines or text are closed outlines."""
    ends = (*rows.breaks, len(rows.xy))
    for first, last in zip(ends[:-1], ends[1:], strict=True):
        block, before = rows.xy[first:last], rows.xy[:first]
        if min(len(block), len(before)) >= FEWEST_POINTS and _is_closed(block) and _is_closed(before):
            raise CoordinateFileError(
                f"{source}, line {rows.lines[first]}: a second outline begins here; give one section a file"
            )


def _is_closed(xy: np.ndarray) -> bool:
    return bool(np.linalg.norm(xy[0] - xy[-1]) < 0.1 * np.ptp(xy[:, 0]))


def _points(rows: Rows, source: str, repairs: list[str]) -> tuple[np.ndarray, str]:
    """The file's points, and its name if that stood among the numbers."""
    loop = np.column_stack([rows.xy, rows.lines])
    kind = _heading(loop, rows.first, source)
    if kind == "name":
        repairs.append(f"line {rows.lines[0]}: '{rows.first}' taken for a name, not for a point")
        inner = _heading(loop[1:], "", source)
        return loop[2 if inner == "counts" else 1 :], rows.first
    return (loop[1:], "") if kind else (loop, "")


def arrange(rows: Rows, source: str) -> tuple[np.ndarray, list[str], str, float]:
    """Loop with lines, shape (n, 3), repairs, the name if it stood among the numbers, and the rounding.

    Raises
    ------
    CoordinateFileError
        Too few points, no extent, one side only, points out of order.
    """
    if len(rows.xy) < 2:
        count = "one point" if len(rows.xy) else "no points"
        raise CoordinateFileError(f"{source}: {count} found; give two columns, x and y, one point a line")
    _refuse_several(rows, source)
    repairs = list(rows.repairs)
    loop, title = _points(rows, source, repairs)
    width, height = np.ptp(loop[:, :2], axis=0)
    if width <= 0.0 or height >= width:
        raise CoordinateFileError(
            f"{source}: the outline is higher ({height:.4g}) than long ({width:.4g}); "
            "put x in the first column and look for a stray point"
        )
    loop = _nose_left(loop, repairs)
    rounding = printed_rounding(loop[:, :2]) / float(width)
    loop = distinct(_one_loop(loop, source, repairs), width, repairs)
    if len(loop) < FEWEST_POINTS:
        raise CoordinateFileError(
            f"{source}: {len(loop)} different points; an outline needs {FEWEST_POINTS} or more"
        )
    loop[:, :2] = to_unit_chord(loop[:, :2], repairs)
    loop = mended_tail(mended_nose(loop, repairs), source, repairs)
    if signed_area(loop) < 0.0:
        loop = loop[::-1]
        repairs.append("order of the points reversed: upper side first")
    return loop, repairs, title, rounding
