"""The degrees from the stall to the last advised angle, in one line that adds up."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from wingtool.report.text import degrees, own_length
from wingtool.study import STALL_MARGIN_DEG, UNKNOWN_ROOF_DEG, top_face

WHOLE_TOP = 0.99
ANGLES_ARE = "Angles: chord line to the horizontal, car on a level floor; plus is nose down, more downforce."

if TYPE_CHECKING:
    from wingtool.study import Advice, StudyResult


def degree_terms(advice: Advice) -> list[tuple[str, float]]:
    """Name and size [deg] of each term, to a tenth: stall, roof, its ±, margin; what is left is the end.

    The first is the angle of the chord against the air behind the roof where that is known. Empty where no
    stall was found.
    """
    if not math.isfinite(advice.stall_deg):
        return []
    stall, roof = round(advice.stall_deg, 1), round(advice.roof_deg, 1)
    terms = [("stall", stall + roof), ("roof", roof)] if roof else [("stall", stall)]
    if advice.roof_band_deg is None:
        terms.append(("roof not measured", UNKNOWN_ROOF_DEG))
    elif advice.roof_band_deg:
        terms.append(("roof's ±", round(advice.roof_band_deg, 1)))
    return [*terms, ("margin", STALL_MARGIN_DEG)]


def gauge_words(result: StudyResult) -> str:
    """What a gauge on a straightedge on the top shows at both ends of the advice; empty on a round top."""
    face, advice, units = top_face(result.section), result.advice, result.study.units
    if face is None or result.study.wing.tab_m or not math.isfinite(advice.start_deg):
        return ""
    ends = advice.start_deg, advice.high_deg
    start, end = (degrees(angle - round(face.offset_deg, 1)) for angle in ends)
    at = [degrees(angle) for angle in ends]
    first, last = (own_length(share * result.study.wing.chord_m, units) for share in (face.first, face.last))
    place = f"{first} to {last}" if face.last < WHOLE_TOP else f"from {first}"
    return f"Gauge on the top, {place} behind the nose: {start} at {at[0]}, {end} at {at[1]}."


def degree_sum(advice: Advice) -> str:
    """The line for the screen: what is left of the stall, and why it ends there if it ends sooner."""
    terms = degree_terms(advice)
    if not terms:
        return f"{degrees(advice.high_deg)}, no stall was found; {advice.ends_because}"
    left, shown = terms[0][1], f"stall {terms[0][1]:.1f}"
    for name, size in terms[1:]:
        left -= size
        shown += f" - {name} {size:.1f}" + (f" = {left:.1f};" if name == "roof" else "")
    sooner = left >= advice.high_deg + 1.0
    return f"{shown} = {left:.1f}" + (f", but {advice.ends_because}" if sooner else "")
