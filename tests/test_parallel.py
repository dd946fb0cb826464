"""The sweep over sections, heights, Reynolds numbers and angles: the same rows whoever computes them.

TWIN throughout: the table of one process against those of a pool, a cluster, a resumed and a wounded run.
"""

import os
import signal
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import fields, replace

import numpy as np
import pytest

import wingtool.study.section.parallel as parallel
from wingtool.errors import RangeError, WingtoolError
from wingtool.geometry import Section
from wingtool.section import Question, SectionPolar, polar, row_key
from wingtool.study.section.parallel import polars_in_parts, sweep_grid

ALPHA_DEG = np.linspace(-4.0, 12.0, 9)
REYNOLDS = [3e5, 5e5, 9e5]


def made_section(name, camber):
    turn = np.linspace(0.0, 2 * np.pi, 121)
    x = 0.5 * (1 + np.cos(turn))
    half = 0.6 * (0.2969 * np.sqrt(x) - 0.126 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1036 * x**4)
    return Section(name, np.c_[x, np.where(turn <= np.pi, half, -half) + 4 * camber * x * (1 - x)])


SECTIONS = [made_section("plain", 0.0), made_section("cambered", 0.04)]


def sweep(**how):
    return sweep_grid(SECTIONS, ALPHA_DEG, REYNOLDS, method="surrogate", **how)


@pytest.fixture(scope="module")
def serial():
    return sweep()


def assert_same(found, expected):
    for one, other in zip(found, expected, strict=True):
        assert one.section.name == other.section.name
        for name in ("reynolds", "alpha_deg", *parallel.ROWS):
            np.testing.assert_array_equal(getattr(one, name), getattr(other, name), err_msg=name)


def test_polars_stand_in_their_order(serial):
    high = sweep_grid(SECTIONS, ALPHA_DEG, REYNOLDS[:1], (1.0, 2.0), method="inviscid")
    order = [(one.section.name, one.height_chord) for one in (*serial, *high)]
    both = [(name, height) for name in ("plain", "cambered") for height in (1.0, 2.0)]
    assert order == [("plain", np.inf), ("cambered", np.inf), *both]
    plain, cambered = serial
    assert plain.cl.shape == (3, 9)
    np.testing.assert_array_equal(plain.reynolds, REYNOLDS)
    np.testing.assert_array_equal(plain.alpha_deg, ALPHA_DEG)
    assert cambered.cl[0, 4] > plain.cl[0, 4] + 0.3


def test_two_processes_give_the_same_table(serial):
    assert_same(sweep(jobs=2), serial)


def test_threads_give_the_same_table(serial):
    with ThreadPoolExecutor(2) as pool:
        assert_same(sweep(executor=pool), serial)


class Backwards(Executor):
    """Finishes what it is given in the wrong order."""

    def __init__(self):
        self.held = []

    def submit(self, fn, /, *args, **kwargs):
        future = Future()
        self.held.append((future, fn, args, kwargs))
        if len(self.held) == 6:
            for one, work, a, k in reversed(self.held):
                one.set_result(work(*a, **k))
        return future


def test_the_order_of_finishing_does_not_matter(serial):
    assert_same(sweep(executor=Backwards()), serial)


def test_a_second_run_computes_nothing(serial, tmp_path, monkeypatch):
    sweep(keep_in=tmp_path)
    monkeypatch.setattr(parallel, "polars", lambda *_: pytest.fail("computed again"))
    assert_same(sweep(keep_in=tmp_path), serial)


def test_a_stopped_run_goes_on_where_it_stopped(serial, tmp_path, monkeypatch):
    def stop(progress):
        if ": 4 of " in progress:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        sweep(keep_in=tmp_path, progress=stop)
    computed, compute = [], parallel.polars
    monkeypatch.setattr(parallel, "polars", lambda some, how: computed.extend(some) or compute(some, how))
    assert_same(sweep(keep_in=tmp_path), serial)
    assert len(computed) == 2


def test_a_damaged_file_is_computed_again(serial, tmp_path):
    sweep(keep_in=tmp_path)
    for number, path in enumerate(sorted(tmp_path.glob("*.npz"))):
        path.write_bytes(path.read_bytes()[: 40 * number])
    assert_same(sweep(keep_in=tmp_path), serial)


@pytest.mark.parametrize(
    "change",
    [
        {"reynolds": np.array([4e5])},
        {"section": SECTIONS[1]},
        {"section": replace(SECTIONS[0], rounding=5e-5)},
        {"alpha_deg": ALPHA_DEG[:-1]},
        {"height_chord": 0.5},
        {"method": "coupled"},
        {"surface": "dirty"},
        {"tab_chord": 0.01},
    ],
)
def test_whatever_changes_the_result_changes_the_key(change):
    usual = Question(SECTIONS[0], np.array([3e5]), ALPHA_DEG)
    first = row_key(parallel._facts(usual, "surrogate"))
    method = change.pop("method", "surrogate")
    assert row_key(parallel._facts(replace(usual, **change), method)) != first


def test_a_change_of_the_source_changes_the_key(monkeypatch):
    facts = parallel._facts(Question(SECTIONS[0], np.array([3e5]), ALPHA_DEG), "coupled")
    before = row_key(facts)
    monkeypatch.setattr("wingtool.section.cache.source_hash", lambda: b"another solver")
    assert row_key(facts) != before


