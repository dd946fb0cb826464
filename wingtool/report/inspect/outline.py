"""A section's outline in millimetres, moved in for a skin or out for a hot wire."""

from dataclasses import dataclass

import numpy as np

from wingtool.errors import RangeError
from wingtool.geometry import Section

SPACING = 1500  # points round the drawn outline: 0.3 mm apart on a 250 mm chord
QUARTER = 9  # edges of a quarter circle


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

    Corners that open are rounded; what lies nearer to the original than the offset is cut off, and the ends
    meet in their crossing. A tail that the offset parts from the rest is left out.

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
    from shapely import Polygon, segmentize
    from shapely.geometry.polygon import orient

    moved = Polygon(loop).buffer(offset, quad_segs=QUARTER)
    if moved.is_empty:
        raise RangeError(
            f"a skin of {-offset:g} mm leaves nothing of the core; use a thinner skin or larger chord"
        )
    core = max(getattr(moved, "geoms", (moved,)), key=lambda part: part.area)
    return np.array(segmentize(orient(core).exterior, core.length / SPACING).coords)
