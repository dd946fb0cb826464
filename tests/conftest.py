"""For all tests: a cache of their own, shared by the workers of one run, and one thread for each worker."""

import os
import shutil
import tempfile

from hypothesis import settings

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # two workers with two threads each slow one another down

if "PYTEST_XDIST_WORKER" not in os.environ:  # workers inherit it
    os.environ["WINGTOOL_CACHE"] = tempfile.mkdtemp(prefix="wingtool-tests-")


def pytest_sessionfinish(session):
    """The controller, or the one process that there is, removes the cache."""
    if not hasattr(session.config, "workerinput"):
        shutil.rmtree(os.environ["WINGTOOL_CACHE"], ignore_errors=True)


# An example's time depends on what else the machine does; what an example proves does not.
# The suite judges a change: the same examples before and after it. `--hypothesis-profile fresh` draws others.
settings.register_profile("wingtool", deadline=None, derandomize=True)
settings.register_profile("fresh", deadline=None)
settings.load_profile("wingtool")
