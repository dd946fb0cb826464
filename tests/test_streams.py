"""The answer reaches the file and the exit code whatever becomes of the screen."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

COMMAND = str(Path(sys.executable).parent / "wingtool")
QUICK = "sweep 4412 --method surrogate --angles 0:4:2"


def shell(line: str, folder: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(["bash", "-c", line], cwd=folder, env=os.environ | environment, capture_output=True,
                          text=True)  # fmt: skip


@pytest.mark.parametrize(
    ("line", "encoding"),
    [
        (f"{COMMAND} inspect fen-flat > log", "cp1252"),
        (f"{COMMAND} inspect fen-flat > log", "ascii"),
        (f"{COMMAND} {QUICK} --out t.csv >&-", "utf-8"),
        (f"{COMMAND} {QUICK} --out t.csv >&- 2>&-", "utf-8"),
        (f"{COMMAND} {QUICK} --out t.csv | true; exit ${{PIPESTATUS[0]}}", "utf-8"),
        (f"{COMMAND} --help | true; exit ${{PIPESTATUS[0]}}", "utf-8"),
    ],
)
def test_the_screen_costs_no_answer(line, encoding, tmp_path):
    done = shell(line, tmp_path, PYTHONIOENCODING=encoding)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    if "--out" in line:
        assert (tmp_path / "t.csv").exists()


def test_a_name_that_steers_the_terminal_is_printed_plain(tmp_path):
    done = shell(f"{COMMAND} inspect $'\\e[31mred.dat'", tmp_path)
    assert done.returncode == 2
    assert "\x1b" not in done.stderr
