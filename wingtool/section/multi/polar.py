"""The polar of several elements: with boundary layers, or inviscid where that fails or is asked for."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from wingtool.files import words_beside
from wingtool.section.cache import cached_rows, has_row
from wingtool.section.multi.coupled import march_elements, prepare_elements
from wingtool.section.multi.inviscid import inviscid_elements_polar
from wingtool.section.multi.placement import Flap, place_elements
from wingtool.section.polar import NOT_CONVERGED, Question, SectionPolar, status_from_shape
from wingtool.section.surface import surface_state

PANELS = 120  # for each element
LEAST_POINTS = 3  # of a Reynolds number, below which the row is no polar
NUMBERS = ("cl", "cd", "cm", "circulation")
NOTE: str = words_beside(__file__, "polar")["note"]
BAND_ORIGIN = "several elements: lift 12 %, drag -30 to +50 %; common practice, no measurement"


def elements_polar(question: Question, flaps: Sequence[Flap]) -> SectionPolar:
    """Polar of several elements together, coefficients on the main element's chord.

    Parameters
    ----------
    question : Question
        The main element's section, Reynolds numbers and angles; a trip on every element at this share of its
        own chord; height of the lowest point of all elements.
    flaps : sequence of Flap
        From front to rear.

    Returns
    -------
    SectionPolar
        Its `method` says which part of the work was inviscid: all of it where a Reynolds number has fewer
        than three coupled points; a note then says why.

    Raises
    ------
    RangeError
        Unknown surface; a slot that cannot be.
    """
    outlines = place_elements(question.section, flaps, PANELS)
    solved: list[dict[str, np.ndarray]] = []
    needed = min(LEAST_POINTS, len(question.alpha_deg))
    for reynolds in question.reynolds:
        row = _row(outlines, question, float(reynolds))
        if np.isfinite(row["cl"]).sum() < needed:  # the others need not be asked
            plain = inviscid_elements_polar(question, flaps)
            reason = next(filter(None, row["why"]), "no reason given")
            failed = f"coupled solution failed at Reynolds {reynolds:.3g}: {reason}"
            return replace(plain, notes=(failed, *plain.notes))
        solved.append(row)
    return _labelled(question, solved)


def missing_element_rows(question: Question, flaps: Sequence[Flap]) -> np.ndarray:
    """Those of a question's Reynolds numbers whose rows the cache does not have."""
    outlines = place_elements(question.section, flaps, PANELS)
    missing = [not has_row(_facts(outlines, question, float(one))) for one in question.reynolds]
    return question.reynolds[missing]


def _facts(outlines: tuple[np.ndarray, ...], question: Question, reynolds: float) -> tuple:
    setting = (reynolds, surface_state(question.surface), question.trip_x)
    return (*outlines, question.alpha_deg, *setting, question.height_chord)


def _row(outlines: tuple[np.ndarray, ...], question: Question, reynolds: float) -> dict[str, np.ndarray]:
    """One Reynolds number, kept or computed."""
    facts = _facts(outlines, question, reynolds)

    def computed(_missing) -> list[dict[str, np.ndarray]]:
        group = prepare_elements(outlines, question.height_chord)
        points, why = march_elements(group, *facts[len(outlines) : -1])
        table = {name: np.array([getattr(one, name, np.nan) for one in points]) for name in NUMBERS}
        return [table | {"why": np.array(why, dtype=str)}]

    return cached_rows([facts], (*NUMBERS, "why"), computed)[0]


def _labelled(question: Question, solved: list[dict[str, np.ndarray]]) -> SectionPolar:
    numbers: dict[str, Any] = {name: np.stack([row[name] for row in solved]) for name in NUMBERS}
    cl, cd = numbers["cl"], numbers["cd"]
    status = status_from_shape(question.alpha_deg, cl)
    for i, row in enumerate(solved):
        for j in np.flatnonzero(~np.isfinite(cl[i])):
            status[i, j] = f"{NOT_CONVERGED}: {row['why'][j]}"
    return SectionPolar(
        **vars(question),
        **numbers,
        status=status,
        method="coupled",
        cl_low=np.minimum(0.88 * cl, 1.12 * cl),
        cl_high=np.maximum(0.88 * cl, 1.12 * cl),
        cd_low=0.7 * cd,
        cd_high=1.5 * cd,
        band_origin=BAND_ORIGIN,
        notes=(NOTE,),
    )
