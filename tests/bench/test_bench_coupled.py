"""What the coupled solver costs: ratios to a dense solve of as many unknowns, printed and not asserted."""

import time
import tracemalloc

import numpy as np
import pytest

from wingtool.geometry import find_section
from wingtool.section.coupled import flow_at, point, prepare, solve_flow, sweep
from wingtool.section.surface import SURFACES

pytestmark = pytest.mark.bench


def dense_solve_s(size, repeats=30):
    generator = np.random.default_rng(0)
    matrix, right = generator.random((size, size)), generator.random(size)
    np.linalg.solve(matrix, right)
    start = time.process_time()
    for _ in range(repeats):
        np.linalg.solve(matrix, right)
    return (time.process_time() - start) / repeats


def test_cost_of_a_point_and_of_a_polar():
    """25 angles, race surface: seconds, and each converged point in dense solves of 3 S + 2 unknowns."""
    section, angles = find_section("4412"), np.arange(-6.0, 19.0)
    sweep(prepare(section), 5e5, SURFACES["race"], angles[5:8])
    start = time.process_time()
    found = sweep(prepare(section), 5e5, SURFACES["race"], angles)
    spent = time.process_time() - start
    points = [found.out[i] for i in found.asked if found.out[i] is not None]
    size = 3 * len(points[0].solution.state.theta) + 2
    one = dense_solve_s(size)
    print(
        f"\npolar of {len(angles)} angles {spent:.2f} s, {found.newton_steps} Newton steps;"
        f" {spent / len(points) / one:.1f} dense solves of {size} unknowns a converged point, all-in"
    )
    assert len(points) == len(angles)


def test_cost_of_one_step_of_the_march():
    """One angle from its neighbour: set up, iterated, forces taken."""
    prepared = prepare(find_section("4412"))
    near = solve_flow(flow_at(prepared, 3.0, 5e5, SURFACES["race"]))
    start = time.process_time()
    for _ in range(10):
        flow = flow_at(prepared, 4.0, 5e5, SURFACES["race"])
        found = solve_flow(flow, near.state)
        point(flow, found)
    spent = (time.process_time() - start) / 10
    size = 3 * len(found.state.theta) + 2
    solves = spent / dense_solve_s(size)
    print(f"\none point {1e3 * spent:.0f} ms = {solves:.1f} dense solves, {found.steps} steps")
    assert found.converged


def test_memory_stays_flat():
    """400 points: the peak of the second half over that of the first."""
    prepared = prepare(find_section("4412"))
    near = solve_flow(flow_at(prepared, 3.0, 5e5, SURFACES["race"])).state
    tracemalloc.start()
    peaks = []
    for _ in range(2):
        tracemalloc.reset_peak()
        for k in range(200):
            solve_flow(flow_at(prepared, 3.0 + 0.001 * k, 5e5, SURFACES["race"]), near)
        peaks.append(tracemalloc.get_traced_memory()[1])
    tracemalloc.stop()
    print(f"\nmemory peak of the second 200 points over the first: {peaks[1] / peaks[0]:.3f}")
    assert peaks[1] < 1.1 * peaks[0]
