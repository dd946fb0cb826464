"""The cautions that matter most for one study, worst first, short; chosen by its numbers."""

import math
from typing import Any

from wingtool.car import PROOF_LOAD_FIRST, Estimate
from wingtool.files import words_beside
from wingtool.report.car_text import proof_force, worst_load
from wingtool.report.text import both_ends_of, degrees, figures, own_length
from wingtool.study import CAUTIONS, OVERSTEER_POINTS, StudyResult

WORDS = words_beside(__file__, "top_cautions")
FEWEST_CAUTIONS = 3


def top_cautions(result: StudyResult) -> list[str]:
    """The proof load, which comes before driving; all that the numbers show; at least three sentences."""
    cautions = result.advice.cautions
    guessed = [f"{c.text.partition(':')[0]}." for c in cautions if c.text.startswith("Not answered, so")]
    wing, roof = (
        [CAUTIONS[name].text for name in names if CAUTIONS[name] in cautions]
        for names in (("may_lift", "low_wing"), ("roof_unknown",))
    )
    always = [CAUTIONS[name].text for name in ("stall", "estimate")]
    by_number = [*asked(result), *_outline(result), *wing, *_of_the_car(result), *roof, *guessed]
    return [_proof(result), *by_number, *always[: max(FEWEST_CAUTIONS - 1 - len(by_number), 0)]]


def asked(result: StudyResult) -> list[str]:
    """Questions about sizes far outside what is usual."""
    return [c.text for c in result.advice.cautions if c.text.startswith("Is the ")]


def _outline(result: StudyResult) -> list[str]:
    """The first doubt of the section's file, else of what measuring it warns of; waves are on the page."""
    warned = [f"{text}; see wingtool inspect." for text in result.measures.warnings if "wave" not in text]
    told = "; ".join(result.doubts)
    return [f"Outline: {text}" for text in (*result.section.doubts, *warned) if text not in told][:1]


def _of_the_car(result: StudyResult) -> list[str]:
    car, units = result.car, result.study.units
    if car is None:
        return []
    found = []
    for gap in car.clearances:
        if gap.caution and gap.left_m is not None:
            left = f"Only {own_length(gap.left_m, units)} is" if gap.left_m > 0.0 else "Nothing is"
            found.append(WORDS["clearance"].format(left, gap.part))
    if car.lap and car.lap.over and car.lap.oil_cautions[0].startswith("over"):
        found.append(_oil(*car.lap.over, result.study.oil))
    found += [f"{one.warning[:1].upper()}{one.warning[1:]}." for one in car.springs if one.warning]
    low, high, bare = car.share.low, car.share.high, car.left[-1].front_share
    accepted = OVERSTEER_POINTS / 100.0
    if low < bare - accepted and high > bare + accepted:
        found.append(WORDS["begin_slowly"].format(100 * low, 100 * high))
    if math.isfinite(result.advice.understeers_from_deg):
        found.append(WORDS["understeer"].format(degrees(result.advice.understeers_from_deg)))
    return found


def _oil(with_parts: Estimate, without: Estimate, limit: Any) -> str:
    """Over the user's limit: the longest time with and without the parts."""
    ends = both_ends_of(with_parts, figures)
    before, after = figures(without.value), figures(with_parts.value)
    return WORDS["oil"].format(after, limit.trusted_g, ends and f"{ends}; ", before, limit.trusted_s)


def _proof(result: StudyResult) -> str:
    if result.car is None or result.car.mounts is None:
        return CAUTIONS["mounts"].text
    loads, units = result.car.mounts, result.study.units
    factor = loads.mounts.proof_factor
    proof = loads.proof_down_n, loads.proof_drag_n
    down, aft = (
        f"{factor:g} x {worst_load(newton / factor, units)} = {proof_force(newton, factor, units)}"
        for newton in proof
    )
    return PROOF_LOAD_FIRST.format(down=down, aft=aft)
