"""A sweep of sections by height by Reynolds number by angle, in one process or in many.

The work is cut into batches that do not depend on who computes them: one section, height and Reynolds number
with all its angles (a march over the angles must not be cut). So the table is the same, row for row, in this
process, in a pool, or in a cluster. Each finished batch is kept under the hash of what it was computed from:
a killed worker loses nothing, and a second start goes on where the first stopped.
"""

import time
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, wait
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

import numpy as np

from wingtool.errors import RangeError, WingtoolError
from wingtool.geometry import Section
from wingtool.section import SOLVED, Question, SectionPolar, polars, read_row, write_row
from wingtool.version import __version__
from wingtool.workers import worker_pool

GRID_NUMBERS = ("cl", "cd", "cm", "transition_upper", "transition_lower")
_AXES = ("alpha_deg", "reynolds")
# What a polar holds for each Reynolds number and angle, read off its fields so that none is forgotten.
ROWS = tuple(
    field.name
    for field in fields(SectionPolar)
    if field.type in (np.ndarray, np.ndarray | None) and field.name not in _AXES
)
MOST_RESTARTS = 5
TOGETHER = 12  # rows of the coupled solver in one batch: more gain nothing and take memory
IN_FLIGHT = 4  # groups handed out per worker: enough to keep it fed, few enough to stop quickly


@dataclass(frozen=True, eq=False)
class Batch:
    """One section at one height and Reynolds number, with all its angles."""

    section: Section
    alpha_deg: np.ndarray
    reynolds: float
    height_chord: float
    method: str
    surface: str
    tab_chord: float
    trip_x: float | None = None

    @property
    def facts(self) -> tuple:
        """Everything that the result depends on, for the cache's key; wingtool's version among it."""
        outline = np.append(self.section.xy, self.section.rounding)
        named = (self.method, self.surface, self.trip_x, self.tab_chord, __version__)
        return outline, self.alpha_deg, self.reynolds, self.height_chord, *named


@dataclass(frozen=True, eq=False)
class SweepGrid:
    """The rows of a sweep in fixed order: section slowest, then height, Reynolds number, angle.

    Parameters
    ----------
    section : ndarray of str, shape (n,)
        Name of the section of each row.
    height_chord, reynolds, alpha_deg : ndarray, shape (n,)
        Height over chord (inf in free air), chord Reynolds number, angle of attack [deg].
    cl, cd, cm, transition_upper, transition_lower : ndarray, shape (n,)
        As in `SectionPolar`; nan where the point did not converge.
    status : ndarray of str, shape (n,)
        As in `SectionPolar`.
    method, surface : str
        How it was computed.
    tab_chord : float
        Height of the trailing-edge tab over the chord.
    """

    section: np.ndarray
    height_chord: np.ndarray
    reynolds: np.ndarray
    alpha_deg: np.ndarray
    cl: np.ndarray
    cd: np.ndarray
    cm: np.ndarray
    transition_upper: np.ndarray
    transition_lower: np.ndarray
    status: np.ndarray
    method: str
    surface: str
    tab_chord: float


@dataclass(frozen=True)
class Progress:
    """How far the work is: batches done of all, seconds left (nan before the first is done), and what."""

    done: int
    total: int
    seconds_left: float
    doing: str

    def __str__(self) -> str:
        left = "" if np.isnan(self.seconds_left) else f", about {self.seconds_left:.0f} s left"
        return f"{self.doing}: {self.done} of {self.total}{left}"


def compute_batch(batch: Batch) -> SectionPolar:
    """The polar of one batch alone."""
    return compute_together([batch])[0]


