"""A progress bar with the time left, on the error channel; silent where nobody watches."""

import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

STEPS_OF_A_STUDY = 10  # messages that a study sends on its way to a result
COUNT = re.compile(r"(\d+) of (\d+)")


@contextmanager
def progress_bar(steps: int | None = None) -> Iterator[Callable[[object], None]]:
    """Give a callable that takes a line on what is being done and moves the bar.

    A line with "3 of 40" in it sets the bar to that share; any other moves it by one of `steps`, and without
    `steps` it only shows that work goes on. Nothing is drawn when the error channel is no terminal. The bar
    goes away at the end.
    """
    if not sys.stderr.isatty():
        yield lambda _text: None
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
            line = "".join(letter if letter.isprintable() else "?" for letter in str(text))
            if count := COUNT.search(line):
                bar.update(task, completed=int(count[1]), total=int(count[2]), description=line[:50])
                return
            done = None if steps is None else min(started, steps - 1)
            bar.update(task, completed=done, total=steps, description=line[:50])
            started += 1

        yield progress
