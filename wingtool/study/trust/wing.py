"""Checks of the wing and of the panels: exact flow, exact bounds, and values by a second method."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np

from wingtool.study.trust.cases import ATTACHED, csv_rows
from wingtool.study.trust.check import Check

SOURCES = {
    "TWIN": "flat-plate vortex lattice by another program of ours: horseshoes at the quarter of each panel,"
    " small angles, drag in the far wake",
    "EXACT": "least induced drag with plates of that height (Munk's condition in the far-wake plane),"
    " computed exactly",
}


def conformal_section(thickness: float, camber: float, tail_deg: float, points: int = 201):
    """A section by the Karman-Trefftz map of a circle, unit chord, and its exact cl as a function of angle.

    Milne-Thomson, Theoretical Aerodynamics, chapter on conformal transformation; from memory.

    Returns
    -------
    xy : ndarray, shape (points, 2)
    exact : callable
        cl at an angle [deg].
    """
    power = 2.0 - tail_deg / 180.0
    centre = complex(-thickness, camber)
    radius = abs(1.0 - centre)
    start = np.angle(1.0 - centre)
    zeta = centre + radius * np.exp(1j * (start + np.linspace(0.0, 2 * np.pi, points)))
    ratio = ((zeta - 1.0) / (zeta + 1.0)) ** power
    ratio[[0, -1]] = 0.0
    z = power * (1.0 + ratio) / (1.0 - ratio)
    nose = int(np.argmax(np.abs(z - z[0])))
    chord = z[0] - z[nose]
    unit = (z - z[nose]) / chord

    def exact(alpha_deg: float) -> float:
        alpha = np.radians(alpha_deg) + np.angle(chord)
        return float(8 * np.pi * radius / abs(chord) * np.sin(alpha - start))

    return np.column_stack([unit.real, unit.imag]), exact


def panel_checks() -> list[Check]:
    """Lift of conformal sections in free air."""
    from wingtool.panels import solve

    checks = []
    for name, shape in (("symmetric", (0.08, 0.0, 15.0)), ("cambered", (0.08, 0.12, 15.0))):
        xy, exact = conformal_section(*shape)
        computed, value = float(solve([xy], 4.0).cl[0, 0]), exact(4.0)
        checks.append(
            Check(
                ATTACHED, f"{name} conformal map", "4°", "lift without friction", value,
                0.003 * abs(value), "EXACT", "Karman-Trefftz map of a circle; 200 panels", computed,
            )
        )  # fmt: skip
    return checks


def wing_checks() -> list[Check]:
    """Lift slope and span efficiency of flat wings with and without plates, lift slope near the ground.

    Rows of `wings.csv`.
    """
    checks = []
    for row in csv_rows(Path(__file__).with_name("wings.csv")):
        numbers = ("aspect_ratio", "plate_span", "height_span", "value", "tolerance")
        aspect, plate, height, value, tolerance = (float(row[name]) for name in numbers)
        slope, efficiency = _slope_and_efficiency(aspect, plate, height)
        checks.append(
            Check(
                row["regime"], f"flat wing, AR {aspect:g}", row["condition"], row["quantity"], value,
                tolerance * value, row["kind"], SOURCES[row["kind"]],
                slope if row["quantity"].startswith("lift") else efficiency,
            )
        )  # fmt: skip
    return checks


@cache
def _slope_and_efficiency(aspect: float, plate_span: float, height_span: float) -> tuple[float, float]:
    from wingtool.section import polar_from_arrays
    from wingtool.wing import Endplate, Wing, solve_wing

    alpha = np.linspace(-10.0, 10.0, 21)
    polar = polar_from_arrays(alpha, 2 * np.pi * np.radians(alpha), np.full(alpha.size, 1e-6))
    ends = Endplate(height_m=plate_span * aspect, length_m=1.0) if plate_span else None
    wing = Wing(aspect, 1.0, height_m=height_span * aspect, endplate=ends, strips=40, rows=8)
    result = solve_wing(wing, polar, [-0.5, 0.5], [30.0])
    slope = float((result.CL[0, 1] - result.CL[0, 0]) / np.radians(1.0))
    return slope, float(result.CL[0, 1] ** 2 / (np.pi * aspect * result.CD_induced[0, 1]))
