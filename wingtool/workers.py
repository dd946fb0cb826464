"""Worker processes that end with their parent, however it ends, and at once when it is told to stop."""

import gc
import os
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, ProcessPoolExecutor
from contextlib import contextmanager
from functools import partial
from importlib import import_module
from multiprocessing import connection, get_context, parent_process
from threading import Thread
from typing import TypeVar

from wingtool.constants import OBJECTS_PER_COLLECTION, ONE_THREAD

Result = TypeVar("Result")


def cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@contextmanager
def beside(*modules: str) -> Iterator[Executor | None]:
    """One process for work beside this one's, which will need these modules; none with one core."""
    if cores() == 1:
        yield None
        return
    if without_threads():
        load(*modules)
    with worker_pool(1) as pool:
        start(pool, load, *modules)
        yield pool


def start(pool: Executor | None, function: Callable[..., Result], *given) -> Callable[[], Result]:
    """Hand work to a pool; a callable that waits for the result. Without a pool that works, done here."""
    here = partial(function, *given)
    if pool is None:
        return here
    try:
        future = pool.submit(function, *given)
    except BrokenExecutor:
        return here

    def result() -> Result:
        try:
            return future.result()
        except BrokenExecutor:
            return here()

    return result


def load(*modules: str) -> None:
    """Import modules."""
    for name in modules:
        import_module(name)


def without_threads() -> bool:
    """Whether this process has one thread, those of libraries counted; only Linux says so."""
    try:
        return len(os.listdir("/proc/self/task")) == 1
    except OSError:
        return False


@contextmanager
def worker_pool(jobs: int) -> Iterator[ProcessPoolExecutor]:
    """A pool of `jobs` processes with one BLAS thread each: more would fight over the same cores.

    They are copies of this process, with all that it has loaded, where that is safe: without threads. When
    the block ends, the workers are not waited for: what they are at is given up. When this process is killed
    they see it by the end of a pipe that only it holds open: each copy closes its own end first.
    """
    copied = without_threads()
    context = get_context("fork" if copied else "spawn")
    there, here = context.Pipe(duplex=False)
    given = (there, here) if copied else (there,)
    pool = ProcessPoolExecutor(jobs, context, initializer=_watch, initargs=given)
    try:
        with _one_thread_each():
            yield pool
    finally:
        here.close()  # the workers leave at once
        pool.shutdown(cancel_futures=True)
        there.close()


@contextmanager
def _one_thread_each() -> Iterator[None]:
    before = {name: os.environ.get(name) for name in ONE_THREAD}
    os.environ.update(dict.fromkeys(ONE_THREAD, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def _watch(stop: connection.Connection, *copied: connection.Connection) -> None:
    """Run in each worker at its start: leave Ctrl-C to the parent, and end when it does or says so."""
    for end in copied:
        end.close()
    gc.set_threshold(OBJECTS_PER_COLLECTION)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    parent = parent_process()

    def wait() -> None:
        connection.wait([stop, parent.sentinel] if parent else [stop])
        os._exit(0)

    Thread(target=wait, daemon=True).start()
