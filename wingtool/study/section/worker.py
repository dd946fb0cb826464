"""Worker processes that end with their parent, however it ends, and at once when it is told to stop."""

import os
import signal
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import connection, get_context, parent_process
from threading import Thread


@contextmanager
def worker_pool(jobs: int) -> Iterator[ProcessPoolExecutor]:
    """A pool of `jobs` processes.

    When the block ends with an error, Ctrl-C among them, the workers are not waited for: what they are at is
    given up. When this process is killed they see it by the end of a pipe that only it holds open.
    """
    context = get_context("spawn")
    there, here = context.Pipe(duplex=False)
    pool = ProcessPoolExecutor(jobs, context, initializer=_watch, initargs=(there,))
    try:
        yield pool
    except BaseException:
        here.close()  # the workers leave
        pool.shutdown(wait=False, cancel_futures=True)
        raise
    finally:
        pool.shutdown()
        here.close()
        there.close()


def _watch(stop: connection.Connection) -> None:
    """Run in each worker at its start: leave Ctrl-C to the parent, and end when it does or says so."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    parent = parent_process()

    def wait() -> None:
        connection.wait([stop, parent.sentinel] if parent else [stop])
        os._exit(0)

    Thread(target=wait, daemon=True).start()
