"""A progress bar with the time left, on the error channel; silent where nobody watches."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


def _silent(text: object) -> None:  # noqa: ARG001  nobody watches
    pass


@contextmanager
def progress_bar(steps: int) -> Iterator[Callable[[object], None]]:
    """Give a callable that takes a line on what is being done and moves the bar by one of `steps`.

    Nothing is drawn when the error channel is no terminal. The bar goes away at the end.
    """
    if not sys.stderr.isatty():
        yield _silent
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TextColumn("left"), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("reading", total=steps)
        done = -1

        def progress(text: object) -> None:
            nonlocal done
            done = min(done + 1, steps - 1)
            bar.update(task, completed=done, description=str(text)[:50])

        yield progress
