"""Wingtool from Python: the names, their documentation, a figure for each result, the example file."""

import inspect
import pydoc
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import wingtool
from wingtool.errors import RangeError
from wingtool.files import bundled


@pytest.fixture(scope="module")
def objects():
    section = wingtool.four_digit("4412")
    polar = wingtool.polar(section, [4e5], np.arange(-4.0, 15.0), method="surrogate")
    wing = wingtool.Wing(span_m=1.4, chord_m=0.25, endplate=wingtool.Endplate(height_m=0.2))
    (swept,) = wingtool.sweep_grid([section], [0.0, 4.0], [4e5], method="surrogate")
    return [section, polar, wingtool.solve_wing(wing, polar, [0.0, 4.0, 8.0], [30.0, 50.0]), swept]


def test_the_dozen_names_are_there_and_documented():
    assert 12 <= len(wingtool.__all__) <= 20
    for name in wingtool.__all__:
        value = getattr(wingtool, name)
        text = inspect.getdoc(value) or ""
        assert len(text) > 20, f"{name} has no docstring"
        if inspect.isfunction(value) and value.__module__ != "wingtool.air":
            told = any(part in text for part in ("Parameters", "Examples", "Raises"))
            assert told, f"{name} tells no parameters, example or error"
        assert inspect.getmodule(value).__name__.startswith("wingtool.")


def test_pydoc_finds_every_name():
    page = pydoc.render_doc(wingtool, renderer=pydoc.plaintext)
    for name in wingtool.__all__:
        assert name in page


def test_an_unknown_name_is_told_with_the_known_ones():
    with pytest.raises(AttributeError, match="wingtool has no 'lift'; it has Air"):
        wingtool.lift  # noqa: B018


def test_importing_wingtool_loads_nothing_slow():
    code = "import sys, wingtool; print({'numpy', 'scipy', 'matplotlib', 'pydantic'} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"


def test_each_result_has_a_figure(objects):
    from matplotlib.figure import Figure

    for one in objects:
        ax = Figure().subplots()
        assert wingtool.plot(one, ax) is ax
        assert ax.lines
        assert ax.get_xlabel()
    assert wingtool.plot(objects[2], quantity="drag_n").get_ylabel() == "drag_n"
    with pytest.raises(RangeError, match="no figure for int; there are Section"):
        wingtool.plot(3)


def test_the_package_says_that_it_is_typed():
    assert (Path(wingtool.__file__).parent / "py.typed").exists()


def test_the_example_reads_a_table(objects, tmp_path):
    from wingtool.report import wing_table, write_table

    write_table(wing_table(objects[2]), tmp_path / "wing.csv")
    example = bundled("studies") / "read_the_table.py"
    done = subprocess.run([sys.executable, example, tmp_path / "wing.csv"], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    force = wingtool.load(tmp_path / "wing.csv")("downforce_n", wing_angle_deg=4.0, speed_m_s=40.0)
    assert done.stdout.startswith(f"{force:.0f} N at 4 degrees and 40 m/s")
