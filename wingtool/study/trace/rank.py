"""What the band of a traced wing is made of, and which measurement would shrink it most.

Linear: the lift coefficient's gradient by the shape (central differences through the surrogate along the
covariance's own directions) and the rule for a normal distribution conditioned on a further measurement
(C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine Learning, 2006, appendix A.2).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wingtool.files import words_beside
from wingtool.section import surrogate_shapes, trip_of
from wingtool.study.trace.shape_band import TWO_SIDED_95, traced_beside
from wingtool.study.wing.roof import UNKNOWN_ROOF, air_at_wing
from wingtool.wing import RoofInflow

if TYPE_CHECKING:
    from wingtool.study.advice import Advice
    from wingtool.study.schema.study import Study
    from wingtool.tracing import TracedSection
    from wingtool.wing import WingPolar

GAUGE_ERROR_DEG = 0.3  # standard deviation of an angle set by hand: common practice, no source
SHAPE_CAUSES, SHAPE_REMEDIES = words_beside(__file__, "causes"), words_beside(__file__, "remedies")
TUFTS_DEG = 0.5  # standard deviation of the air's direction by tufts on a mast: common practice, no source


@dataclass(frozen=True, eq=False)
class Ranking:
    """Causes, widest first, and measurements, most helpful first, for one angle.

    Half widths of cl (95 %): `below_cl` and `above_cl` in all, which differ where nobody measured the air
    behind the roof, since it comes down and not up; `shares` what a cause alone brings and `remedies` what
    is left in all after a measurement, each half of the way from low to high.
    """

    alpha_deg: float
    below_cl: float
    above_cl: float
    shape_half_width_cl: float
    shares: dict[str, float]
    remedies: dict[str, float]


@dataclass(frozen=True, eq=False)
class TracedAnswer:
    """The traced section, the ranking at the working angle of the wing's middle, and its lift there."""

    found: TracedSection
    ranking: Ranking
    cl: float

    @property
    def gauge_half_deg(self) -> float:
        """Half width of the 95 % band of what a straightedge on the top shows [deg]."""
        from wingtool.tracing import top_datum

        return 2.0 * top_datum(self.found.shape, self.found.covariance).error_deg


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
    roof: RoofInflow = UNKNOWN_ROOF,
) -> Ranking:
    """Causes and remedies at one angle.

    Parameters
    ----------
    gauge_error_deg : float
        Standard deviation of the set angle [deg].
    roof : RoofInflow
        The air behind the roof, of which the widest band counts.
    """
    from wingtool.tracing import measure_rows

    gradient, slope = lift_gradient(found, reynolds, alpha_deg, surface, trip_x)
    shape, gauge = float(gradient @ found.covariance @ gradient), (slope * gauge_error_deg) ** 2
    band_deg, rows = float(roof.angle_band_deg.max()), measure_rows(found.shape)
    up, down = (slope * band_deg / TWO_SIDED_95) ** 2, 0.0
    if not roof.one_sided:
        down = up

    def goes(name: str, error_mm: float) -> float:
        return known_better(gradient, found.covariance, rows[name], error_mm / found.chord_mm)

    def left(variance: float, below: float = down, above: float = up) -> float:
        return 0.5 * (_half_width(variance + below) + _half_width(variance + above))

    air = f"0 to {band_deg:g} deg down, not measured" if roof.one_sided else f"+-{band_deg:.1f} deg"
    shares = {cause: _half_width(goes(name, 0.0)) for cause, name in SHAPE_CAUSES.items()} | {
        f"angle as set (+-{2 * gauge_error_deg:.1f} deg)": _half_width(gauge),
        f"roof inflow ({air})": left(0.0),
    }
    saved = {remedy: goes(*measured) for remedy, measured in SHAPE_REMEDIES.items()}
    saved["the whole outline once more, with the same care"] = 0.5 * shape
    by_gauge = max(gauge - (0.1 * slope) ** 2, 0.0)
    saved["angle by digital gauge on a cut template, to 0.1 deg"] = by_gauge
    remedies = {remedy: left(shape + gauge - gone) for remedy, gone in saved.items()}
    tufts = (TUFTS_DEG * slope) ** 2
    name = f"flow direction behind the roof by tufts on a mast, to {TUFTS_DEG:g} deg"
    remedies[name] = min(left(shape + gauge, tufts, tufts), left(shape + gauge))
    return Ranking(
        alpha_deg=float(alpha_deg),
        below_cl=_half_width(shape + gauge + down),
        above_cl=_half_width(shape + gauge + up),
        shape_half_width_cl=_half_width(shape),
        shares=dict(sorted(shares.items(), key=lambda share: -share[1])),
        remedies=dict(sorted(remedies.items(), key=lambda remedy: remedy[1])),
    )


def _half_width(variance: float) -> float:
    return TWO_SIDED_95 * float(np.sqrt(max(variance, 0.0)))


def traced_answer(study: Study, wing: WingPolar, advice: Advice) -> TracedAnswer | None:
    """The ranked list for the start angle at the middle speed; None when the section was not traced."""
    found = traced_beside(study.wing.section, study.folder)
    if found is None:
        return None
    at = wing.middle_speed, wing.nearest_angle(advice.start_deg), wing.middle_strip
    alpha = float(wing.strip_alpha_deg[at])
    alpha = alpha if np.isfinite(alpha) else float(wing.wing_angle_deg[at[1]])
    reynolds, table = float(np.median(wing.reynolds)), study.wing
    ranking = rank(found, reynolds, alpha, table.surface, table.trip_x, roof=air_at_wing(study))
    return TracedAnswer(found, ranking, float(wing.strip_cl[at]))
