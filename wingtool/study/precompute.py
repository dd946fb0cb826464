"""The slow part of a study first, in two processes: section rows, which the solver keeps in its cache."""

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from contextlib import nullcontext
from dataclasses import replace

import numpy as np

from wingtool.errors import RangeError
from wingtool.section import Flap, Question, missing_rows, place_elements, polars
from wingtool.study.car.lap import circuit_of
from wingtool.study.car.limits import limits_of
from wingtool.study.car.parts import car_on_road
from wingtool.study.progress import no_progress
from wingtool.study.schema.read import naming_file
from wingtool.study.schema.study import Study
from wingtool.study.whole_study import over_all_angles
from wingtool.study.wing.finite_wing import (
    elements_question,
    flaps_of,
    named_section,
    on_own_chords,
    section_method,
    section_places,
    section_question,
    wing_geometry,
)
from wingtool.study.wing.tabs import tab_wings
from wingtool.workers import beside, start


@naming_file
def compute_ahead(
    study: Study, progress: Callable[[str], None] = no_progress, pool: Executor | None = None
) -> None:
    """Fill the cache with the section rows that this study will ask for.

    The study's answers are the same without it. What no section data could mend is refused first.

    Parameters
    ----------
    study : Study
    progress : callable
        Takes a line on what is being done.
    pool : Executor, optional
        Takes half of the rows, then the wings with other tabs, which nobody waits for; a process for rows
        alone, if left out.

    Raises
    ------
    WingtoolError
        A section that cannot be found or read; a wing, car, circuit or rules file that cannot be.
    """
    refuse_early(study)
    method, flaps = section_method(study), flaps_of(study)
    question = elements_question if flaps else section_question
    names = dict.fromkeys(section_places(study).values())
    wanted = [(question(study, named_section(study, name)), flaps) for name in names]
    behind = [section_question(one, named_section(one, one.wing.section)) for one in on_own_chords(study)]
    wanted += [(one, ()) for one in behind]
    missing = [
        (replace(one, reynolds=np.array([number])), own)
        for one, own in wanted
        for number in missing_rows(one, method, own)
    ]
    if missing:
        named = ", ".join(dict.fromkeys(one.section.name for one, _ in missing))
        progress(f"section data of {named}: {len(missing)} Reynolds numbers")
    half = -(-len(missing) // 2)  # not every second: rows of one section share their outer flows
    mine, theirs = missing[:half], missing[half:]
    with nullcontext(pool) if pool or not theirs else beside() as other:
        await_theirs = start(other if theirs else None, keep_rows, theirs, method)
        keep_rows(mine, method)
        await_theirs()
    everywhere = over_all_angles(study)
    if pool is not None and everywhere is not None:
        start(pool, tab_wings, everywhere)


def keep_rows(wanted: Sequence[tuple[Question, tuple[Flap, ...]]], method: str) -> None:
    """Compute questions of one Reynolds number each, with the elements behind the section, into the cache."""
    polars([question for question, flaps in wanted if not flaps], method)
    for question, flaps in wanted:
        if flaps:
            from wingtool.section import elements_polar

            elements_polar(question, flaps)


def refuse_early(study: Study) -> None:
    """Build all that a study describes besides its section data, so that errors come before long work."""
    wing, section = wing_geometry(study), named_section(study, study.wing.section)
    if flaps := flaps_of(study):
        try:
            place_elements(section, flaps)
        except RangeError as error:
            raise RangeError(f"wing.{error}") from None
    limits_of(study)
    if study.car is None:
        return
    car_on_road(study, study.air.air().density_kg_m3)
    circuit_of(study)
    if study.mounts and study.spar:
        study.spar.value(study.mounts.value(), wing.span_m)
