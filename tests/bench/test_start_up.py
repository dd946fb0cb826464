"""How long the command needs to start, and a study from an empty cache, again, and changed."""

import os
import re
import shutil
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
def test_help_beside_a_bare_program(tmp_path, capsys):
    """TWIN: the median of nine runs each; the bars are 1.5 bare programs and 3 imports of typer."""
    program = tmp_path / "bare.py"
    program.write_text(BARE)
    bare = seconds([sys.executable, str(program), "--help"])
    alone = seconds([sys.executable, "-c", "import typer"])
    ours = seconds([COMMAND, "--help"])
    with capsys.disabled():
        print(
            f"\nwingtool --help {ours:.3f} s: {ours / bare:.2f} bare programs (bar 1.5),"
            f" {ours / alone:.2f} imports of typer (bar 3)"
        )


def study_seconds(root: Path, folder: Path) -> tuple[float, ...]:
    """The bundled study of a checkout with an empty cache, again, and over other angles."""
    environment = os.environ | {"PYTHONPATH": str(root), "WINGTOOL_CACHE": str(folder / "cache")}
    text = (root / "studies" / "green_hatch.toml").read_text(encoding="utf-8")
    changed = folder / "changed.toml"
    changed.write_text(re.sub(r"(?m)^angles = .*", 'angles = "-3:13:1"', text), encoding="utf-8")
    for beside in (root / "studies").iterdir():
        shutil.copy(beside, folder)
    spent = []
    demo = ("demo", folder / "out")
    for words in (demo, demo, ("run", changed, "--out", folder / "new")):
        start = time.perf_counter()
        subprocess.run([COMMAND, *words], check=True, capture_output=True, env=environment)
        spent.append(time.perf_counter() - start)
    return tuple(spent)


@pytest.mark.bench
def test_a_study_cold_again_and_changed(tmp_path_factory, capsys):
    """Bars: cold 6 s and 0.4, changed 2.5 s and 0.15 of the cold run of the checkout in WINGTOOL_BEFORE."""
    cold, again, changed = study_seconds(Path(__file__).parents[2], tmp_path_factory.mktemp("now"))
    told = f"demo cold {cold:.1f} s, again {again:.1f} s, other angles {changed:.1f} s"
    if before := os.environ.get("WINGTOOL_BEFORE"):
        old = study_seconds(Path(before), tmp_path_factory.mktemp("before"))[0]
        told += f"; of {old:.1f} s before: {cold / old:.2f}, {again / old:.2f}, {changed / old:.2f}"
    with capsys.disabled():
        print(f"\n{told}")
