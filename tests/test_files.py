"""Files read with care, written whole, swept; arrays of a damaged cache."""

import os
import random
import subprocess
import sys
import threading
import time

import numpy as np
import pytest

from wingtool.errors import StudyError
from wingtool.files import load_arrays, plain_bytes, save_arrays, whole_file

ROW = {"cl": np.linspace(0.0, 1.0, 60) ** 2, "status": np.array(["converged", "beyond stall"] * 30)}


def test_any_damage_to_a_cache_file_reads_as_nothing_or_as_it_was(tmp_path):
    """EXACT: 1,500 damaged copies, cut short or with one to eight bytes changed anywhere."""
    path = tmp_path / "row.npz"
    save_arrays(path, ROW)
    whole, rng = path.read_bytes(), random.Random(3)
    for _ in range(1500):
        spoiled = bytearray(whole[: rng.randrange(len(whole))] if rng.random() < 0.2 else whole)
        for _ in range(rng.randint(1, 8)):
            if spoiled:
                spoiled[rng.randrange(len(spoiled))] = rng.randrange(256)
        path.write_bytes(spoiled)
        found = load_arrays(path)
        assert found is None or all(np.array_equal(found[n], ROW[n]) for n in set(found) & set(ROW))


def test_the_same_arrays_make_the_same_bytes_whatever_the_clock_says(tmp_path, monkeypatch):
    """EXACT: also with a clock before 1980, of which an archive knows nothing."""
    save_arrays(tmp_path / "a.npz", ROW)
    monkeypatch.setattr(time, "time", lambda: 1000.0)
    monkeypatch.setattr(time, "localtime", lambda *_: time.struct_time((1970, 1, 1, 0, 16, 40, 3, 1, 0)))
    save_arrays(tmp_path / "b.npz", ROW)
    assert (tmp_path / "a.npz").read_bytes() == (tmp_path / "b.npz").read_bytes()


def test_what_a_killed_process_left_is_swept_by_the_next(tmp_path):
    code = (
        "import os, sys\nfrom wingtool.files import whole_file\n"
        "with whole_file(sys.argv[1]) as beside:\n"
        "    beside.write_text('half')\n    os.kill(os.getpid(), 9)\n"
    )
    subprocess.run([sys.executable, "-c", code, str(tmp_path / "t.csv")], check=False)
    assert len(list(tmp_path.iterdir())) == 1
    elsewhere = tmp_path / ".wingtool-otherhost-999999-x"  # of another machine on a shared folder
    elsewhere.touch()
    with whole_file(tmp_path / "t.csv") as beside:
        beside.write_text("whole")
    assert {path.name for path in tmp_path.iterdir()} == {"t.csv", elsewhere.name}


def test_a_file_that_somebody_else_writes_is_not_swept(tmp_path):
    code = "import sys\nfrom wingtool.files import write_text\nwrite_text(sys.argv[1], 'x')"
    with whole_file(tmp_path / "one.csv") as beside:
        subprocess.run([sys.executable, "-c", code, str(tmp_path / "two.csv")], check=True)
        assert beside.exists()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with a name here")
def test_a_pipe_a_device_and_a_large_file_are_refused_at_once(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "large").write_bytes(b"0" * 2000)
    for path, reason in ((tmp_path / "pipe", "plain"), ("/dev/zero", "plain"), (tmp_path, "folder"),
                         (tmp_path / "large", "most"), ("no\0name", "cannot|no such")):  # fmt: skip
        with pytest.raises(StudyError, match=reason):
            plain_bytes(path, 1000, "a study", StudyError)


def test_threads_may_write_into_one_folder(tmp_path):
    def write(k: int) -> None:
        with whole_file(tmp_path / f"{k}.txt") as beside:
            beside.write_text(str(k))

    threads = [threading.Thread(target=write, args=(k,)) for k in range(8)]
    [thread.start() for thread in threads]
    [thread.join() for thread in threads]
    assert sorted(path.name for path in tmp_path.iterdir()) == [f"{k}.txt" for k in range(8)]
