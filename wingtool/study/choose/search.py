"""Any number of shapes through the surrogate and the wing's lines, in this process, in many, or on a cluster.

The rows are cut into batches that do not depend on who computes them. Each finished batch is kept under the
hash of what it was computed from, so that a search that was stopped goes on where it stopped.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, wait
from dataclasses import astuple, dataclass, fields
from pathlib import Path

import numpy as np

from wingtool.errors import RangeError, WingtoolError
from wingtool.section import read_row, surrogate_shapes, write_row
from wingtool.study.choose.aim import Aim
from wingtool.study.choose.estimate import ALPHA_DEG, WingEstimate, Working, working
from wingtool.study.progress import no_progress
from wingtool.tracing import for_surrogate

BATCH = 200  # shapes: some tenths of a second of work
IN_FLIGHT = 4  # batches handed out per worker, as `sweep_grid` does
NAMES = tuple(field.name for field in fields(Working))


@dataclass(frozen=True, eq=False)
class SearchBatch:
    """Rows (n, 26) with all that their answer depends on."""

    rows: np.ndarray
    estimate: WingEstimate
    aim: Aim

    @property
    def facts(self) -> tuple:
        """Rows, lines and aim: all that the answer depends on but wingtool's own source."""
        return (self.rows, *astuple(self.estimate), *astuple(self.aim))


def compute_search_batch(batch: SearchBatch) -> Working:
    """The working points of one batch; runs in any process."""
    shapes = for_surrogate(batch.rows)
    slow, fast = (
        surrogate_shapes(shapes, reynolds, ALPHA_DEG, batch.estimate.trip_x)
        for reynolds in batch.estimate.reynolds
    )
    return working(batch.estimate, batch.aim, slow, fast)


def search_shapes(
    rows: np.ndarray,
    estimate: WingEstimate,
    aim: Aim,
    executor: Executor | None = None,
    workers: int = 2,
    keep_in: Path | str | None = None,
    progress: Callable[[str], None] = no_progress,
) -> Working:
    """The best working point of every row.

    Parameters
    ----------
    rows : ndarray, shape (n, 26)
        Shape parameters.
    executor : concurrent.futures.Executor, optional
        Somebody's workers, for example those of a cluster, ``distributed.Client(...).get_executor()``; this
        process if left out.
    workers : int
        How many the executor has: so many times four batches are handed out at once.
    keep_in : path, optional
        Folder for finished batches; a second call with the same folder computes only what is missing.
    progress : callable
        Takes a line on how far it is.

    Raises
    ------
    RangeError
        No row.
    WingtoolError
        The executor broke; what was finished is in `keep_in`.
    """
    if not len(rows):
        raise RangeError("a search needs at least one shape")
    batches = [SearchBatch(rows[k : k + BATCH], estimate, aim) for k in range(0, len(rows), BATCH)]
    found = {}
    for k, batch in enumerate(batches if keep_in is not None else ()):
        row = read_row(Path(keep_in), batch.facts, NAMES)  # type: ignore[arg-type]
        if row is not None:
            found[k] = Working(**row)
    todo = [k for k in range(len(batches)) if k not in found]
    for k, part in _computed(batches, todo, executor, workers):
        found[k] = part
        if keep_in is not None:
            write_row(Path(keep_in), batches[k].facts, {name: getattr(part, name) for name in NAMES})
        progress(f"surrogate: {min(len(found) * BATCH, len(rows))} of {len(rows)} shapes")
    parts = [found[k] for k in range(len(batches))]
    return Working(*(np.concatenate([getattr(part, name) for part in parts]) for name in NAMES))


def _computed(batches, todo, executor, workers) -> Iterator[tuple[int, Working]]:
    if executor is None:
        yield from ((k, compute_search_batch(batches[k])) for k in todo)
        return
    waiting, running = iter(todo), {}  # type: ignore[var-annotated]
    try:
        while True:
            while len(running) < IN_FLIGHT * workers and (k := next(waiting, None)) is not None:
                running[executor.submit(compute_search_batch, batches[k])] = k
            if not running:
                return
            done, _ = wait(running, return_when=FIRST_COMPLETED)
            for future in done:
                yield running.pop(future), future.result()
    except BrokenExecutor as error:
        raise WingtoolError(
            f"the workers of the search broke ({error}); start it again, with keep_in to go on"
        ) from error
    finally:
        for future in running:
            future.cancel()
