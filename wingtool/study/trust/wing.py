"""Checks of the wing and of the panels: exact flow, exact bounds, and values by a second method."""

from __future__ import annotations

import numpy as np

from wingtool.study.trust.cases import ATTACHED, GROUND, PLATES
from wingtool.study.trust.check import Check

LATTICE = (
    "flat-plate vortex lattice by another program of ours: horseshoes at the quarter of each panel, small"
    " angles, drag in the far wake"
)
BOUND = (
    "least induced drag with plates of that height (Munk's condition in the far-wake plane), computed exactly"
)
# aspect ratio, plate height over span, lift slope per radian, span efficiency
SECOND_METHOD = (
    (4.0, 0.0, 3.612, 0.994),
    (6.0, 0.0, 4.214, 0.984),
    (8.0, 0.0, 4.586, 0.972),
    (6.0, 0.1, 4.639, 1.181),
    (6.0, 0.2, 4.876, 1.371),
)
BOUNDS = ((0.1, 1.1952), (0.2, 1.3819))
GROUND_METHOD = ((6.0, 0.5, 4.318), (6.0, 0.3, 4.449))  # aspect ratio, height over span, lift slope


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
        computed = float(solve([xy], 4.0).cl[0, 0])
        value = exact(4.0)
        checks.append(
            Check(
                ATTACHED, f"{name} section by conformal map", "no friction, 4°, 200 panels",
                "lift without friction", value, 0.003 * abs(value), computed, np.nan, "EXACT",
                "Karman-Trefftz map of a circle",
            )
        )  # fmt: skip
    return checks


def _linear_polar():
    from wingtool.section import polar_from_arrays

    alpha = np.linspace(-10.0, 10.0, 21)
    return polar_from_arrays(alpha, 2 * np.pi * np.radians(alpha), np.full(alpha.size, 1e-6))


def _wing(aspect: float, plate: float, height: float = np.inf):
    from wingtool.wing import Endplate, Wing

    ends = Endplate(height_m=plate * aspect, length_m=1.0) if plate else None
    return Wing(span_m=aspect, chord_m=1.0, height_m=height, endplate=ends, strips=40, rows=8)


def wing_checks() -> list[Check]:
    """Lift slope and span efficiency of flat wings with and without plates; lift slope near the ground."""
    checks = []

    def check(regime, aspect, condition, quantity, value, share, computed, kind="TWIN", source=LATTICE):
        subject = f"flat wing, aspect ratio {aspect:g}"
        margin = share * value
        checks.append(
            Check(regime, subject, condition, quantity, value, margin, computed, np.nan, kind, source)
        )

    for aspect, plate, slope, efficiency in SECOND_METHOD:
        found_slope, found_efficiency = _slope_and_efficiency(_wing(aspect, plate), aspect)
        condition = f"plates {plate:g} of the span high" if plate else "no plates"
        check(PLATES, aspect, condition, "lift slope [1/rad]", slope, 0.01, found_slope)
        check(PLATES, aspect, condition, "span efficiency", efficiency, 0.02, found_efficiency)
    for plate, bound in BOUNDS:
        _, found = _slope_and_efficiency(_wing(6.0, plate), 6.0)
        text = f"plates {plate:g} of the span high; must not pass the bound"
        check(PLATES, 6.0, text, "span efficiency under its bound", bound, 0.03, found, "EXACT", BOUND)
    for aspect, height, slope in GROUND_METHOD:
        found, _ = _slope_and_efficiency(_wing(aspect, 0.0, height * aspect), aspect)
        above = f"{height:g} of the span above the ground"
        check(GROUND, aspect, above, "lift slope [1/rad]", slope, 0.02, found)
    return checks


def _slope_and_efficiency(wing, aspect: float) -> tuple[float, float]:
    from wingtool.wing import solve_wing

    result = solve_wing(wing, _linear_polar(), [-0.5, 0.5], [30.0])
    slope = float((result.CL[0, 1] - result.CL[0, 0]) / np.radians(1.0))
    induced = float(result.CD_induced[0, 1])
    return slope, float(result.CL[0, 1]) ** 2 / (np.pi * aspect * induced)
