"""A sweep of sections by height by Reynolds number by angle, in one process or in many.

The work is cut into parts that do not depend on who computes them: one section, height and Reynolds number
with all its angles (a march over the angles must not be cut). So the table is the same, row for row, in this
process, in a pool, or in a cluster. Each finished part is kept under the hash of what it was computed from:
a killed worker loses nothing, and a second start goes on where the first stopped.
"""

import time
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, wait
from contextlib import nullcontext
from dataclasses import fields, replace
from itertools import islice, product
from pathlib import Path
from typing import Any

import numpy as np

from wingtool.errors import RangeError, WingtoolError
from wingtool.geometry import Section
from wingtool.section import SOLVED, Question, SectionPolar, polars, read_row, write_row
from wingtool.study.progress import no_progress
from wingtool.version import __version__
from wingtool.workers import worker_pool

_AXES = ("alpha_deg", "reynolds")
# What a polar holds for each Reynolds number and angle, read off its fields so that none is forgotten.
ROWS = tuple(
    field.name
    for field in fields(SectionPolar)
    if field.type in (np.ndarray, np.ndarray | None) and field.name not in _AXES
)
MOST_RESTARTS = 5
TOGETHER = 12  # rows of the coupled solver in one batch: more gain nothing and take memory
SHARES = 20  # groups of a quick method for each worker: each costs a message there and back
IN_FLIGHT = 4  # groups handed out per worker: enough to keep it fed, few enough to stop quickly


def sweep_grid(
    sections: Sequence[Section],
    alpha_deg,
    reynolds,
    heights_chord=(np.inf,),
    method: str = "coupled",
    surface: str = "race",
    tab_chord: float = 0.0,
    jobs: int = 1,
    executor: Executor | None = None,
    keep_in: Path | str | None = None,
    progress: Callable[[str], None] = no_progress,
) -> list[SectionPolar]:
    """A polar for each section and height, section slowest, computed by as many workers as there are.

    Parameters
    ----------
    sections : sequence of Section
    alpha_deg, reynolds, heights_chord : array
        Angles [deg] of the sections as drawn, chord Reynolds numbers, heights over chord (inf in free air).
    method, surface, tab_chord
        As for `polar`.
    jobs : int
        Processes on this machine.
    executor : concurrent.futures.Executor, optional
        Somebody else's workers in place of `jobs`: any executor, for example that of a cluster,
        ``distributed.Client(...).get_executor()``.
    keep_in : path, optional
        Folder for finished parts; a second call with the same folder computes only what is missing.
    progress : callable
        Takes a line on how far it is, with the time left, after each part.

    Raises
    ------
    RangeError
        An empty grid, or fewer than one job.
    WingtoolError
        The workers died again and again, or the executor broke; what was finished is in `keep_in`.

    Examples
    --------
    >>> from wingtool import four_digit, sweep_grid
    >>> (one,) = sweep_grid([four_digit("2412")], [0.0, 4.0], [5e5], method="surrogate")
    >>> one.alpha_deg
    array([0., 4.])
    """
    angles, numbers, heights = (
        np.atleast_1d(np.asarray(values, dtype=float)) for values in (alpha_deg, reynolds, heights_chord)
    )
    questions = [
        Question(section, numbers, angles, surface, None, float(tab_chord), float(height))
        for section, height in product(sections, heights)
    ]
    if not (questions and numbers.size and angles.size):
        raise RangeError("a sweep needs at least one section, angle, Reynolds number and height")
    return polars_in_parts(questions, method, jobs, executor, keep_in, progress)


def polars_in_parts(questions: Sequence[Question], method: str, *workers, **how) -> list[SectionPolar]:
    """Polars put together from one part for each Reynolds number; the rest as for `polars_in_parallel`."""
    parts = [replace(one, reynolds=np.array([number])) for one in questions for number in one.reynolds]
    done = iter(polars_in_parallel(parts, method, *workers, **how))
    return [_joined(one, list(islice(done, len(one.reynolds)))) for one in questions]


def _joined(question: Question, parts: Sequence[SectionPolar]) -> SectionPolar:
    rows: dict[str, Any] = {
        name: np.concatenate([getattr(part, name) for part in parts])
        for name in ROWS
        if getattr(parts[0], name) is not None
    }
    notes = tuple(dict.fromkeys(note for part in parts for note in part.notes))
    return replace(parts[0], reynolds=question.reynolds, notes=notes, **rows)


