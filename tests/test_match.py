"""Nearest known sections: found whatever was done to chord, turn, tail and scale; an index that lasts."""

import numpy as np
import pytest
from trace_person import rotation

from wingtool.errors import StudyError
from wingtool.geometry import Section, collection_names, collection_section
from wingtool.report import match_lines
from wingtool.study import match_section
from wingtool.tracing import index_path, likeness, load_index, nearest
from wingtool.tracing.likeness import STATIONS, row_of

SOME = (*collection_names()[::60], "clarky", "e423", "s1223", "naca2412")


@pytest.fixture(scope="module")
def index(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("WINGTOOL_CACHE", str(tmp_path_factory.mktemp("cache")))
        patch.setattr(likeness, "collection_names", lambda: SOME)
        yield load_index()


def test_rows_are_ordinates_in_the_chords_own_frame():
    # EXACT: a wedge, 4 % thick at mid chord, tail gap 1 %: what the gap adds is taken out.
    x = np.array([1.0, 0.5, 0.0, 0.5, 1.0])
    y = np.array([0.005, 0.02 + 0.0025, 0.0, -0.0225, -0.005])
    upper = row_of(np.column_stack([x, y]))[: len(STATIONS)]
    assert upper[np.abs(STATIONS - 0.5).argmin()] == pytest.approx(0.02, abs=1e-3)
    assert upper[-1] < 1e-3


@pytest.mark.parametrize("name", ["clarky", "e423", "s1223"])
def test_a_section_turned_stretched_and_thickened_at_the_tail_is_known_again(index, name):
    xy = np.array(collection_section(name).xy)
    changed = xy.copy()
    half = np.where(np.arange(len(xy)) <= xy[:, 0].argmin(), 0.5, -0.5)
    changed[:, 1] += half * 0.004 * xy[:, 0]
    changed = 1.003 * changed @ rotation(0.004).T + [0.002, -0.001]
    first, second = nearest(Section(name, changed), index, 2)
    assert first.name == name
    assert first.rms < 5e-4
    assert first.rms < 0.5 * second.rms


def test_every_section_is_nearest_to_itself(index):
    for name in index.names[::5]:
        assert nearest(collection_section(name), index, 1)[0].rms < 1e-9


def test_differences_are_symmetric_in_size(index):
    # TWIN: A seen from B and B seen from A; the alignment is linear about either, so 10 %.
    one = {m.name: m.rms for m in nearest(collection_section("clarky"), index, 40)}
    other = {m.name: m.rms for m in nearest(collection_section("naca2412"), index, 40)}
    assert one["naca2412"] == pytest.approx(other["clarky"], rel=0.1)


def test_the_index_is_written_whole_kept_and_mended(tmp_path, monkeypatch):
    monkeypatch.setenv("WINGTOOL_CACHE", str(tmp_path))
    monkeypatch.setattr(likeness, "collection_names", lambda: SOME[:6])
    built = load_index()
    assert [path.name for path in tmp_path.iterdir()] == [index_path().name]
    with monkeypatch.context() as patch:
        patch.setattr(likeness, "build_index", lambda: pytest.fail("built again"))
        assert load_index().names == built.names
    index_path().write_bytes(b"half a file")
    assert np.array_equal(load_index().rows, built.rows)


def test_what_the_command_says(index, monkeypatch):
    monkeypatch.setattr("wingtool.study.section.match.load_index", lambda: index)
    result = match_section("clarky", 3)
    lines = match_lines(result, 250.0)
    assert "not identity" in lines[0]
    assert lines[2].endswith("clarky")
    with pytest.raises(StudyError, match="--count"):
        match_section("clarky", 0)
