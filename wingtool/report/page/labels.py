"""Names beside the marks of a picture, each where it meets no line, no mark and no other name."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from wingtool.report.page.svg import word

Box = tuple[float, float, float, float]  # left, top, right, bottom in picture units
Line = tuple[np.ndarray, np.ndarray]

LETTER, ABOVE, BELOW = 7.6, 10.0, 3.0  # of the page's letters, in picture units
MARK = 4.0
BESIDE = {
    "right": ((7.0, 4.0, "start"), (0.0, -8.0, "middle"), (0.0, 17.0, "middle"), (-7.0, 4.0, "end")),
    "left": ((-7.0, 4.0, "end"), (0.0, -8.0, "middle"), (0.0, 17.0, "middle"), (7.0, 4.0, "start")),
}


def text_box(x: float, y: float, text: str, anchor: str) -> Box:
    """About the room that a text takes.

    Examples
    --------
    >>> text_box(10.0, 20.0, "8°", "start")
    (10.0, 10.0, 25.2, 23.0)
    """
    width = LETTER * len(text)
    left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * width
    return left, y - ABOVE, left + width, y + BELOW


def is_free(box: Box, lines: Sequence[Line], boxes: Sequence[Box]) -> bool:
    """Whether no line runs through a box and no other box covers part of it."""
    left, top, right, bottom = box
    if any(left < b[2] and b[0] < right and top < b[3] and b[1] < bottom for b in boxes):
        return False
    return not any(
        np.any((x > left - 1.0) & (x < right + 1.0) & (y > top - 1.0) & (y < bottom + 1.0))
        for x, y in map(_dense, lines)
    )


def names_beside(
    marks: Sequence[tuple[float, float, str, str]],
    lines: Sequence[Line],
    taken: Sequence[Box],
    room: Box,
) -> str:
    """Names of marks; one that finds no free place is left out, its mark stands without.

    Parameters
    ----------
    marks : sequence of (x, y, name, side)
        `side` is where the name is tried first: ``left`` or ``right``.
    lines : sequence of (x, y)
        Lines that no name may touch; nan breaks them.
    taken : sequence of Box
        Rooms of other texts.
    room : Box
        The picture.
    """
    boxes = [*taken, *((x - MARK, y - MARK, x + MARK, y + MARK) for x, y, _, _ in marks)]
    parts = []
    for x, y, name, side in marks:
        for across, down, anchor in BESIDE[side]:
            box = text_box(x + across, y + down, name, anchor)
            inside = box[0] >= room[0] and box[1] >= room[1] and box[2] <= room[2] and box[3] <= room[3]
            if inside and is_free(box, lines, boxes):
                boxes.append(box)
                parts.append(word(x + across, y + down, name, anchor))
                break
    return "".join(parts)


def _dense(line: Line) -> Line:
    """The line with points so near each other that none of its stretches jumps over a text."""
    x, y = (np.asarray(values, dtype=float) for values in line)
    if len(x) < 2:
        return x, y
    steps = np.nan_to_num(np.hypot(np.diff(x), np.diff(y)))
    count = max(int(np.ceil(steps.max() / 2.0)), 1)
    between = np.arange(count) / count
    ends = [(v[:-1, None] + between * np.diff(v)[:, None]).ravel() for v in (x, y)]
    return np.r_[ends[0], x[-1]], np.r_[ends[1], y[-1]]
