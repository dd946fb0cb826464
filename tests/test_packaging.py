"""What a stranger gets: the wheel away from the clone, and the README's own commands."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from wingtool.cli.app import app
from wingtool.study import read_study

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def shell_blocks(text: str) -> list[str]:
    return [block.strip() for block in re.findall(r"```sh\n(.*?)```", text, re.DOTALL)]


def clone(target: Path) -> Path:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True)
    for name in listed.stdout.splitlines():
        if (ROOT / name).exists():
            (target / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(ROOT / name, target / name)
    return target


def bash(command: str, folder: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["bash", "-euo", "pipefail", "-c", command],
        cwd=folder,
        env=os.environ | environment,
        capture_output=True,
        text=True,
    )


@pytest.mark.slow
def test_the_wheel_runs_the_demo_away_from_the_clone(tmp_path):
    source, away = clone(tmp_path / "source"), tmp_path / "away"
    away.mkdir()
    made = bash(f"{sys.executable} -m pip wheel -q --no-deps -w {away} {source}", tmp_path)
    assert made.returncode == 0, made.stderr
    shutil.rmtree(source)
    done = bash(
        f"{sys.executable} -m venv v && v/bin/pip install -q *.whl && v/bin/wingtool demo out",
        away,
        WINGTOOL_CACHE=str(tmp_path / "cache"),
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert (away / "out" / "page.html").exists()
    made = {path.name for path in (away / "out" / "tables").iterdir()}
    assert {"wing.csv", "wing.json", "wing.nc", "datapackage.json"} <= made


@pytest.mark.slow
def test_the_readme_sets_up_and_runs_the_demo_in_one_line(tmp_path):
    source = clone(tmp_path / "source")
    done = bash(shell_blocks(README)[0], source, WINGTOOL_CACHE=str(tmp_path / "cache"))
    assert done.returncode == 0, done.stdout + done.stderr
    assert (source / "demo" / "page.html").exists()


@pytest.mark.slow
@pytest.mark.parametrize("command", [b for b in shell_blocks(README) if b.startswith("wingtool")])
def test_the_readme_examples_run(tmp_path, command):
    source = clone(tmp_path / "source")
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    done = bash(command, source, PATH=path)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_readme_shows_every_command_and_nothing_else():
    shown = set(re.findall(r"^wingtool (\w+)", "\n".join(shell_blocks(README)), re.MULTILINE))
    shown |= set(re.findall(r"bin/wingtool (\w+)", README))
    assert shown == {command.name for command in app.registered_commands}


def test_the_readme_studies_read(tmp_path):
    first, more = re.findall(r"```toml\n(.*?)```", README, re.DOTALL)
    path = tmp_path / "s.toml"
    path.write_text(first + more)
    study = read_study(path)
    assert study.wing.element
    assert study.roof


def test_the_test_command_follows_its_mark():
    after = README.split("<!-- test command -->")[1]
    assert shell_blocks(after)[0].endswith("-m pytest")


def test_the_readme_picture_is_there():
    for name in re.findall(r"!\[.*?\]\((.*?)\)", README):
        assert (ROOT / name).exists()
