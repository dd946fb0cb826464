"""Panels beside the free library's inviscid section solver, in one run, as ratios."""

from time import perf_counter

import numpy as np
import pytest

from wingtool.geometry import four_digit, repanel
from wingtool.panels import solve

pytestmark = pytest.mark.bench


def best(call, repeats):
    times = []
    for _ in range(repeats):
        start = perf_counter()
        call()
        times.append(perf_counter() - start)
    return min(times)


def test_one_angle_beside_the_library():
    import aerosandbox

    xy = repanel(four_digit("4412"), 200).xy
    solve([xy], [4.0])
    ours = best(lambda: solve([xy], [4.0]), 20)
    airfoil = aerosandbox.Airfoil(name="same points", coordinates=xy)
    point = aerosandbox.OperatingPoint(velocity=1.0, alpha=4.0)
    theirs = best(lambda: aerosandbox.AirfoilInviscid(airfoil=airfoil, op_point=point), 2)
    print(f"\none angle, {len(xy)} points: library {theirs / ours:.0f} times ours")
    assert theirs / ours > 200


def test_a_sweep_costs_little_more_than_one_angle():
    xy = repanel(four_digit("4412"), 200).xy
    angles = np.linspace(-10, 15, 41)
    solve([xy], angles)
    one, sweep = best(lambda: solve([xy], [4.0]), 30), best(lambda: solve([xy], angles), 30)
    print(f"\n41 angles, 200 panels: {sweep / one:.2f} times one angle")
    assert sweep / one < 1.5