def compute_together(batches: Sequence[Batch]) -> list[SectionPolar]:
    """The polars of batches of one method, solved together; runs in any process."""
    questions = [
        Question(
            batch.section,
            np.array([batch.reynolds]),
            batch.alpha_deg,
            batch.surface,
            batch.trip_x,
            batch.tab_chord,
            batch.height_chord,
        )
        for batch in batches
    ]
    return polars(questions, batches[0].method)


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
    progress: Callable[[Progress], None] | None = None,
) -> SweepGrid:
    """Section coefficients over a full grid, computed by as many workers as there are.

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
        Folder for finished batches; a second call with the same folder computes only what is missing.
    progress : callable, optional
        Called with a `Progress` after each batch.

    Raises
    ------
    RangeError
        An empty grid, or fewer than one job.
    WingtoolError
        The workers died again and again, or the executor broke; what was finished is in `keep_in`.

    Examples
    --------
    >>> from wingtool import four_digit, sweep_grid
    >>> grid = sweep_grid([four_digit("2412")], [0.0, 4.0], [5e5], method="surrogate")
    >>> grid.alpha_deg
    array([0., 4.])
    """
    batches = _batches(sections, alpha_deg, reynolds, heights_chord, method, surface, tab_chord)
    if not batches:
        raise RangeError("a sweep needs at least one section, angle, Reynolds number and height")
    return _grid(batches, _all_of(batches, jobs, executor, keep_in, progress))


def polar_in_parts(
    section: Section,
    reynolds,
    alpha_deg,
    jobs: int = 1,
    keep_in: Path | str | None = None,
    progress: Callable[[Progress], None] | None = None,
    **kind,
) -> SectionPolar:
    """A polar put together from one batch for each Reynolds number; `kind` and the rest as for `polar`.

    The rows do not depend on `jobs`; `jobs`, `keep_in` and `progress` as for `sweep_grid`.
    """
    angles = np.atleast_1d(np.asarray(alpha_deg, dtype=float))
    numbers = np.atleast_1d(np.asarray(reynolds, dtype=float))
    height = kind.pop("height_chord", np.inf)
    batches = [Batch(section, angles, float(number), height, **kind) for number in numbers]
    parts = _all_of(batches, jobs, None, keep_in, progress)
    rows: dict[str, Any] = {
        name: np.concatenate([getattr(part, name) for part in parts])
        for name in ROWS
        if getattr(parts[0], name) is not None
    }
    notes = tuple(dict.fromkeys(note for part in parts for note in part.notes))
    return replace(parts[0], reynolds=numbers, notes=notes, **rows)


def compute_batches(
    batches: Sequence[Batch], jobs: int = 1, progress: Callable[[Progress], None] | None = None
) -> list[SectionPolar]:
    """The polars of any batches, in their order, by this many processes."""
    return _all_of(batches, jobs, None, None, progress)


def _all_of(batches: Sequence[Batch], jobs: int, executor, keep_in, progress) -> list[SectionPolar]:
    if jobs < 1:
        raise RangeError(f"{jobs} jobs cannot compute anything; give 1 or more")
    found = {k: part for k, batch in enumerate(batches) if (part := _kept(keep_in, batch)) is not None}
    started, before = time.monotonic(), len(found)
    for k, part in _computed(batches, sorted(set(range(len(batches))) - set(found)), jobs, executor):
        found[k] = part
        _keep(keep_in, batches[k], part)
        if progress is not None:
            each_s = (time.monotonic() - started) / (len(found) - before)
            left = each_s * (len(batches) - len(found))
            progress(Progress(len(found), len(batches), left, f"{batches[0].method} sweep"))
    return [found[k] for k in range(len(batches))]


def _batches(sections, alpha_deg, reynolds, heights_chord, method, surface, tab_chord) -> list[Batch]:
    angles = np.atleast_1d(np.asarray(alpha_deg, dtype=float))
    return [
        Batch(section, angles, float(number), float(height), method, surface, float(tab_chord))
        for section in sections
        for height in np.atleast_1d(heights_chord)
        for number in np.atleast_1d(reynolds)
        if len(angles)
    ]


def _computed(batches: Sequence[Batch], todo: Sequence[int], jobs: int, executor: Executor | None):
    """Yield (number, polar) as they come."""
    if executor is not None:
        groups = _groups(batches, todo, 1)
        try:
            yield from _through(executor, batches, groups, len(groups))
        except BrokenExecutor as error:
            raise WingtoolError(
                f"the executor broke ({error}); start it again, with keep_in to go on where it stopped"
            ) from error
    elif jobs == 1 or len(todo) < 2:
        for group in _groups(batches, todo, 1):
            yield from zip(group, compute_together([batches[k] for k in group]), strict=True)
    else:
        yield from _by_own_pool(batches, todo, min(jobs, len(todo)))


