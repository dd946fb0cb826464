"""A section's outline in millimetres, moved in for a skin or out for a hot wire."""

from dataclasses import dataclass

import numpy as np

from wingtool.errors import RangeError
from wingtool.geometry import Section, polyline

SPACING = 1500  # points round the drawn outline: 0.3 mm apart on a 250 mm chord
ARC_STEP_DEG = 10.0
BLOCKS = 16  # in which distances are computed, for the memory


@dataclass(frozen=True, eq=False)
class Outline:
    """A closed outline to cut, in millimetres, nose at x 0, chord line along y 0.

    Parameters
    ----------
    label : str
        What to print beside it: name, chord, skin taken off, width that the wire melts.
    xy_mm : ndarray, shape (n, 2)
        The line to cut; closed, the last point is not repeated.
    section_mm : ndarray, shape (k, 2)
        The section itself, before skin or wire.
    chord_mm : float
    """

    label: str
    xy_mm: np.ndarray
    section_mm: np.ndarray
    chord_mm: float


def cutting_outline(section: Section, chord_m: float, skin_mm: float = 0.0, wire_mm: float = 0.0) -> Outline:
    """The line to cut for a core that a skin will cover, or that a hot wire cuts.

    Parameters
    ----------
    section : Section
    chord_m : float
        Chord of the finished rib or wing [m].
    skin_mm : float
        Thickness of the skin that is laid on later [mm]: the core is smaller by so much all round.
    wire_mm : float
        Width of foam that the hot wire melts [mm]: its path runs outside the core by half of it.

    Raises
    ------
    RangeError
        A chord, skin or wire that cannot be, or a skin that leaves no core.

    Examples
    --------
    >>> from wingtool.geometry import four_digit
    >>> outline = cutting_outline(four_digit("0012"), 0.25, skin_mm=1.0)
    >>> round(float(np.ptp(outline.xy_mm[:, 1])), 1)
    28.0
    """
    if not 0.005 <= chord_m <= 5.0:
        raise RangeError(f"chord {chord_m:.6g} m is outside 0.005 to 5 m; check its unit")
    for name, value, most in (("skin", skin_mm, 20.0), ("wire", wire_mm, 10.0)):
        if not 0.0 <= value <= most:
            raise RangeError(f"{name} {value:.6g} mm is outside 0 to {most:g} mm; check its unit")
    drawn = 1000.0 * chord_m * section.xy
    offset = 0.5 * wire_mm - skin_mm
    line = drawn if offset == 0.0 else offset_loop(drawn, offset)
    label = f"{section.name}, chord {1000.0 * chord_m:g} mm"
    label += f", skin {skin_mm:g} mm taken off" if skin_mm else ""
    label += f", wire path for {wire_mm:g} mm of melt" if wire_mm else ""
    return Outline(label, _open(line), _open(drawn), 1000.0 * chord_m)


def _open(loop: np.ndarray) -> np.ndarray:
    return loop[:-1] if np.array_equal(loop[0], loop[-1]) else loop


def offset_loop(loop: np.ndarray, offset: float) -> np.ndarray:
    """A closed counter-clockwise loop moved along its outward normal, without the loops that fold over.

    Each edge is moved; corners that open are rounded; what lies nearer to the original than the offset is cut
    off, and the ends meet in their crossing.

    Parameters
    ----------
    loop : ndarray, shape (n, 2)
    offset : float
        Distance, outwards positive, in the unit of the loop.

    Raises
    ------
    RangeError
        Nothing is left of the loop.
    """
    fine = _evenly(_open(loop), SPACING)
    moved = _moved(fine, offset)
    edges = polyline.closed(fine)
    away = np.vstack([polyline.feet(edges, some)[2] for some in np.array_split(moved, BLOCKS)])
    near = np.hypot(*away.T)
    kept = moved[near > abs(offset) * (1.0 - 1e-3) - 1e-9]
    if len(kept) < 20:
        raise RangeError(
            f"a skin of {-offset:g} mm leaves nothing of the core; use a thinner skin or larger chord"
        )
    return kept


def _evenly(loop: np.ndarray, most: int) -> np.ndarray:
    """The loop with its own corners kept and long edges divided."""
    closed = polyline.closed(loop)
    lengths = np.hypot(*np.diff(closed, axis=0).T)
    pieces = np.maximum(1, np.ceil(lengths / (lengths.sum() / most))).astype(int)
    start = np.repeat(closed[:-1], pieces, axis=0)
    step = np.repeat(np.diff(closed, axis=0) / pieces[:, None], pieces, axis=0)
    within = np.arange(pieces.sum()) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    return start + within[:, None] * step


def _moved(loop: np.ndarray, offset: float) -> np.ndarray:
    """Both ends of each edge moved along its normal, with an arc where a corner opens."""
    edge = np.roll(loop, -1, axis=0) - loop
    turn = np.angle((edge[:, 0] + 1j * edge[:, 1]) * -1j)  # direction of the outward normal
    before = np.roll(turn, 1)
    swing = (turn - before + np.pi) % (2 * np.pi) - np.pi
    opens = swing * np.sign(offset) > 0
    count = np.where(opens, 2 + np.floor(np.degrees(np.abs(swing)) / ARC_STEP_DEG), 2).astype(int)
    corner = np.repeat(np.arange(len(loop)), count)
    within = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    angle = before[corner] + swing[corner] * within / (count[corner] - 1)
    return loop[corner] + offset * np.column_stack([np.cos(angle), np.sin(angle)])
