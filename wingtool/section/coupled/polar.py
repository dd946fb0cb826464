"""Polars from the coupled solver: status of each point, rows kept on disk."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice
from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.errors import RangeError
from wingtool.geometry import drawn_upside_down
from wingtool.section.band import nose_stall, with_band, with_second_solution
from wingtool.section.cache import cached_rows, has_row
from wingtool.section.curves import SEPARATED_X, first_peak
from wingtool.section.polar import (
    BEYOND_STALL,
    CONVERGED,
    LOW_CONFIDENCE,
    NOT_CONVERGED,
    TWO_SOLUTIONS,
    Question,
    SectionPolar,
)
from wingtool.section.record import thickness_camber
from wingtool.section.surface import surface_state

if TYPE_CHECKING:
    from wingtool.section.coupled.flow import Prepared
    from wingtool.section.coupled.march import Sweep

COMPARED = (1e5, 1e7)  # Reynolds numbers of the published values in `wingtool trust`, 2e5 to 9e6, and near
MOST_ROWS = 12  # marched together; each section among them holds 0.4 MB for each angle
MOST_CAMBER = 0.137  # three sections of the collection have more, and none was solved; the next, 13.5 %, is
MOST_THICKNESS = 0.55  # the same holds: three have more, and none was solved; the next, 50 %, is
MOST_FILLED = 1 / 3  # of the ground clearance by the layer: more, and it is not thin; own choice
_NUMBERS = ("cl", "cd", "cm", "circulation", "cd_friction")
_SIDES = ("transition", "separation", "re_theta", "tail_shape", "tail_theta")
_OTHER = ("cl_other", "cd_other")
_OF_A_POLAR = (
    *("cl", "cd", "cm", "tail_shape_lower", "tail_theta_lower"),
    *(f"{name}_{side}" for name in _SIDES[:3] for side in ("upper", "lower")),
)
COLUMNS = (*_NUMBERS, *(f"{name}_{side}" for name in _SIDES for side in ("upper", "lower")), *_OTHER)


def coupled_polars(questions: Sequence[Question]) -> list[SectionPolar]:
    """Polars by panels and boundary layer solved together, all rows of all questions in one batch.

    Raises
    ------
    RangeError
        Unknown surface, degenerate outline, a tab (`with_tab` adds it to the plain section's polar).
    """
    if any(question.tab_chord for question in questions):
        raise RangeError("coupled: a tab is added to the plain section's polar; call with_tab")
    asked = [(question, float(number)) for question in questions for number in question.reynolds]
    facts = [_facts(*one) for one in asked]
    rows = iter(cached_rows(facts, (*COLUMNS, "status"), lambda some: _computed([asked[i] for i in some])))
    return [_polar(question, list(islice(rows, len(question.reynolds)))) for question in questions]


def missing_rows(question: Question) -> np.ndarray:
    """Those of a question's Reynolds numbers whose rows the cache does not have."""
    return np.array([one for one in question.reynolds if not has_row(_facts(question, float(one)))])


def _facts(question: Question, reynolds: float) -> tuple:
    outline = np.append(question.section.xy, question.section.rounding)
    state = surface_state(question.surface)
    return outline, question.alpha_deg, reynolds, state, question.trip_x, question.height_chord


def _computed(asked: Sequence[tuple[Question, float]]) -> Iterator[dict[str, np.ndarray]]:
    """Rows, so many together as fit in a bounded memory."""
    from wingtool.section.coupled.flow import prepare
    from wingtool.section.coupled.march import Row, sweeps

    prepared: dict[tuple, Prepared] = {}
    for start in range(0, len(asked), MOST_ROWS):
        some = asked[start : start + MOST_ROWS]
        wanted = {(id(question.section), question.height_chord): question for question, _ in some}
        prepared = {
            key: prepared.get(key) or prepare(one.section, height_chord=one.height_chord)
            for key, one in wanted.items()
        }
        rows = [
            Row(
                prepared[id(question.section), question.height_chord],
                reynolds,
                surface_state(question.surface),
                question.alpha_deg,
                question.trip_x,
            )
            for question, reynolds in some
            if not _out_of_range(question)
        ]
        found = iter(sweeps(rows))
        for question, _ in some:
            yield _unsolved(question) if _out_of_range(question) else columns(next(found))


def _out_of_range(question: Question) -> str:
    """Why no march, minutes long, would find a solution; or an empty text."""
    thickness, camber = thickness_camber(question.section)
    for name, value, most in (("camber", camber, MOST_CAMBER), ("thickness", thickness, MOST_THICKNESS)):
        if abs(value) > most:
            return f"{name} {100 * value:.1f} %; none is solved above {100 * most:.1f} %"
    return ""


def _unsolved(question: Question) -> dict[str, np.ndarray]:
    nothing = {name: np.full(len(question.alpha_deg), np.nan) for name in COLUMNS}
    why = f"{NOT_CONVERGED}: {_out_of_range(question)}"
    return nothing | {"status": np.full(len(question.alpha_deg), why)}


def _polar(question: Question, rows: list[dict[str, np.ndarray]]) -> SectionPolar:
    table: dict[str, Any] = {name: np.stack([row[name] for row in rows]) for name in (*COLUMNS, "status")}
    polar = SectionPolar(
        **vars(question),
        **{name: table[name] for name in _OF_A_POLAR},
        status=table["status"].astype(object),
        method="coupled",
        circulation=table["circulation"] if np.isfinite(question.height_chord) else None,  # Kutta-Joukowski
        notes=_notes(question, table["status"]),
    )
    return with_second_solution(with_band(polar), table["cl_other"], table["cd_other"])


def _notes(question: Question, status: np.ndarray) -> tuple[str, ...]:
    section, reynolds, surface = question.section, question.reynolds, question.surface
    notes = [f"surface {surface}: {surface_state(surface).origin}"]
    notes += drawn_upside_down(section)
    if np.any(status == TWO_SOLUTIONS):
        notes.append("two solutions: hysteresis; the value given is met coming from low lift")
    if np.any(status == LOW_CONFIDENCE):
        notes.append(
            "low confidence: the layer fills over a third of the gap to the ground, too thick for the method"
        )
    if nose_stall(section):
        notes.append("stall from the nose is likely and outside the method: real greatest lift is lower")
    if reynolds.min() < COMPARED[0] or reynolds.max() > COMPARED[1]:
        notes.append(
            f"compared with measurement between Reynolds numbers {COMPARED[0]:.0e} and {COMPARED[1]:.0e} only"
        )
    return tuple(notes)


def columns(found: Sweep) -> dict[str, np.ndarray]:
    """A sweep as arrays over the angles asked for, nan where there is no solution.

    `cl_other` and `cd_other` are those of the second solution where there are two. Stall is looked for among
    all angles of the march.
    """
    from wingtool.section.coupled.march import differ

    table = {name: np.full(len(found.alpha_deg), np.nan) for name in COLUMNS}
    for i, (one, back) in enumerate(zip(found.out, found.back, strict=True)):
        if one is None:
            continue
        for name in _NUMBERS:
            table[name][i] = getattr(one, name)
        for name in _SIDES:
            table[f"{name}_upper"][i], table[f"{name}_lower"][i] = getattr(one, name)
        if back is not None and differ(one, back):
            table["cl_other"][i], table["cd_other"][i] = back.cl, back.cd
    table["status"] = status(found, table)
    return {name: column[found.asked] for name, column in table.items()}


def status(found: Sweep, table: dict[str, np.ndarray]) -> np.ndarray:
    """Status of each angle of a sweep.

    A side separated ahead of `SEPARATED_X` counts as stalled whatever the lift; else a side is stalled
    beyond its first peak of lift, where the data hold its lift.
    """
    cl = table["cl"]
    words = np.full(len(cl), CONVERGED, dtype=object)
    for sign, side in ((1, "upper"), (-1, "lower")):
        separation = table[f"separation_{side}"]
        words[separation < SEPARATED_X] = BEYOND_STALL
        peak, _, seen = first_peak((sign * found.alpha_deg)[::sign], (sign * cl)[::sign], separation[::sign])
        if seen and np.any(sign * cl > 0.0):
            words[sign * found.alpha_deg > peak + 1e-9] = BEYOND_STALL
    for i, (out, why) in enumerate(zip(found.out, found.why, strict=True)):
        if out is None:
            words[i] = f"{NOT_CONVERGED}: {why or 'no solution'}"
        elif np.isfinite(table["cl_other"][i]):
            words[i] = TWO_SOLUTIONS
        elif out.gap_blockage > MOST_FILLED:
            words[i] = LOW_CONFIDENCE
    return words.astype(str)