def _groups(batches: Sequence[Batch], todo: Sequence[int], jobs: int) -> list[list[int]]:
    """Batches that are computed together: neighbours of one method, the coupled solver's up to `TOGETHER`.

    A result does not depend on the cut; each of `jobs` workers gets its share.
    """
    share = -(-len(todo) // jobs)
    groups: list[list[int]] = []
    for k in todo:
        last = groups[-1] if groups else []
        together = min(TOGETHER, share) if batches[k].method in SOLVED else 1
        if last and len(last) < together and batches[last[-1]].method == batches[k].method:
            last.append(k)
        else:
            groups.append([k])
    return groups


def _by_own_pool(batches: Sequence[Batch], todo: Sequence[int], jobs: int):
    """A pool of our own, made anew when a worker is killed; only what is missing goes again."""
    left, deaths = set(todo), 0
    while left:
        before = len(left)
        try:
            with worker_pool(jobs) as pool:
                groups = _groups(batches, sorted(left), jobs)
                for k, rows in _through(pool, batches, groups, IN_FLIGHT * jobs):
                    left.discard(k)
                    yield k, rows
        except BrokenExecutor as error:
            deaths = 1 if len(left) < before else deaths + 1
            if deaths > MOST_RESTARTS:
                raise WingtoolError(
                    "worker processes die as soon as they start; use --jobs 1, or free some memory"
                ) from error


def _through(executor: Executor, batches: Sequence[Batch], groups: Sequence[list[int]], most: int):
    """Yield (number, polar) as they come, with at most `most` groups handed out."""
    waiting = iter(groups)
    running: dict = {}
    try:
        while True:
            while len(running) < most and (group := next(waiting, None)) is not None:
                running[executor.submit(compute_together, [batches[k] for k in group])] = group
            if not running:
                return
            done, _ = wait(running, return_when=FIRST_COMPLETED)
            for future in done:
                yield from zip(running.pop(future), future.result(), strict=True)
    finally:
        for future in running:
            future.cancel()


TOLD = ("band_origin", "notes")


def _keep(folder: Path | str | None, batch: Batch, part: SectionPolar) -> None:
    if folder is None:
        return
    absent = np.empty(0)
    rows = {name: absent if (value := getattr(part, name)) is None else value for name in ROWS}
    rows["status"] = np.asarray(part.status, dtype=str)
    told = {name: np.array(getattr(part, name), dtype=str) for name in TOLD}
    write_row(Path(folder), batch.facts, rows | told)


def _kept(folder: Path | str | None, batch: Batch) -> SectionPolar | None:
    """The polar of an earlier run; a damaged file counts as none, and so does one that lacks a row."""
    found = None if folder is None else read_row(Path(folder), batch.facts, (*ROWS, *TOLD))
    if found is None:
        return None
    origin, notes = str(found.pop("band_origin")), tuple(str(note) for note in found.pop("notes"))
    shape = (1, len(batch.alpha_deg))
    if any(value.size and value.shape != shape for value in found.values()):
        return None
    rows: dict[str, Any] = {name: value if value.size else None for name, value in found.items()}
    rows["status"] = rows["status"].astype(object)
    return SectionPolar(
        alpha_deg=batch.alpha_deg,
        reynolds=np.array([batch.reynolds]),
        method=batch.method,
        section=batch.section,
        surface=batch.surface,
        trip_x=batch.trip_x,
        tab_chord=batch.tab_chord,
        height_chord=batch.height_chord,
        band_origin=origin,
        notes=notes,
        **rows,
    )


def _grid(batches: Sequence[Batch], parts: Sequence[SectionPolar]) -> SweepGrid:
    count = len(batches[0].alpha_deg)
    missing = np.full(count, np.nan)
    columns = {
        name: np.concatenate(
            [missing if (rows := getattr(part, name)) is None else rows[0] for part in parts]
        )
        for name in GRID_NUMBERS
    }
    return SweepGrid(
        section=np.repeat([batch.section.name for batch in batches], count),
        height_chord=np.repeat([batch.height_chord for batch in batches], count),
        reynolds=np.repeat([batch.reynolds for batch in batches], count),
        alpha_deg=np.concatenate([batch.alpha_deg for batch in batches]),
        status=np.concatenate([np.asarray(part.status[0], dtype=str) for part in parts]),
        method=batches[0].method,
        surface=batches[0].surface,
        tab_chord=batches[0].tab_chord,
        **columns,
    )
