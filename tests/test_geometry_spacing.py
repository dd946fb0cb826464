"""Repanelling: keeps the shape, few source points too; smooth curvature; neighbours alike; edges kept."""

import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree

from wingtool.errors import RangeError
from wingtool.geometry import (
    Section,
    collection_names,
    collection_section,
    five_digit,
    four_digit,
    measure,
    repanel,
)
from wingtool.geometry.curve import smooth_curve
from wingtool.geometry.families import half_thickness
from wingtool.geometry.files.checks import first_crossing
from wingtool.panels import solve

# What handbooks tabulate: the stations of NACA TR 460 and TR 824 tables.
HANDBOOK = np.array([0, 1.25, 2.5, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 90, 95, 100]) / 100.0


def family(designation, points):
    return four_digit(designation, points) if len(designation) == 4 else five_digit(designation, points)


def neighbour_ratio(xy):
    length = np.linalg.norm(np.diff(xy, axis=0), axis=1)
    ratio = length[1:] / length[:-1]
    return float(np.maximum(ratio, 1.0 / ratio).max())


def curvature(xy):
    """Of the circle through each three neighbouring points: independent of any spline."""
    a, b = np.diff(xy, axis=0)[:-1], np.diff(xy, axis=0)[1:]
    cross = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    sides = np.linalg.norm(a, axis=1) * np.linalg.norm(b, axis=1) * np.linalg.norm(a + b, axis=1)
    return 2.0 * cross / sides


def distance_to_truth(xy, designation):
    return float(cKDTree(family(designation, 200_000).xy).query(xy)[0].max())


@pytest.mark.parametrize("designation", ["0012", "2409", "4412", "6412", "0006", "23012"])
@pytest.mark.parametrize(("points", "bar"), [(20, 3e-4), (30, 1.2e-4), (40, 8e-5), (100, 3e-5)])
def test_few_points_still_give_the_section(designation, points, bar):
    # EXACT: the formula itself. A hundredth of a per cent of the chord at 30 points is 0.03 mm on 250 mm;
    # the first curve of a centripetal spline is 20e-5 to 60e-5 off.
    assert distance_to_truth(repanel(family(designation, points), 200).xy, designation) < bar


@pytest.mark.parametrize("designation", ["0012", "4412", "6409"])
def test_the_tail_keeps_its_slopes(designation):
    # EXACT: slopes of the formula at the tail; from 30 points within 0.2 deg, on the nodes as on the curve.
    new = repanel(family(designation, 30), 200).xy
    fine = family(designation, 20_000).xy

    def slopes(xy):
        return np.degrees(
            np.arctan([np.diff(pair[:, 1])[0] / np.diff(pair[:, 0])[0] for pair in (xy[:2], xy[-2:])])
        )

    assert np.abs(slopes(new) - slopes(fine)).max() < 0.2
    curve = smooth_curve(family(designation, 30).xy)
    assert np.linalg.norm(curve.at(curve.knots[[0, -1]], 1), axis=1).min() > 0.3


@pytest.mark.parametrize("designation", ["0012", "4412", "23012"])
def test_handbook_stations_still_give_the_section(designation):
    # EXACT: the formula at the 18 stations of the reports' tables.
    fine = family(designation, 20_000).xy
    nose = 10_000
    grid = 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, 10_001)))
    pick = np.array([int(np.argmin(np.abs(grid - x))) for x in HANDBOOK])
    xy = np.concatenate([fine[nose - pick[::-1]], fine[nose + pick[1:]]])
    assert distance_to_truth(repanel(Section("t", xy), 200).xy, designation) < 1.2e-4


@settings(max_examples=40, deadline=None)
@given(
    camber=st.integers(0, 6), where=st.integers(2, 6), thick=st.integers(6, 24), points=st.integers(16, 90),
    panels=st.integers(40, 200).map(lambda n: 2 * n),
)  # fmt: skip
def test_repanelling_keeps_the_measures_and_grades_the_panels(camber, where, thick, points, panels):
    section = four_digit(f"{camber}{where}{thick:02d}", 2 * points)
    new = repanel(section, panels)
    before, after = measure(section), measure(new)
    assert new.xy.shape == (panels + 1, 2)
    assert np.array_equal(new.xy[[0, -1]], section.xy[[0, -1]])
    assert after.area == pytest.approx(before.area, abs=2e-4)
    assert after.thickness == pytest.approx(before.thickness, abs=3e-4)
    assert after.camber == pytest.approx(before.camber, abs=3e-4)
    assert neighbour_ratio(new.xy) < 1.25
    assert first_crossing(new.xy) is None


