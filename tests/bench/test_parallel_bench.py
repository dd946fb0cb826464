"""The share that a pool of two gets of the speed-up of two independent processes: printed, not asserted.

Everything counts, from the first import to the last row, in fresh processes: one, two independent ones with
half of the sections each, and `jobs=2`.
"""

import os
import subprocess
import sys
import tempfile
import time

import numpy as np
import pytest

WORK = """
import numpy as np
from wingtool import four_digit, sweep_grid
def main():
    sections = [four_digit(name) for name in {names}]
    found = sweep_grid(sections, np.linspace(-5, 13, {angles}), np.geomspace(3e5, 1e6, {reynolds}),
                       method="{method}", jobs={jobs})
    columns = {{name: [vars(one)[name] for one in found] for name in ("cl", "cd", "cm")}}
    np.savez("{out}", **columns, status=np.array([one.status for one in found]).astype(str))
if __name__ == "__main__":
    main()
"""
NAMES = [f"{c}4{t}" for c in (2, 3, 4, 5) for t in ("08", "10", "12", "15", "18")]


def seconds(folder, parts, **kind):
    scripts = []
    for k, names in enumerate(parts):
        scripts.append(folder / f"part{k}.py")
        scripts[-1].write_text(WORK.format(names=names, out=folder / f"rows{k}.npz", **kind))
    fresh = {**os.environ, "WINGTOOL_CACHE": tempfile.mkdtemp(dir=folder)}  # nothing from another run
    started = time.perf_counter()
    running = [subprocess.Popen([sys.executable, script], env=fresh) for script in scripts]
    assert [one.wait() for one in running] == [0] * len(parts)
    return time.perf_counter() - started


@pytest.mark.bench
@pytest.mark.parametrize(
    ("method", "names", "angles", "reynolds"),
    [("surrogate", NAMES, 100, 50), ("coupled", NAMES[::2], 20, 10)],
    ids=["100000 surrogate points", "2000 coupled points"],
)
def test_share_of_the_speed_up(tmp_path, monkeypatch, capsys, method, names, angles, reynolds):
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        monkeypatch.setenv(name, "1")
    kind = {"method": method, "angles": angles, "reynolds": reynolds}
    serial = seconds(tmp_path, [names], jobs=1, **kind)
    alone = dict(np.load(tmp_path / "rows0.npz"))
    halves = seconds(tmp_path, [names[::2], names[1::2]], jobs=1, **kind)
    pool = seconds(tmp_path, [names], jobs=2, **kind)
    together = np.load(tmp_path / "rows0.npz")
    assert alone["cl"].size == len(names) * angles * reynolds
    for name, column in alone.items():
        np.testing.assert_array_equal(together[name], column)
    with capsys.disabled():
        print(
            f"\n{method}: two independent processes {serial / halves:.2f} times as fast as one, jobs=2"
            f" {serial / pool:.2f} times; share {halves / pool:.0%}"
        )
