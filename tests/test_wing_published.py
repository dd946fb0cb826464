"""The wing against classical identities of the far wake and against what measured wings were seen to do.

Figures: tests/data/classical_identities.csv, endplate_trefftz_efficiency.csv, measured_wings.csv; sources and
status in their headers and rows. Reports of which only the summary could be read are held to sign and range.
"""

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from wingtool.section import polar_from_arrays
from wingtool.wing import Endplate, Wing, solve_wing
from wingtool.wing.lattice.condense import condense
from wingtool.wing.lattice.surfaces import full_cosine_edges, sheet, wing_surface

DATA = Path(__file__).parent / "data"


def table(name: str) -> list[dict[str, str]]:
    with open(DATA / f"{name}.csv") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def flat_sheet(start, end, strips=24):
    """A sheet of two rows, 0.2 long, whose trace runs straight from one (y, z) to another."""
    edge, mid = full_cosine_edges(strips)

    def line(share):
        trace = np.outer(1 - share, start) + np.outer(share, end)
        return np.zeros(share.size), np.full(share.size, 0.2), trace

    return sheet(line(edge), line(mid), rows=2, lifting=True)


def best_efficiency(surfaces) -> float:
    """Span efficiency of the least induced drag (Munk): normal wash w cos(slope) on every wake strip."""
    anywhere = np.tile([0.3, 0.123, -0.7], (sum(s.normal.shape[0] for s in surfaces), 1))
    lattice = condense(surfaces, anywhere)
    load = np.linalg.solve(-lattice.wake_wash, lattice.wake_lift_width / lattice.wake_width)
    return float(2 * load @ lattice.wake_lift_width / (np.pi / 4))


def half_wing(z=0.0):
    surface, _ = wing_surface(Wing(1.0, 0.2, strips=60, rows=2), (0.0, z))
    return surface


def test_best_planar_wing():
    """EXACT: efficiency 1, 0.2 %."""
    assert best_efficiency([half_wing()]) == pytest.approx(1.0, rel=0.002)


@pytest.mark.parametrize("row", table("endplate_trefftz_efficiency"), ids=lambda row: row["h_over_b"])
def test_best_biplane_and_box(row):
    """EXACT: Munk's condition solved by another program with the same figures; 0.5 %."""
    gap = float(row["h_over_b"])
    low, high = half_wing(), replace(half_wing(gap), plane=1)
    assert best_efficiency([low, high]) == pytest.approx(float(row["e_biplane_optimum"]), rel=0.005)
    bottom = flat_sheet((0.0, 0.0), (0.5, 0.0))
    side = flat_sheet((0.5, 0.0), (0.5, gap))
    top = flat_sheet((0.0, gap), (0.5, gap))
    assert best_efficiency([bottom, side, top]) == pytest.approx(float(row["e_box"]), rel=0.005)


def test_best_ring_wing():
    """PUBLISHED: efficiency of the circular ring wing is 2 (study notes, as in the data file); 0.5 %."""
    angle = np.linspace(-np.pi / 2, np.pi / 2, 49)
    ring = 0.5 * np.column_stack([np.cos(angle), np.sin(angle)])
    ring[[0, -1], 0] = 0.0
    # the upper half runs back towards the centre plane, so that every strip lifts the same way
    sheets = [
        flat_sheet(*(pair if pair[0][1] < -1e-9 else pair[::-1]), strips=1)
        for pair in zip(ring[:-1], ring[1:], strict=True)
    ]
    assert best_efficiency(sheets) == pytest.approx(2.0, rel=0.005)


def test_moving_a_plane_along_the_stream_leaves_the_drag_of_its_load_alone():
    """EXACT: Munk's stagger theorem (NACA TR 121, from memory): same loads, same induced drag, 0.1 %."""
    forms = []
    for aft in (0.0, 0.7, 3.0):
        one, strips = wing_surface(Wing(1.0, 0.2, rows=2))
        other, _ = wing_surface(Wing(1.0, 0.2, rows=2), (aft, 0.2))
        quarter = np.concatenate([strips.quarter, strips.quarter + [aft, 0.0, 0.2]])
        forms.append(condense([one, replace(other, plane=1)], quarter).induced_form())
    load = np.tile(np.sqrt(1 - strips.span_fraction**2), 2)
    drags = [load @ form @ load for form in forms]
    np.testing.assert_allclose(drags, drags[0], rtol=1e-3)


ALPHA = np.arange(-15.0, 26.0)


def plain_section():
    cl = np.where(ALPHA < 14, 0.105 * (ALPHA + 2), 0.105 * 16 - 0.03 * (ALPHA - 14))
    return polar_from_arrays(ALPHA, cl, 0.008 + 0.0001 * ALPHA**2, -0.05 + 0 * ALPHA)


def test_plates_lose_at_small_lift_and_win_at_large():
    """PUBLISHED: NACA TN 201, abstract: slightly worse at small CL, better above 0.3 CLmax.

    Sign and range only: its plates are not these, whose gain begins between 0.2 and 0.5 CLmax.
    """
    angles = np.arange(-3.0, 14.0, 0.5)
    bare = solve_wing(Wing(1.4, 0.25), plain_section(), angles, [40.0])
    plated = solve_wing(Wing(1.4, 0.25, endplate=Endplate(0.2)), plain_section(), angles, [40.0])
    lift = np.array([0.0, 0.2, 0.5, 0.8]) * np.max(bare.CL)
    gain = np.interp(lift, bare.CL[0], bare.CD[0]) - np.interp(lift, plated.CL[0], plated.CD[0])
    assert gain[0] < 0
    assert gain[1] < 0 < gain[2] < gain[3]


def test_plates_raise_slope_and_highest_lift_and_hardly_move_the_moment():
    """PUBLISHED: Riley, NACA TN 2440 (1951), summary, aspect ratio 4 (sign and range only)."""
    angles = np.arange(-2.0, 21.0)
    bare, plated = (
        solve_wing(Wing(1.0, 0.25, endplate=p), plain_section(), angles, [40.0])
        for p in (None, Endplate(0.25))
    )
    slope = [(r.CL[0, 6] - r.CL[0, 2]) / 4 for r in (bare, plated)]
    assert 1.1 < slope[1] / slope[0] < 1.3
    assert np.max(plated.CL) > np.max(bare.CL)
    assert abs(plated.CM[0, 5] - bare.CM[0, 5]) < 0.02
    at_same_lift = np.interp(0.8, plated.CL[0, :12], plated.CD_induced[0, :12])
    assert at_same_lift < np.interp(0.8, bare.CL[0, :14], bare.CD_induced[0, :14])
    best = [np.max(r.CL / r.CD) for r in (bare, plated)]
    assert best[1] / best[0] < 1.25


def test_ground_lowers_drag_and_leaves_profile_drag_and_raises_the_slope():
    """PUBLISHED: Carter, NASA TN D-970, summary: slope up, induced drag down, profile drag about constant."""
    free, near = (
        solve_wing(Wing(1.4, 0.25, height_m=h), plain_section(), [2.0, 6.0], [40.0]) for h in (np.inf, 0.25)
    )
    assert np.diff(near.CL[0])[0] > np.diff(free.CL[0])[0]
    assert np.all(near.CD_induced / near.CL**2 < free.CD_induced / free.CL**2)
    np.testing.assert_allclose(near.CD_profile, free.CD_profile, rtol=0.1)
