"""What rows marched together cost: in dense solves, and against the commit before there were batches.

The second needs a checkout of commit 6c4e85b (`git worktree add`), its folder in WINGTOOL_BEFORE. Both run
the same program in the same sitting, one process after the other, in process time.
"""

import os
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from wingtool.geometry import find_section
from wingtool.section.coupled import Row, prepare, sweeps
from wingtool.section.surface import SURFACES

pytestmark = pytest.mark.bench

COLLECTION = """
import time
import numpy as np
from wingtool.section import polar
from collection_march import drawn
sections = [section for section, _ in drawn({count})]
start = time.process_time()
for section in sections:
    polar(section, [2e5, 5e5, 1e6], np.arange(-5.0, 21.0), method="coupled", surface="race")
print(time.process_time() - start)
"""


def dense_solve_s(size, repeats=20):
    generator = np.random.default_rng(0)
    matrix, right = generator.random((size, size)), generator.random(size)
    np.linalg.solve(matrix, right)
    start = time.process_time()
    for _ in range(repeats):
        np.linalg.solve(matrix, right)
    return (time.process_time() - start) / repeats


@pytest.mark.parametrize("count", [1, 9])
def test_cost_of_a_point(count, capsys):
    """25 angles of 4412, race surface, so many Reynolds numbers together: dense solves a point, all-in."""
    sweeps([Row(prepare(find_section("2412")), 5e5, SURFACES["race"], np.arange(0.0, 3.0))])
    prepared, angles = prepare(find_section("4412")), np.arange(-6.0, 19.0)
    numbers = np.geomspace(3e5, 3e6, count) if count > 1 else [5e5]
    before = dense_solve_s(680)
    start = time.process_time()
    found = sweeps([Row(prepared, number, SURFACES["race"], angles) for number in numbers])
    spent = time.process_time() - start
    one = 0.5 * (before + dense_solve_s(680))
    points = sum(row.out[i] is not None for row in found for i in row.asked)
    steps = sum(row.newton_steps for row in found)
    with capsys.disabled():
        print(
            f"\n{count} rows: {spent / points / one:.1f} dense solves of 680 unknowns a point,"
            f" {spent / steps / one:.2f} a Newton step, {steps / points:.1f} steps a point"
        )
    assert points == 25 * count


COUNT = 6


def test_the_collection_against_the_commit_before(tmp_path, capsys):
    """Seeded sections at three Reynolds numbers: the share of the time that commit 6c4e85b takes."""
    before = os.environ.get("WINGTOOL_BEFORE")
    if not before:
        pytest.skip("WINGTOOL_BEFORE names no checkout of commit 6c4e85b")
    here = Path(__file__).parents[2]
    spent = {}
    for number, root in enumerate((before, here)):
        paths = os.pathsep.join([str(root), str(Path(root) / "tests")])
        fresh = os.environ | {"PYTHONPATH": paths, "WINGTOOL_CACHE": str(tmp_path / str(number))}
        program = [sys.executable, "-c", COLLECTION.format(count=COUNT)]
        run = subprocess.run(program, env=fresh, cwd=tmp_path, capture_output=True, check=True)
        spent[root] = float(run.stdout)
    with capsys.disabled():
        print(f"\n{COUNT} sections x 3: {spent[here] / spent[before]:.2f} of the time before")
