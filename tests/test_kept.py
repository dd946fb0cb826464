"""Rows kept on disk: found again only while everything that they depend on is as it was."""

import re
import shutil
from pathlib import Path

import numpy as np
import pytest

import wingtool
from wingtool.section.cache import ROOMS, cached_rows, source_hash, sources

PACKAGE = Path(wingtool.__file__).parent
SOURCES = (
    "air.py",
    "section/curves.py",
    "section/polar.py",
    "section/coupled/solve.py",
    "geometry/shape.py",
    "panels/flow.py",
    "boundary_layer/laminar.py",
)


@pytest.fixture(scope="module")
def copied(tmp_path_factory):
    """The rooms with numbers, to be changed: others may be at work on those that run here."""
    package = tmp_path_factory.mktemp("source")
    for path in sources(PACKAGE):
        copy = package / path.relative_to(PACKAGE)
        copy.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(path, copy)
    return package


@pytest.mark.parametrize("name", SOURCES)
def test_a_change_in_any_file_of_the_solver_changes_the_hash(copied, name):
    """EXACT: by definition of the hash."""
    source_hash.cache_clear()
    before = source_hash(copied)
    source_hash.cache_clear()
    assert source_hash(copied) == before
    with (copied / name).open("ab") as source:
        source.write(b"# changed")
    source_hash.cache_clear()
    assert source_hash(copied) != before


def test_what_the_rooms_import_is_hashed():
    """EXACT: no room that section data come from is left out."""
    found = set()
    for path in sources(PACKAGE):
        found |= set(re.findall(r"(?:from|import) wingtool\.(\w+)", path.read_text()))
    assert found - set(ROOMS) <= {"errors", "files", "lazy", "text_table"}, "a place with numbers"


def test_a_file_cut_short_or_spoiled_is_computed_again(tmp_path, monkeypatch):
    """EXACT: whatever the damage, the row comes back as it was computed."""
    monkeypatch.setenv("WINGTOOL_CACHE", str(tmp_path))
    row = {"cl": np.linspace(0.0, 1.0, 500) ** 2}

    def ask():
        return cached_rows([(1.0,)], ("cl",), lambda _missing: [row])[0]["cl"]

    ask()
    (path,) = (tmp_path / "rows").glob("*.npz")
    whole = path.read_bytes()
    middle, rng = len(whole) // 2, np.random.default_rng(1)
    flipped = []
    for place, bit in zip(rng.integers(0, len(whole), 300), rng.integers(0, 8, 300), strict=True):
        damaged = bytearray(whole)
        damaged[place] ^= 1 << bit
        flipped.append(bytes(damaged))
    cut = (whole[:middle], whole[:middle] + b"?" * 40 + whole[middle + 40 :], b"", b"rubbish")
    for broken in (*cut, *flipped):
        path.write_bytes(broken)
        assert np.array_equal(ask(), row["cl"])


def test_without_a_folder_to_write_to_a_row_is_computed_once_in_a_process(tmp_path):
    (tmp_path / "file").write_text("no folder")
    asked = []

    def compute(missing):
        asked.append(missing)
        return [{"cl": np.ones(2)} for _ in missing]

    for _ in range(2):
        (row,) = cached_rows([("unkept", 1.0)], ("cl",), compute, tmp_path / "file")
        assert row["cl"].tolist() == [1.0, 1.0]
    assert asked == [[0]]


def test_a_sound_file_under_the_name_of_another_is_not_its_row(tmp_path):
    """EXACT: two rows of one, 1 and 2, whose files are swapped, come back as they were computed."""
    facts = [("row", value) for value in (1.0, 2.0)]

    def ask():
        rows = cached_rows(facts, ("cl",), lambda some: [{"cl": np.array(1.0 + i)} for i in some], tmp_path)
        return [float(row["cl"]) for row in rows]

    assert ask() == [1.0, 2.0]
    one, other = sorted(tmp_path.glob("*.npz"))
    whole = one.read_bytes()
    one.write_bytes(other.read_bytes())
    other.write_bytes(whole)
    assert ask() == [1.0, 2.0]
