"""Files read with care, written whole, swept; arrays of a damaged cache."""

import os
import random
import re
import subprocess
import sys
import threading
import time

import numpy as np
import pytest

from wingtool.errors import OutputError, StudyError
from wingtool.files import load_arrays, plain_bytes, save_arrays, write_text, write_whole

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


DIE_BEFORE = (  # killed as `os.<name>` is called: the moment before the file gets its hidden or its own name
    "import os, sys, wingtool.files\n"
    "setattr(os, sys.argv[2], lambda *_, **__: os.kill(os.getpid(), 9))\n"
    "wingtool.files.write_text(sys.argv[1], 'half')\n"
)


@pytest.mark.skipif(not hasattr(os, "O_TMPFILE"), reason="no files without a name here")
def test_a_process_killed_while_it_writes_leaves_nothing(tmp_path):
    subprocess.run([sys.executable, "-c", DIE_BEFORE, str(tmp_path / "t.csv"), "link"], check=False)
    assert not list(tmp_path.iterdir())


def test_what_a_killed_process_left_is_swept_by_the_next(tmp_path):
    subprocess.run([sys.executable, "-c", DIE_BEFORE, str(tmp_path / "t.csv"), "replace"], check=False)
    left = list(tmp_path.iterdir())
    running = left[0].with_name(re.sub(r"-\d+-", f"-{os.getppid()}-", left[0].name))
    elsewhere = tmp_path / ".wingtool-otherhost-999999-x"  # of another machine on a shared folder
    for kept in (running, elsewhere):
        kept.touch()
    write_text(tmp_path / "t.csv", "whole")
    assert {path.name for path in tmp_path.iterdir()} == {"t.csv", elsewhere.name, running.name}


@pytest.mark.parametrize("nameless", [True, False])
def test_a_file_is_written_whole_or_the_old_one_stays(tmp_path, monkeypatch, nameless):
    """EXACT: with files without a name and without; what stands there keeps its content on a fault."""
    if not nameless:
        monkeypatch.delattr(os, "O_TMPFILE", raising=False)
    path = tmp_path / "deep" / "t.bin"
    assert write_whole(path, b"\0old").read_bytes() == b"\0old"
    assert write_whole(path, b"\0new").read_bytes() == b"\0new"
    umask = os.umask(0)
    os.umask(umask)
    assert path.stat().st_mode & 0o777 == 0o666 & ~umask
    with pytest.raises(OutputError, match="cannot write"):
        write_whole(path.parent, b"over a folder")
    assert [found.name for found in tmp_path.rglob("*")] == ["deep", "t.bin"]


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
        write_text(tmp_path / f"{k}.txt", str(k))

    threads = [threading.Thread(target=write, args=(k,)) for k in range(8)]
    [thread.start() for thread in threads]
    [thread.join() for thread in threads]
    assert sorted(path.name for path in tmp_path.iterdir()) == [f"{k}.txt" for k in range(8)]
