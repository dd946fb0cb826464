"""What the band of a traced wing is made of, and which measurement would shrink it most.

Linear: the lift coefficient's gradient by the shape (central differences through the surrogate along the
covariance's own directions) and the rule for a normal distribution conditioned on a further measurement
(C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine Learning, 2006, appendix A.2).
"""

from __future__ import annotations

import operator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wingtool.section import surrogate_shapes
from wingtool.study.trace.shape_band import TWO_SIDED_95, trip_of

if TYPE_CHECKING:
    from wingtool.tracing import TracedSection

GAUGE_ERROR_DEG = 0.3  # standard deviation of an angle set by hand: common practice, no source
# what a person can measure: cause or remedy, and the rows of `tracing.measure_rows` with their error [mm];
# common practice, no source
SHAPE_CAUSES = {
    "nose (both sides)": "nose, both sides",
    "camber": "camber",
    "greatest thickness": "thickness",
    "tail (edge, last tenth)": "tail",
}
SHAPE_REMEDIES = {
    "nose radius by drill shank or coin, to 0.25 mm": ("nose radius", 0.25),
    "camber at 25, 50 and 75 % with straightedge and feelers, to 0.1 mm": ("camber", 0.1),
    "greatest thickness by calipers, to 0.05 mm": ("thickness", 0.05),
    "tail edge and thickness at 90 % by calipers, to 0.05 mm": ("tail thickness", 0.05),
}
ROOF_ERROR_DEG = 1.0  # of the flow's direction behind a roof that nobody measured: common practice, no source


@dataclass(frozen=True)
class Share:
    """Half width of cl (95 %) that a cause alone brings, or that is left in all after a measurement."""

    name: str
    half_width_cl: float


@dataclass(frozen=True, eq=False)
class Ranking:
    """Causes, widest first, and measurements, most helpful first, for one angle."""

    alpha_deg: float
    whole_half_width_cl: float
    shape_half_width_cl: float
    shares: tuple[Share, ...]
    remedies: tuple[Share, ...]


def lift_gradient(
    found: TracedSection, reynolds: float, alpha_deg: float, surface: str, trip_x: float | None
) -> tuple[np.ndarray, float]:
    """Derivatives of cl by the shape parameters (SHAPE,) within the band, and by the angle [1/deg]."""
    from wingtool.tracing import for_surrogate

    values, vectors = np.linalg.eigh(found.covariance)
    keep = values > 1e-9 * values[-1]
    step = vectors[:, keep] * np.sqrt(values[keep])
    shapes = np.vstack([found.shape + step.T, found.shape - step.T, found.shape, found.shape])
    alpha = np.full((len(shapes), 1), float(alpha_deg))
    alpha[-2:, 0] += [0.5, -0.5]
    cl = surrogate_shapes(for_surrogate(shapes), reynolds, alpha, trip_of(surface, trip_x)).cl[:, 0]
    n = step.shape[1]
    along = 0.5 * (cl[:n] - cl[n : 2 * n])
    return (vectors[:, keep] / np.sqrt(values[keep])) @ along, float(cl[-2] - cl[-1])


def known_better(gradient, covariance, rows, error) -> float:
    """Variance of cl that goes when `rows` of the shape are measured with an error, a standard deviation."""
    seen = rows @ covariance
    noise = np.atleast_1d(error) ** 2 * np.eye(len(rows))
    towards = seen @ gradient
    return float(towards @ np.linalg.solve(seen @ rows.T + noise + 1e-14 * np.eye(len(rows)), towards))


def rank(
    found: TracedSection,
    reynolds: float,
    alpha_deg: float,
    surface: str = "race",
    trip_x: float | None = None,
    gauge_error_deg: float = GAUGE_ERROR_DEG,
    roof_error_deg: float = ROOF_ERROR_DEG,
) -> Ranking:
    """Causes and remedies at one angle.

    Parameters
    ----------
    gauge_error_deg, roof_error_deg : float
        Standard deviations of the set angle and of the flow's direction behind the roof [deg].
    """
    from wingtool.tracing import measure_rows

    gradient, slope = lift_gradient(found, reynolds, alpha_deg, surface, trip_x)
    shape = float(gradient @ found.covariance @ gradient)
    gauge, roof = (slope * gauge_error_deg) ** 2, (slope * roof_error_deg) ** 2
    whole = shape + gauge + roof
    rows = measure_rows(found.shape)

    def goes(name: str, error_mm: float) -> float:
        return known_better(gradient, found.covariance, rows[name], error_mm / found.chord_mm)

    turns = {
        f"angle as set (+-{2 * gauge_error_deg:.1f} deg)": gauge,
        f"roof inflow (+-{2 * roof_error_deg:.1f} deg)": roof,
    }
    parts = {cause: goes(name, 0.0) for cause, name in SHAPE_CAUSES.items()} | turns
    saved = {remedy: goes(*measured) for remedy, measured in SHAPE_REMEDIES.items()}
    saved["the whole outline once more, with the same care"] = 0.5 * shape
    for remedy, (variance, left_deg) in {
        "angle by digital gauge on a cut template, to 0.1 deg": (gauge, 0.1),
        "flow direction behind the roof by tufts on a mast, to 0.5 deg": (roof, 0.5),
    }.items():
        saved[remedy] = max(variance - (left_deg * slope) ** 2, 0.0)
    return _ranked(float(alpha_deg), whole, shape, parts, saved)


def _ranked(alpha_deg: float, whole: float, shape: float, parts: dict, saved: dict) -> Ranking:
    """Variances as half widths, in order."""
    order = operator.attrgetter("half_width_cl")
    shares = sorted((Share(name, _half_width(part)) for name, part in parts.items()), key=order)
    remedies = sorted((Share(name, _half_width(whole - gone)) for name, gone in saved.items()), key=order)
    return Ranking(alpha_deg, _half_width(whole), _half_width(shape), tuple(shares[::-1]), tuple(remedies))


def _half_width(variance: float) -> float:
    return TWO_SIDED_95 * float(np.sqrt(max(variance, 0.0)))
