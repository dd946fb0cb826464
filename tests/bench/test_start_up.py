"""How long the command needs to start, beside a bare two-command typer program."""

import subprocess
import sys
import time
from pathlib import Path

import pytest

COMMAND = str(Path(sys.executable).with_name("wingtool"))
BARE = """
import typer
app = typer.Typer()
@app.command()
def one(): pass
@app.command()
def two(): pass
app()
"""


def seconds(command: list[str], repeats: int = 9) -> float:
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        times.append(time.perf_counter() - start)
    return sorted(times)[repeats // 2]


@pytest.mark.bench
def test_help_beside_a_bare_program(tmp_path):
    """TWIN: the median of nine runs each; the bar is 1.5."""
    program = tmp_path / "bare.py"
    program.write_text(BARE)
    bare = seconds([sys.executable, str(program), "--help"])
    ours = seconds([COMMAND, "--help"])
    print(f"\nwingtool --help {ours:.3f} s, bare program {bare:.3f} s, ratio {ours / bare:.2f} (bar 1.5)")


@pytest.mark.bench
def test_demo_from_cold(tmp_path, monkeypatch):
    """The bundled study with an empty cache; the bar is 10 s, 15 s with the coupled solver."""
    monkeypatch.setenv("WINGTOOL_CACHE", str(tmp_path / "cache"))
    print(f"\nwingtool demo, cold: {seconds([COMMAND, 'demo', str(tmp_path / 'demo')], 1):.1f} s")