def test_a_killed_worker_loses_nothing(serial, tmp_path):
    """One of our own workers is killed in mid-run, by its number."""
    killed = []

    def kill_one(_progress):
        import multiprocessing

        if not killed and (children := multiprocessing.active_children()):
            killed.append(children[0].pid)
            os.kill(killed[0], signal.SIGKILL)

    assert_same(sweep(jobs=2, keep_in=tmp_path, progress=kill_one), serial)
    assert killed


def test_a_broken_executor_is_told_in_one_line(tmp_path):
    class Broken(ProcessPoolExecutor):
        def submit(self, *_args, **_kwargs):
            raise BrokenProcessPool("a worker died")

    with pytest.raises(WingtoolError, match="keep_in to go on where it stopped"):
        sweep(executor=Broken(1), keep_in=tmp_path)


@pytest.mark.parametrize(
    ("method", "alpha_deg"), [("surrogate", ALPHA_DEG), ("coupled", np.arange(8.0, 17.0, 2.0))]
)
def test_a_polar_in_parts_is_the_polar(tmp_path, method, alpha_deg):
    """TWIN: put together from parts, by one job, by two, and from kept files."""
    question = Question(SECTIONS[1], np.array(REYNOLDS[:2]), alpha_deg, "dirty", tab_chord=0.01)
    whole = polar(**vars(question), method=method)
    for jobs in (1, 2, 1):
        (parts,) = polars_in_parts([question], method, jobs=jobs, keep_in=tmp_path)
        for field in fields(whole):
            if field.name in ("section", "notes"):
                continue
            one, two = getattr(whole, field.name), getattr(parts, field.name)
            if isinstance(one, np.ndarray) and one.dtype.kind == "f":
                np.testing.assert_allclose(two, one, rtol=1e-12, err_msg=field.name)
            else:
                assert np.array_equal(one, two), field.name
        assert set(parts.notes) == set(whole.notes)
        np.testing.assert_allclose(parts.stall(), whole.stall(), rtol=1e-12)
    assert len(list(tmp_path.glob("*.npz"))) == 2


@pytest.fixture(scope="module")
def full():
    """A polar of one Reynolds number in which every optional field holds something."""
    rows = {name: np.full((1, 3), float(k)) for k, name in enumerate(parallel.ROWS) if name != "status"}
    rows["status"] = np.full((1, 3), "converged", dtype=object)
    return SectionPolar(np.arange(3.0), np.array([3e5]), method="coupled", **rows)


def test_every_row_of_a_polar_is_carried(full, tmp_path, monkeypatch):
    """EXACT: no field with a number for each angle is left out, from one job and from kept files."""
    carried = [field.name for field in fields(full) if np.ndim(getattr(full, field.name)) == 2]
    missing = [field.name for field in fields(full) if getattr(full, field.name) is None]
    assert missing == ["section", "trip_x"], "a new field: one for each angle, that `ROWS` does not know?"
    assert "separation_upper" in carried
    monkeypatch.setattr(parallel, "polars", lambda some, _method: [full] * len(some))
    question = Question(SECTIONS[0], np.array([3e5, 5e5]), full.alpha_deg, "smooth")
    for _ in range(2):
        (found,) = polars_in_parts([question], "coupled", keep_in=tmp_path)
        for name in carried:
            np.testing.assert_array_equal(getattr(found, name), np.repeat(getattr(full, name), 2, axis=0))
        monkeypatch.setattr(parallel, "polars", lambda *_: pytest.fail("computed again"))


def test_a_kept_file_that_lacks_a_row_is_computed_again(full, tmp_path):
    """TWIN: as a version wrote it that did not know the row."""
    part = Question(SECTIONS[0], full.reynolds, full.alpha_deg, "smooth")
    parallel._write_part(tmp_path, part, full)
    (path,) = tmp_path.glob("*.npz")
    with np.load(path) as file:
        rows = {name: file[name] for name in file.files}
    kept = parallel._read_part(tmp_path, part, "coupled")
    np.testing.assert_array_equal(kept.separation_upper, full.separation_upper)
    del rows["separation_upper"]
    np.savez(path, **rows)
    assert parallel._read_part(tmp_path, part, "coupled") is None


def test_progress_counts_up_and_tells_the_time_left():
    seen = []
    sweep(progress=seen.append)
    assert [one.split(",")[0] for one in seen] == [f"surrogate sweep: {k} of 6" for k in range(1, 7)]
    assert seen[-1].endswith("about 0 s left")
    assert str(seen[0]).startswith("surrogate sweep: 1 of 6, about ")


def test_an_empty_sweep_is_refused():
    with pytest.raises(RangeError, match="at least one"):
        sweep_grid([], ALPHA_DEG, REYNOLDS)
    with pytest.raises(RangeError, match="job"):
        sweep(jobs=0)


@pytest.mark.slow
def test_a_cluster_gives_the_same_table_and_survives_a_killed_worker(serial):
    distributed = pytest.importorskip("distributed")
    options = {"n_workers": 2, "threads_per_worker": 1, "dashboard_address": None}
    with distributed.LocalCluster(**options) as cluster, distributed.Client(cluster) as client:
        assert_same(sweep(executor=client.get_executor()), serial)
        victims = []

        def kill_one(_progress):
            if not victims:
                victims.append(next(iter(client.run(os.getpid).values())))
                os.kill(victims[0], signal.SIGKILL)

        assert_same(sweep(executor=client.get_executor(pure=False), progress=kill_one), serial)
        assert victims
