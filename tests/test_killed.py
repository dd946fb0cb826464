"""Killed or stopped in the middle of parallel work: no worker stays, no half file, and soon."""

import os
import signal
import subprocess
import sys
import threading
import time
from functools import partial
from pathlib import Path

import pytest

from wingtool.workers import start, worker_pool

COMMAND = Path(sys.executable).parent / "wingtool"
PROCESSES = Path("/proc")
MOST_SECONDS = 5.0
SWEEP = ("sweep", "4412", "--reynolds", "3e5,4e5,5e5,6e5,7e5,8e5", "--jobs", "2", "--keep")

pytestmark = pytest.mark.skipif(not PROCESSES.is_dir(), reason="processes are counted in /proc")


def marked(mark: str) -> list[int]:
    """Processes whose environment holds the mark: a run and whatever it started."""
    found = []
    for folder in PROCESSES.iterdir():
        try:
            if folder.name.isdigit() and mark.encode() in (folder / "environ").read_bytes():
                found.append(int(folder.name))
        except OSError:
            continue
    return found


def stopped(
    word: signal.Signals, tmp_path: Path, after_s: float, words=SWEEP, processes: int = 3
) -> tuple[list[int], list[str], float]:
    """Processes and strange files that are left, and the seconds that it took the command to end.

    A sweep has itself and two workers; it is stopped some time after all are there.
    """
    mark, out = f"WINGTOOL_CACHE={tmp_path / 'cache'}", tmp_path / "out"
    words = [COMMAND, *words, out]
    environment = os.environ | {"WINGTOOL_CACHE": str(tmp_path / "cache")}
    heard = partial(signal.signal, signal.SIGINT, signal.default_int_handler)  # a shell may have it ignored
    nowhere = subprocess.DEVNULL
    child = subprocess.Popen(words, env=environment, stdout=nowhere, stderr=nowhere, preexec_fn=heard)
    started = time.monotonic()
    while len(marked(mark)) < processes and time.monotonic() - started < 60:
        time.sleep(0.05)
    time.sleep(after_s)
    assert len(marked(mark)) >= processes
    told = time.monotonic()
    child.send_signal(word)
    child.wait(60)
    ended = time.monotonic() - told
    while marked(mark) and time.monotonic() - told < MOST_SECONDS:
        time.sleep(0.05)
    strange = [path.name for path in out.iterdir() if path.suffix != ".npz"] if out.is_dir() else []
    return marked(mark), strange, ended


@pytest.mark.parametrize("name", ["SIGTERM", "SIGKILL", "SIGINT"])
def test_the_copy_beside_a_study_ends_with_it(name, tmp_path):
    left, _, ended = stopped(signal.Signals[name], tmp_path, 0.3, ("demo",), processes=2)
    assert left == []
    assert ended < MOST_SECONDS


@pytest.mark.parametrize(
    ("name", "after_s"), [("SIGTERM", 1.0), ("SIGKILL", 1.0), ("SIGINT", 1.0), ("SIGKILL", 0.0)]
)
def test_no_worker_outlives_its_parent(name, after_s, tmp_path):
    left, strange, ended = stopped(signal.Signals[name], tmp_path, after_s)
    assert left == []
    assert strange == []
    assert ended < MOST_SECONDS


def test_a_pool_has_come_down_when_its_block_ends():
    """What still runs then would find closed pipes and show a traceback after the answer."""
    before = set(threading.enumerate())
    with worker_pool(1) as pool:
        start(pool, time.sleep, 60.0)
        start(pool, len, b"x" * 10**7)
        began = time.monotonic()
    assert set(threading.enumerate()) == before
    assert time.monotonic() - began < MOST_SECONDS


def test_ctrl_c_while_the_command_loads_shows_no_traceback():
    code = (
        "import builtins, wingtool.cli\nplain = builtins.__import__\n"
        "def stopped(name, *rest):\n"
        "    if name == 'typer': raise KeyboardInterrupt\n"
        "    return plain(name, *rest)\n"
        "builtins.__import__ = stopped\nwingtool.cli.main()\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (130, "")