@pytest.mark.parametrize("designation", ["0012", "2412", "23012"])
def test_curvature_runs_smoothly(designation):
    # EXACT: curvature of the same section given a hundredfold finer, at the same place; from 32 points the
    # new nodes follow it to 15 % of the nose's curvature, without a jump between neighbours.
    new = repanel(family(designation, 32), 160).xy
    bend = curvature(new)
    fine = family(designation, 6000).xy
    exact = curvature(fine)[cKDTree(fine[1:-1]).query(new[1:-1])[1]]
    inside = (new[1:-1, 0] > 0.0) & (new[1:-1, 0] < 0.98)
    assert np.abs(bend - exact)[inside].max() < 0.15 * exact.max()
    assert np.abs(np.diff(bend)).max() < 0.25 * bend.max()


DATA = Path(__file__).parent / "data"


@pytest.mark.parametrize("name", ["exact_kt_symmetric", "exact_kt_cambered"])
@pytest.mark.parametrize(("every", "digits"), [(1, 10), (4, 10), (4, 4), (8, 10), (8, 4)])
def test_exact_sections_keep_their_lift_with_fewer_points_and_digits(name, every, digits):
    # EXACT: Karman-Trefftz sections, tail angle 10 deg (figures in the file's header). From 201, 51 or 26 of
    # the file's points, to ten or four decimals, repanelled to 200: the panels' own bars still hold.
    lines = (DATA / f"{name}.csv").read_text().splitlines()
    told = [re.match(r"# alpha=(\d+) deg: cl=([-.\d]+).*cm_c/4=([-.\d]+)", line) for line in lines]
    alpha, cl, cm = np.array([found.groups() for found in told if found], dtype=float).T
    rows = [line for line in lines if re.match(r"[-.\d]+,", line)]
    xy = np.array([row.split(",")[:2] for row in rows], dtype=float)[::every]
    section = Section(name, np.round(xy, digits), rounding=0.5 * 10.0**-digits if digits < 10 else 0.0)
    flow = solve([repanel(section, 200).xy], alpha)
    assert len(alpha) == 3
    assert np.abs(flow.cl[:, 0] - cl).max() < 0.003 * max(abs(cl).max(), 0.5)
    assert np.abs(flow.cm[:, 0] - cm).max() < 0.002
    assert np.abs(flow.cd).max() < 0.002


def test_a_symmetric_section_stays_symmetric_with_a_node_at_the_nose():
    new = repanel(four_digit("0015", 60), 120).xy
    assert np.abs(new - new[::-1] * [1.0, -1.0]).max() < 1e-9
    assert np.abs(new[60]).max() < 1e-9


def test_nodes_are_closer_at_nose_and_tail():
    length = np.linalg.norm(np.diff(repanel(four_digit("2412"), 200).xy, axis=0), axis=1)
    assert length[0] < 0.3 * length.max()
    assert length[-1] < 0.3 * length.max()
    assert length[100] < 0.4 * length.max()


def test_an_edge_keeps_its_node_and_its_straight_sides():
    # EXACT: a section whose last fifth is bent down by 42 deg; on the upper side an edge, with a node on it
    # and the panels before and behind it as straight as the sides are.
    section = four_digit("0010", 80)
    bend = np.where(section.xy[:, 0] > 0.8, (section.xy[:, 0] - 0.8) * -0.9, 0.0)
    xy = section.xy + np.column_stack([np.zeros_like(bend), bend])
    upper = xy[:41]
    hinge = np.array([0.8, float(half_thickness(0.8, 0.10))])
    upper = np.concatenate([upper[upper[:, 0] > 0.805], hinge[None], upper[upper[:, 0] < 0.795]])
    new = repanel(Section("bent", np.concatenate([upper, xy[41:]])), 160).xy
    at = int(np.argmin(np.linalg.norm(new - hinge, axis=1)))
    assert np.linalg.norm(new[at] - hinge) < 1e-9
    bent = np.degrees(np.arctan2(*np.diff(new, axis=0)[:, ::-1].T))
    turn = (np.diff(bent) + 180.0) % 360.0 - 180.0
    assert abs(turn[at - 1]) > 35.0
    assert np.abs(turn[[at - 3, at - 2, at, at + 1]]).max() < 3.0


def test_same_input_same_nodes():
    assert np.array_equal(repanel(four_digit("4412"), 140).xy, repanel(four_digit("4412"), 140).xy)


@pytest.mark.parametrize("panels", [201, 10, 5000, 0, -4])
def test_numbers_of_panels_that_cannot_be(panels):
    with pytest.raises(RangeError, match="even number"):
        repanel(four_digit("0012"), panels)


def test_the_collection_repanels_without_crossing_and_well_graded():
    # Every eighth section of the open collection; 1 in 100 may exceed the ratio (noses sharper than a panel).
    sections = []
    for name in collection_names()[::8]:
        try:
            sections.append(collection_section(name))
        except ValueError:
            continue
    ratios = []
    for section in sections:
        new = repanel(section, 160)
        assert first_crossing(new.xy) is None, section.name
        ratios.append(neighbour_ratio(new.xy))
    assert len(sections) > 250
    assert np.mean(np.array(ratios) < 1.25) > 0.99
