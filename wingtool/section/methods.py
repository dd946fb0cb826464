"""The one door to section data: a polar by the method that the caller names."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from importlib import import_module
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from wingtool.errors import RangeError
from wingtool.geometry import Section
from wingtool.section.polar import Question, SectionPolar

if TYPE_CHECKING:
    from wingtool.section.multi import Flap


def _one_by_one(name: str, questions: Sequence[Question]) -> list[SectionPolar]:
    """By a polar of the front door, which opens its file now."""
    polar = getattr(import_module("wingtool.section"), name)
    return list(map(polar, questions))


def _coupled(questions: Sequence[Question]) -> list[SectionPolar]:
    from wingtool.section.coupled import coupled_polars

    return coupled_polars(questions)


def _corrected(questions: Sequence[Question]) -> list[SectionPolar]:
    """The coupled solver corrected by the record; with angles between, so that the stall is seen."""
    from wingtool.section.record import with_record

    solved = _coupled([_with_angles_between(one) for one in questions])
    return [with_record(one).only(asked.alpha_deg) for one, asked in zip(solved, questions, strict=True)]


def _with_angles_between(question: Question) -> Question:
    alpha_deg = question.alpha_deg
    outside = not alpha_deg[0] <= 0.0 <= alpha_deg[-1]
    ends = np.union1d(alpha_deg, [0.0]) if outside else alpha_deg
    between = [
        np.linspace(one, other, int(np.ceil((other - one) / BETWEEN_DEG - 1e-9)), endpoint=False)
        for one, other in zip(ends[:-1], ends[1:], strict=True)
    ]
    return replace(question, alpha_deg=np.append(np.concatenate(between) if between else [], ends[-1]))


def missing_rows(question: Question, method: str, flaps: Sequence[Flap] = ()) -> np.ndarray:
    """Those of a question's Reynolds numbers that the coupled solver has to compute: not in its cache."""
    if flaps:
        from wingtool.section.multi import missing_element_rows

        return missing_element_rows(question, flaps)
    from wingtool.section.coupled import missing_rows

    if method not in SOLVED:
        return np.array([])
    return missing_rows(_with_angles_between(question) if method == "corrected" else question)


METHODS: dict[str, Callable[[Sequence[Question]], list[SectionPolar]]] = {
    "corrected": _corrected,
    "coupled": _coupled,
    "surrogate": partial(_one_by_one, "surrogate_polar"),
    "inviscid": partial(_one_by_one, "inviscid_polar"),
}
# No method computes a tab: it is added to the plain polar, which must reach half its shift further.
TAB_REACH_DEG = np.array([0.5, 1.0, 2.0, 3.0, 4.0])
BETWEEN_DEG = 1.0
SOLVED = ("corrected", "coupled")  # methods that the coupled solver stands behind
DEFAULT_METHOD = "corrected"


def polar(
    section: Section,
    reynolds: ArrayLike,
    alpha_deg: ArrayLike,
    method: str = DEFAULT_METHOD,
    surface: str = "race",
    trip_x: float | None = None,
    tab_chord: float = 0.0,
    height_chord: float = np.inf,
) -> SectionPolar:
    """Polar of one section by one method, a key of `METHODS`; the others are the fields of `Question`.

    Raises
    ------
    RangeError
        Unknown method, surface, a state that the method cannot answer.
    """
    axes = np.asarray(reynolds, dtype=float), np.asarray(alpha_deg, dtype=float)
    return polars([Question(section, *axes, surface, trip_x, tab_chord, height_chord)], method)[0]


def polars(questions: Sequence[Question], method: str = DEFAULT_METHOD) -> list[SectionPolar]:
    """Polars of several questions by one method; the coupled solver solves all of them together.

    A polar does not depend on which others are asked for.

    Raises
    ------
    RangeError
        Unknown method, surface, a state that the method cannot answer.
    """
    if method not in METHODS:
        raise RangeError(f"method {method!r} is not known; choose one of {', '.join(METHODS)}")
    plain = [_without_tab(question) if question.tab_chord else question for question in questions]
    answered = METHODS[method](plain)
    if any(question.tab_chord for question in questions):
        from wingtool.section.tab import with_tab

        pairs = zip(questions, answered, strict=True)
        answered = [with_tab(one, q.tab_chord, q.alpha_deg) if q.tab_chord else one for q, one in pairs]
    return [
        replace(one, notes=q.section.doubts + one.notes) for q, one in zip(questions, answered, strict=True)
    ]


def _without_tab(question: Question) -> Question:
    """The same for the plain section, reaching further: a tab moves the curve."""
    further = np.concatenate([question.alpha_deg, question.alpha_deg[-1] + TAB_REACH_DEG])
    return replace(question, alpha_deg=further, tab_chord=0.0)
