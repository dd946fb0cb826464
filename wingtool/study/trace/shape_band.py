"""What a traced section's band does to its coefficients: draws through the learned surrogate.

The surrogate carries the differences between the draws and their centre; the section method carries the
centre. Both widths, the shape's and the method's own, stand in quadrature.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.files import words_beside
from wingtool.section import surrogate_shapes, trip_of

if TYPE_CHECKING:
    from wingtool.section import SectionPolar
    from wingtool.tracing import TracedSection

WORDS = words_beside(__file__, "shape_band")
DRAWS = 200
PERCENTILES_95, TWO_SIDED_95 = (2.5, 97.5), 1.96


@dataclass(frozen=True, eq=False)
class ShapeBand:
    """Departures of the draws from the centre, by the surrogate.

    `cl_below, cl_above, cd_below, cd_above` (m,) are 95 % half widths; `slope_per_deg` (m,) is the lift
    slope.
    """

    reynolds: float
    cl_below: np.ndarray
    cl_above: np.ndarray
    cd_below: np.ndarray
    cd_above: np.ndarray
    slope_per_deg: np.ndarray


def shape_band(
    found: TracedSection,
    reynolds: float,
    alpha_deg: np.ndarray,
    surface: str = "race",
    trip_x: float | None = None,
    count: int = DRAWS,
) -> ShapeBand:
    """Band of the coefficients from the shape alone, at fixed angles of the chord line.

    Parameters
    ----------
    found : TracedSection
    reynolds : float
    alpha_deg : ndarray, shape (m,)
        [deg]
    surface, trip_x
        As for a polar.
    count : int
        Draws.
    """
    from wingtool.tracing import draws, for_surrogate

    alpha = np.atleast_1d(np.asarray(alpha_deg, dtype=float))
    shapes = np.vstack([found.shape, draws(found.shape, found.covariance, count)])
    both = np.concatenate([alpha, alpha + 0.5])
    answer = surrogate_shapes(for_surrogate(shapes), reynolds, both, trip_of(surface, trip_x))
    m, widths = len(alpha), []
    for centre, *others in (answer.cl[:, :m], answer.cd[:, :m]):
        low, high = np.percentile(others, PERCENTILES_95, axis=0)
        widths += [np.maximum(centre - low, 0.0), np.maximum(high - centre, 0.0)]
    slope_per_deg = (answer.cl[0, m:] - answer.cl[0, :m]) / 0.5
    return ShapeBand(float(reynolds), *(*widths, slope_per_deg))


def with_shape_band(polar: SectionPolar, found: TracedSection) -> SectionPolar:
    """A polar whose band holds the traced shape's, its twist's in a measured wing, and the method's own.

    Parameters
    ----------
    polar : SectionPolar
        Of the traced section's centre, by any method.
    found : TracedSection
    """
    middle = float(np.sqrt(polar.reynolds[0] * polar.reynolds[-1]))
    band = shape_band(found, middle, polar.alpha_deg, polar.surface, polar.trip_x)
    own = [_own(polar, name) for name in ("cl_low", "cl_high", "cd_low", "cd_high")]
    twist = TWO_SIDED_95 * found.twist_error_deg * band.slope_per_deg
    shape = (*np.hypot([band.cl_below, band.cl_above], twist), band.cd_below, band.cd_above)
    low_cl, high_cl, low_cd, high_cd = (np.hypot(a, b) for a, b in zip(own, shape, strict=True))
    return replace(
        polar,
        cl_low=polar.cl - low_cl,
        cl_high=polar.cl + high_cl,
        cd_low=np.maximum(polar.cd - low_cd, 0.0),
        cd_high=polar.cd + high_cd,
        band_origin=_origin(polar, found),
    )


def _own(polar: SectionPolar, name: str) -> np.ndarray:
    edge = getattr(polar, name)
    value = polar.cl if name.startswith("cl") else polar.cd
    return np.zeros_like(value) if edge is None else np.abs(edge - value)


def _origin(polar: SectionPolar, found: TracedSection) -> str:
    method = polar.band_origin or f"method {polar.method}, own band not stated"
    twist = f", twist +-{TWO_SIDED_95 * found.twist_error_deg:.1f} deg" if found.twist_error_deg else ""
    return WORDS["origin"].format(found.way, found.error_mm, DRAWS, polar.method, twist, method)


def traced_beside(name: str, folder: Path) -> TracedSection | None:
    """The traced section of a coordinate file named in a study; None when no band lies beside it."""
    for path in (folder / name, Path(name)):
        if path.is_file():
            from wingtool.tracing import read_traced

            return read_traced(path)
    return None
