"""Section data from potential flow alone: lift and moment of attached flow, no drag, no stall.

Real sections lift less, by the boundary layer's displacement, and stall. Where panels and boundary layer are
solved together that is the better answer; this one is instant and never fails, and is what a table falls back
to for several elements.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np

from wingtool.geometry import repanel
from wingtool.panels import InviscidFlow, solve
from wingtool.section.polar import LOW_CONFIDENCE, Question, SectionPolar

PANELS = 200
NO_STALL = "inviscid: no boundary layer, so drag is 0 and there is no stall; real lift is lower"
BAND_ORIGIN = "inviscid: attached lift is up to 20 % too high; common practice, no source"


def inviscid_polar(question: Question) -> SectionPolar:
    """Polar of a plain section in potential flow, the same at all Reynolds numbers, surfaces and trips.

    Every status is ``low confidence`` and a note says why.

    Raises
    ------
    RangeError
        A height that is not positive.

    Examples
    --------
    >>> from wingtool.geometry import four_digit
    >>> polar = inviscid_polar(Question(four_digit("0012"), 1e6, [0.0, 5.0]))
    >>> round(float(polar.cl[0, 1]), 2), float(polar.cd[0, 1])
    (0.6, 0.0)
    """
    _, columns = inviscid_columns([repanel(question.section, PANELS).xy], question)
    cl = columns["cl"]
    return SectionPolar(
        **vars(question),
        **columns,
        cd=np.zeros(cl.shape),
        status=np.full(cl.shape, LOW_CONFIDENCE, dtype=object),
        method="inviscid",
        cl_low=np.minimum(cl, 0.8 * cl),
        cl_high=np.maximum(cl, 0.8 * cl),
        band_origin=BAND_ORIGIN,
        notes=(NO_STALL,),
    )


def inviscid_columns(
    outlines: Sequence[np.ndarray], question: Question
) -> tuple[InviscidFlow, dict[str, Any]]:
    """Flow over the angles, and lift, moment and circulation of all outlines together, shape (k, m)."""
    height = question.height_chord if np.isfinite(question.height_chord) else None
    flow = solve(outlines, question.alpha_deg, height)
    shape = (len(question.reynolds), len(question.alpha_deg))
    parts = {"cl": flow.cl, "cm": flow.cm, "circulation": flow.circulation}
    return flow, {name: np.broadcast_to(part.sum(axis=1), shape).copy() for name, part in parts.items()}
