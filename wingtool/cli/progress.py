"""A progress bar with the time left, on the error channel; plain lines or silence where nobody watches."""

import re
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from wingtool.cli.screen import printable

STEPS_OF_A_STUDY = 10  # messages that a study sends on its way to a result
COUNT = re.compile(r"(\d+) of (\d+)")
LINE_EVERY_S = 5.0  # at most, through a pipe or into a file


@contextmanager
def progress_bar(steps: int | None = None, lines: bool = False) -> Iterator[Callable[[object], None]]:
    """Give a callable that takes a line on what is being done and moves the bar.

    A line with "3 of 40" in it sets the bar to that share; any other moves it by one of `steps`, and without
    `steps` it only shows that work goes on. Where the error channel is no terminal nothing is drawn; with
    `lines` some of the lines are printed there. The bar goes away at the end.
    """
    if not sys.stderr.isatty():
        yield _printer() if lines else lambda _text: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}", markup=False), BarColumn(), TimeElapsedColumn(),
               TextColumn("left"), TimeRemainingColumn())  # fmt: skip
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("reading", total=steps)
        started = 0

        def progress(text: object) -> None:
            nonlocal started
            line = printable(str(text))
            if count := COUNT.search(line):
                bar.update(task, completed=int(count[1]), total=int(count[2]), description=line[:50])
                return
            done = None if steps is None else min(started, steps - 1)
            bar.update(task, completed=done, total=steps, description=line[:50])
            started += 1

        yield progress


def _printer() -> Callable[[object], None]:
    """Print a line on the error channel when none was printed for a while."""
    printed_s = -LINE_EVERY_S

    def progress(text: object) -> None:
        nonlocal printed_s
        if (now_s := time.monotonic()) - printed_s >= LINE_EVERY_S:
            printed_s = now_s
            print(printable(str(text)), file=sys.stderr, flush=True)

    return progress
