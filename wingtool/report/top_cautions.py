"""The cautions that matter most for one study, worst first, short; chosen by its numbers."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from wingtool.report.text import degrees, own_force, own_length
from wingtool.study import UNKNOWN_ROOF_DEG

if TYPE_CHECKING:
    from wingtool.study import StudyResult
    from wingtool.units import DisplayUnits

OVERSTEER_SHARE = 0.005  # of the load to the front against the bare car


def top_cautions(result: StudyResult) -> list[str]:
    """Sentences, the most pressing first: what the numbers show, then what is always true."""
    asked = [c.text for c in result.advice.cautions if c.text.startswith("Is the ")]
    return [*asked, *_of_the_wing(result), *_of_the_car(result), *_standing(result)]


def _of_the_wing(result: StudyResult) -> list[str]:
    advice, found = result.advice, []
    if advice.forces and any(one.downforce.low_n < 0.0 for one in advice.forces):
        found.append("The band of the downforce at the start reaches below zero: the wing may lift the car.")
    if any(caution.beside == "height" for caution in advice.cautions):
        found.append(
            "The wing is lower than a tenth of its chord: these numbers are not to be trusted there."
        )
    if advice.roof_band_deg is None:
        found.append(
            f"Nobody measured the air behind the roof: {UNKNOWN_ROOF_DEG:.0f}° are kept for it. Put tufts on"
            " before you trust the angle (wingtool trace --sheet roof)."
        )
    return found


def _of_the_car(result: StudyResult) -> list[str]:
    car, units = result.car, result.study.units
    if car is None:
        return []
    found = []
    for gap in car.clearances:
        if gap.caution and gap.left_m is not None:
            left = f"Only {own_length(gap.left_m, units)} is" if gap.left_m > 0.0 else "Nothing is"
            found.append(
                f"{left} left under the {gap.part} at top speed, braking and cornering: raise it or stiffen"
                " the front springs."
            )
    if car.lap is not None and car.lap.oil_cautions[0].startswith("over"):
        told = car.lap.oil_cautions[0].split(". ")[0].removeprefix("over your limit: ")
        found.append(f"Oil, over your limit: {told}.")
    found += [f"{one.warning[:1].upper()}{one.warning[1:]}." for one in car.springs if one.warning]
    low, high, bare = car.share.low, car.share.high, car.left[-1].front_share
    if low < bare - OVERSTEER_SHARE and high > bare + OVERSTEER_SHARE:
        found.append(
            f"Balance likely {100 * low:.1f} to {100 * high:.1f} % front: understeer to oversteer when"
            f" fast. Largest doubt: {car.share.largest_doubt}. Try it slowly first."
        )
    if math.isfinite(result.advice.understeers_from_deg):
        found.append(
            f"From {degrees(result.advice.understeers_from_deg)} on the front is too light when fast:"
            " understeer, until the front end makes more."
        )
    return found


def _standing(result: StudyResult) -> list[str]:
    return [
        _proof(result, result.study.units),
        "Stall is sudden, in the fastest corner: go up one step at a time, on a closed course.",
        "Estimates with bands, not measurements. For the track only, by your rules.",
    ]


def _proof(result: StudyResult, units: DisplayUnits) -> str:
    if result.car is not None and result.car.mounts is not None:
        load = own_force(result.car.mounts.proof_down_n, units)
        return f"Mounts fail before wings do: load them with {load} before the car moves, and fit a tether."
    return "Mounts fail before wings do: load them with twice the largest force first, and fit a tether."
