"""The slow part of a study first and on all cores: section rows, which the solver keeps in its cache."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import TYPE_CHECKING

from wingtool.section import SOLVED
from wingtool.study.progress import no_progress
from wingtool.study.section.parallel import sweep_grid
from wingtool.study.section.sweep import section_of
from wingtool.study.wing.run import section_question

if TYPE_CHECKING:
    from wingtool.study.schema.study import Study


def compute_ahead(
    study: Study, progress: Callable[[str], None] = no_progress, jobs: int | None = None
) -> None:
    """Let the coupled solver fill its cache with the rows that this study will ask for.

    Only worth while with more than one core; the study's answers are the same without it.

    Parameters
    ----------
    study : Study
    progress : callable
        Takes a line on what is being done.
    jobs : int, optional
        Processes; one for each core that this process may use, if left out.
    """
    jobs = jobs or cores()
    question, table = section_question(study), study.wing
    if jobs == 1 or question.method not in SOLVED or table.element or table.trip_x is not None:
        return
    names = dict.fromkeys([table.section, *(s.section for s in table.station if s.section)])
    progress(f"section data of {', '.join(names)}: {question.reynolds.size} Reynolds numbers on {jobs} cores")
    sweep_grid(
        [section_of(name, study.folder) for name in names],
        question.alpha_deg,
        question.reynolds,
        (question.height_chord,),
        method=question.method,
        surface=table.surface,
        jobs=jobs,
    )


def cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