def polars_in_parallel(
    parts: Sequence[Question],
    method: str,
    jobs: int = 1,
    executor: Executor | None = None,
    keep_in: Path | str | None = None,
    progress: Callable[[str], None] = no_progress,
) -> list[SectionPolar]:
    """The polars of questions of one Reynolds number each, in their order; the rest as for `sweep_grid`."""
    if jobs < 1:
        raise RangeError(f"{jobs} jobs cannot compute anything; give 1 or more")
    read = (_read_part(keep_in, part, method) for part in parts)
    found = {k: polar for k, polar in enumerate(read) if polar is not None}
    started, before = time.monotonic(), len(found)
    todo = [k for k in range(len(parts)) if k not in found]
    for k, polar in _computed(parts, method, todo, jobs, executor):
        found[k] = polar
        _write_part(keep_in, parts[k], polar)
        left_s = (time.monotonic() - started) / (len(found) - before) * (len(parts) - len(found))
        progress(f"{method} sweep: {len(found)} of {len(parts)}, about {left_s:.0f} s left")
    return [found[k] for k in range(len(parts))]


def _computed(
    parts: Sequence[Question], method: str, todo: Sequence[int], jobs: int, executor: Executor | None
):
    """Yield (number, polar) as they come.

    A pool of our own is made anew when a worker is killed; only what is missing goes again.
    """
    left, deaths, jobs = set(todo), 0, min(jobs, len(todo))
    if executor is None and jobs == 1:
        for group in _groups(method, todo, 1):
            yield from zip(group, polars([parts[k] for k in group], method), strict=True)
        return
    while left:
        before, groups = len(left), _groups(method, sorted(left), 1 if executor else jobs)
        most = len(groups) if executor else IN_FLIGHT * jobs
        try:
            with nullcontext(executor) if executor else worker_pool(jobs) as pool:
                for k, rows in _through(pool, parts, method, groups, most):
                    left.discard(k)
                    yield k, rows
        except BrokenExecutor as error:
            if executor:
                sentence = (
                    f"the executor broke ({error}); start it again, with keep_in to go on where it stopped"
                )
                raise WingtoolError(sentence) from error
            deaths = 1 if len(left) < before else deaths + 1
            if deaths > MOST_RESTARTS:
                sentence = "worker processes die as soon as they start; use --jobs 1, or free some memory"
                raise WingtoolError(sentence) from error


def _groups(method: str, todo: Sequence[int], jobs: int) -> list[Sequence[int]]:
    """Parts that are computed together, up to `TOGETHER`, a share for each worker; of quick methods `SHARES`.

    A result does not depend on the cut.
    """
    together = min(TOGETHER, -(-len(todo) // (jobs * (1 if method in SOLVED else SHARES))))
    return [todo[k : k + together] for k in range(0, len(todo), together or 1)]


def _through(
    executor: Executor, parts: Sequence[Question], method: str, groups: Sequence[Sequence[int]], most: int
):
    """Yield (number, polar) as they come, with at most `most` groups handed out."""
    waiting = iter(groups)
    running: dict = {}
    try:
        while True:
            while len(running) < most and (group := next(waiting, None)) is not None:
                running[executor.submit(polars, [parts[k] for k in group], method)] = group
            if not running:
                return
            done, _ = wait(running, return_when=FIRST_COMPLETED)
            for future in done:
                yield from zip(running.pop(future), future.result(), strict=True)
    finally:
        for future in running:
            future.cancel()


TEXTS = ("band_origin", "notes")


def _facts(part: Question, method: str) -> tuple:
    return part, method, __version__


def _write_part(folder: Path | str | None, part: Question, polar: SectionPolar) -> None:
    if folder is None:
        return
    absent = np.empty(0)
    rows = {name: absent if (value := getattr(polar, name)) is None else value for name in ROWS}
    rows["status"] = np.asarray(polar.status, dtype=str)
    texts = {name: np.array(getattr(polar, name), dtype=str) for name in TEXTS}
    write_row(Path(folder), _facts(part, polar.method), rows | texts)


def _read_part(folder: Path | str | None, part: Question, method: str) -> SectionPolar | None:
    """The polar of an earlier run; a damaged file counts as none, and so does one that lacks a row."""
    found = None if folder is None else read_row(Path(folder), _facts(part, method), (*ROWS, *TEXTS))
    if found is None:
        return None
    origin, notes = str(found.pop("band_origin")), tuple(str(note) for note in found.pop("notes"))
    shape = (1, len(part.alpha_deg))
    if any(value.size and value.shape != shape for value in found.values()):
        return None
    rows: dict[str, Any] = {name: value if value.size else None for name, value in found.items()}
    rows["status"] = rows["status"].astype(object)
    return SectionPolar(**vars(part), method=method, band_origin=origin, notes=notes, **rows)
