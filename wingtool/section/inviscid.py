"""Section data from potential flow alone: lift and moment of attached flow, no drag, no stall.

Real sections lift less, by the boundary layer's displacement, and stall. Where panels and boundary layer are
solved together that is the better answer; this one is instant and never fails, and is what a table falls back
to for several elements.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from wingtool.errors import RangeError
from wingtool.geometry import Section, repanel
from wingtool.panels import InviscidFlow, solve
from wingtool.section.polar import LOW_CONFIDENCE, SectionPolar

PANELS = 200
NO_STALL = "inviscid: no boundary layer, so drag is 0 and there is no stall; real lift is lower"
BAND_ORIGIN = "inviscid: attached lift is up to 20 % too high; common practice, no source"


def inviscid_polar(
    section: Section,
    reynolds: ArrayLike,
    alpha_deg: ArrayLike,
    surface: str = "smooth",
    trip_x: float | None = None,
    tab_chord: float = 0.0,
    height_chord: float = np.inf,
) -> SectionPolar:
    """Polar of a section in potential flow; every status is ``low confidence`` and a note says why.

    Parameters
    ----------
    reynolds : float or array, shape (k,)
        Labels the rows; potential flow does not depend on it.
    alpha_deg : float or array, shape (m,)
        Angles of attack [deg].
    surface, trip_x, tab_chord
        Taken so that all methods are called alike; potential flow does not know them, `with_tab` adds a tab.
    height_chord : float
        Lowest point of the turned-over section above the ground, over the chord; inf in free air.

    Raises
    ------
    RangeError
        A tab, or a height that is not positive.

    Examples
    --------
    >>> from wingtool.geometry import four_digit
    >>> polar = inviscid_polar(four_digit("0012"), 1e6, [0.0, 5.0])
    >>> round(float(polar.cl[0, 1]), 2), float(polar.cd[0, 1])
    (0.6, 0.0)
    """
    if tab_chord:
        raise RangeError("inviscid: add the tab with section.with_tab")
    flow, columns = inviscid_rows([repanel(section, PANELS).xy], reynolds, alpha_deg, height_chord)
    cl = columns["cl"]
    return SectionPolar(
        **columns,
        cd=np.zeros(cl.shape),
        status=np.full(cl.shape, LOW_CONFIDENCE, dtype=object),
        method="inviscid",
        section=section,
        surface=surface,
        trip_x=trip_x,
        height_chord=height_chord,
        cl_low=np.minimum(cl, 0.8 * cl),
        cl_high=np.maximum(cl, 0.8 * cl),
        band_origin=BAND_ORIGIN,
        notes=(NO_STALL,),
    )


def inviscid_rows(
    outlines: Sequence[np.ndarray], reynolds: ArrayLike, alpha_deg: ArrayLike, height_chord: float
) -> tuple[InviscidFlow, dict[str, Any]]:
    """Flow over angles (m,) and what a polar takes from it, the same at all Reynolds numbers (k,)."""
    rows = np.atleast_1d(np.asarray(reynolds, dtype=float))
    alpha = np.atleast_1d(np.asarray(alpha_deg, dtype=float))
    flow = solve(outlines, alpha, height_chord if np.isfinite(height_chord) else None)
    shape = (len(rows), len(alpha))
    parts = {"cl": flow.cl, "cm": flow.cm, "circulation": flow.circulation}
    same = {name: np.broadcast_to(part.sum(axis=1), shape).copy() for name, part in parts.items()}
    return flow, {"alpha_deg": alpha, "reynolds": rows, **same}
