"""Several elements in potential flow, with friction drag and a stall limit.

For flows that have no coupled solution (`wingtool.section.multi.coupled`). Two things are added to lift,
moment and pressure:

- Drag: turbulent skin friction 0.074 Re^(-1/5) (Prandtl; Schlichting, Boundary-Layer Theory) of each element
  on its own chord, weighted by the square of the local speed all round; no pressure drag.
- A stall limit: the angle from which turbulent flow under this pressure (`multi.head`) leaves
  the last fifth of an element's upper side or more (common practice, no source). Past it there are no
  numbers: potential flow does not lose the lift that a real wing would.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from wingtool.files import words_beside
from wingtool.geometry import polyline
from wingtool.panels import InviscidFlow
from wingtool.section.inviscid import inviscid_columns
from wingtool.section.multi.head import separation
from wingtool.section.multi.placement import Flap, along_chord, place_elements
from wingtool.section.polar import LOW_CONFIDENCE, NOT_CONVERGED, Question, SectionPolar

ATTACHED = 0.8  # share of an element's chord
PAST_LIMIT = f"{NOT_CONVERGED}: past the stall limit, where inviscid lift means nothing"
NOTE: str = words_beside(__file__, "inviscid")["note"]
BAND_ORIGIN = "several elements: lift up to 25 % too high, drag from half to three times; common practice"


def inviscid_elements_polar(question: Question, flaps: Sequence[Flap]) -> SectionPolar:
    """Polar of several elements together, coefficients on the main element's chord.

    Parameters
    ----------
    question : Question
        The main element's section, Reynolds numbers and angles; height of the lowest point of all elements.
    flaps : sequence of Flap
        From front to rear.

    Returns
    -------
    SectionPolar
        Status ``low confidence`` up to the stall limit; nan, and a status that says so, past it.
    """
    rows = question.reynolds
    flow, columns = inviscid_columns(place_elements(question.section, flaps), question)
    attached = np.stack([attached_to(flow, row).min(axis=1) >= ATTACHED for row in rows])
    columns["cd"] = friction_drag(flow, rows)
    columns = {name: np.where(attached, column, np.nan) for name, column in columns.items()}
    cl, cd = columns["cl"], columns["cd"]
    return SectionPolar(
        **vars(question),
        **columns,
        status=np.where(attached, LOW_CONFIDENCE, PAST_LIMIT).astype(object),
        method="inviscid",
        cl_low=np.minimum(cl, 0.75 * cl),
        cl_high=np.maximum(cl, 0.75 * cl),
        cd_low=0.5 * cd,
        cd_high=3 * cd,
        band_origin=BAND_ORIGIN,
        notes=(NOTE,),
    )


def friction_drag(flow: InviscidFlow, reynolds: np.ndarray) -> np.ndarray:
    """Friction drag of all elements, shape (k, m), on the common chord."""
    total = np.zeros((len(reynolds), len(flow.alpha_deg)))
    for outline, speed in _elements(flow):
        coefficient = 0.074 * (reynolds * along_chord(outline)[1]) ** -0.2
        total += coefficient[:, None] * np.trapezoid(speed**2, polyline.arc_length(outline), axis=1)
    return total


def attached_to(flow: InviscidFlow, reynolds: float) -> np.ndarray:
    """Share of each element's chord up to which the upper side's flow stays attached, shape (m, elements)."""
    parts = []
    for outline, speed in _elements(flow):
        arc = polyline.arc_length(outline)
        parts.append(np.interp(separation(speed, arc, reynolds), arc, along_chord(outline)[0]))
    return np.stack(parts, axis=1)


def _elements(flow: InviscidFlow) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """Outline and surface speed (m, n) of each element."""
    ends = np.cumsum([len(outline) for outline in flow.elements])
    return zip(flow.elements, np.split(flow.gamma, ends[:-1], axis=1), strict=True)
