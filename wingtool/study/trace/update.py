"""The reverse check: one force measured on the real wing narrows the traced shape's band, or does not fit it.

Each draw of the shape predicts the force, with the other errors of the prediction drawn beside it; draws are
weighted by a normal likelihood of the measurement (importance weighting; A. Gelman et al., Bayesian Data
Analysis, 3rd ed., 2013, section 10.4). A section's change of lift acts on the wing as a turn by that change
over the strips' mean lift slope: within 2 % of a second solution up to 2 degrees short of the stall.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import words_beside
from wingtool.section import surrogate_shapes, trip_of
from wingtool.study.progress import no_progress
from wingtool.study.schema.car import MOST_PART_M2, SEA_LEVEL_KG_M3
from wingtool.study.schema.read import read_study
from wingtool.study.schema.study import Study
from wingtool.study.trace.rank import GAUGE_ERROR_DEG
from wingtool.study.trace.shape_band import PERCENTILES_95, TWO_SIDED_95, traced_beside
from wingtool.study.wing.finite_wing import wing_of_study, with_sweep
from wingtool.tracing import TracedSection, draws, for_surrogate, narrowed
from wingtool.units import quantity
from wingtool.wing import WingPolar

WORDS = words_beside(__file__, "update")
SHAPES, ERRORS_EACH = 4000, 10  # draws of the shape, and of the other errors with each
UNFIT = 2.6  # standard deviations; one honest measurement in a hundred lies farther out
LEAST_ERROR = 0.05  # of the prediction's spread: a smaller one teaches no more and leaves too few draws
NARROWED = "band narrowed by"
LEAST_SLOPE_PER_DEG = 0.05  # half of the usual: below it the section is about to stall


@dataclass(frozen=True)
class ForceReading:
    """Downforce on the real wing [N] with its standard deviation, at a speed [m/s] and wing angle [deg]."""

    force_n: float
    error_n: float
    speed_m_s: float
    wing_angle_deg: float

    @property
    def measured(self) -> np.ndarray:
        """Force, speed and angle (3,), which tell one reading from another; the stated error does not."""
        return np.array([self.force_n, self.speed_m_s, self.wing_angle_deg])


@dataclass(frozen=True, eq=False)
class Update:
    """What a measured force says about the trace.

    `away` is the measurement less the prediction in standard deviations of both; `before_n`, `after_n` are
    low, middle, high (95 %) of the force [N]; `cl_before`, `cl_after` those of the middle strip's cl, as far
    as the shape leaves it open; `found` has its band narrowed, or as it was if the force does not fit.
    """

    reading: ForceReading
    away: float
    before_n: tuple[float, ...]
    after_n: tuple[float, ...]
    cl_before: tuple[float, ...]
    cl_after: tuple[float, ...]
    found: TracedSection

    @property
    def fits(self) -> bool:
        """Whether the measurement is believed."""
        return abs(self.away) <= UNFIT


def force_reading(force: str | None, error: str, speed: str | None, angle_deg: float) -> ForceReading:
    """A measured force from words with units.

    Raises
    ------
    WingtoolError
        A word without its unit, no force, error or speed, a force that no wing makes.
    """
    if force is None or speed is None:
        raise TraceError(WORDS["no_force"])
    force_n, error_n = quantity(force, "force", "--force"), quantity(error, "force", "--error")
    speed_m_s = quantity(speed, "speed", "--speed")
    most_n = MOST_PART_M2 * 0.5 * SEA_LEVEL_KG_M3 * speed_m_s**2
    if not (error_n > 0.0 and speed_m_s > 0.0 and abs(force_n) <= most_n):
        raise TraceError(WORDS["unit"].format(force, error, speed, most_n))
    return ForceReading(force_n, error_n, speed_m_s, angle_deg)


def weighted(values: np.ndarray, weights: np.ndarray) -> tuple[float, ...]:
    """Low, middle and high (2.5, 50, 97.5 %) of weighted draws."""
    order = np.argsort(values)
    percent = 100.0 * np.cumsum(weights[order]) / weights.sum()
    return tuple(np.interp([PERCENTILES_95[0], 50.0, PERCENTILES_95[1]], percent, values[order]).tolist())


def update_by_force(
    found: TracedSection, cl: np.ndarray, force_n: np.ndarray, shapes: np.ndarray, reading: ForceReading
) -> Update:
    """Weight draws by a measured force.

    Parameters
    ----------
    cl, force_n : ndarray, shape (n,)
        Each draw's section lift coefficient and predicted force [N], the prediction's other errors in it.
    shapes : ndarray, shape (n, SHAPE)
    """
    spread = force_n.std()
    away = float((reading.force_n - force_n.mean()) / np.hypot(spread, reading.error_n))
    before = after = np.ones(len(cl))
    if abs(away) <= UNFIT:
        error = max(reading.error_n, LEAST_ERROR * spread)
        after = np.exp(-0.5 * ((force_n - reading.force_n) / error) ** 2)
        middle, covariance = np.average(shapes, 0, after), np.cov(shapes.T, aweights=after)
        band_n = TWO_SIDED_95 * reading.error_n
        condition = reading.speed_m_s, reading.wing_angle_deg
        note = WORDS["narrowed"].format(NARROWED, reading.force_n, band_n, *condition)
        found = narrowed(found, middle, covariance, note, reading.measured)
    bands = [weighted(values, weights) for values in (force_n, cl) for weights in (before, after)]
    return Update(reading, away, bands[0], bands[1], bands[2], bands[3], found)


def check_trace(
    study_path: Path | str, reading: ForceReading, progress: Callable[[str], None] = no_progress
) -> Update:
    """Hold a measured force against a study's wing whose section was traced.

    Parameters
    ----------
    study_path : Path
        A study whose ``[wing] section`` is a traced coordinate file with its band beside it.

    Raises
    ------
    WingtoolError
        A study that cannot be read, a section without a band or with this force in it, a wing about to stall.
    """
    study = read_study(Path(study_path))
    table, angle = study.wing, reading.wing_angle_deg
    found = traced_beside(table.section, study.folder)
    if found is None:
        raise TraceError(WORDS["no_band"].format(study_path, table.section))
    if NARROWED in found.section.origin and not len(found.forces):
        raise TraceError(WORDS["older"].format(table.section))
    if np.isclose(found.forces, reading.measured, rtol=1e-6).all(axis=1).any():
        raise TraceError(f"{table.section}: this force has narrowed its band already; check another one")
    around = with_sweep(study, angles_deg=[angle - 0.5, angle, angle + 0.5], speeds_m_s=[reading.speed_m_s])
    wing = wing_of_study(around, progress)
    progress("what the outline leaves open")
    return update_by_force(found, *predictions(study, found, wing), reading)


def predictions(
    study: Study, found: TracedSection, wing: WingPolar
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Draws of the middle strip's cl (n,), of the force [N] (n,) and the shape (n, SHAPE) that it comes from.

    Parameters
    ----------
    wing : WingPolar
        At one speed, and three angles of which the middle one is meant.
    """
    middle, table, force = wing.middle_strip, study.wing, wing.downforce
    cl, alpha_deg, angles = wing.strip_cl[0], wing.strip_alpha_deg[0], wing.wing_angle_deg
    slopes = (cl[2] - cl[0]) / (alpha_deg[2] - alpha_deg[0])
    held = np.isfinite(slopes) & (wing.strip_plane == 0)
    slope = np.average(slopes[held], weights=wing.strip_width_m[held]) if wing.converged.all() else 0.0
    if not slope > LEAST_SLOPE_PER_DEG:
        raise TraceError(f"--angle: at {angles[1]:g} deg the wing is near its stall; measure at less angle")
    shapes, up = draws(found.shape, found.covariance, SHAPES), -1.0 if table.flip else 1.0
    rows, trip = for_surrogate(np.vstack([found.shape, shapes])), trip_of(table.surface, table.trip_x)
    reynolds, seen_deg = float(wing.reynolds[0, 1]), up * alpha_deg[1, middle]
    drawn = up * surrogate_shapes(rows, reynolds, [seen_deg], trip).cl[:, 0]
    shift, per_deg = drawn[1:] - drawn[0], (force.n[0, 2] - force.n[0, 0]) / (angles[2] - angles[0])
    by_shape = per_deg / slope * shift
    band = (force.high_n - force.low_n)[0, 1] / (2.0 * TWO_SIDED_95)  # the shape's and the roof's in it
    other = np.hypot(np.sqrt(max(band**2 - by_shape.var(), 0.0)), per_deg * GAUGE_ERROR_DEG)
    k = np.repeat(np.arange(SHAPES), ERRORS_EACH)
    force_n = force.n[0, 1] + by_shape[k] + np.random.default_rng(7).normal(0.0, other, len(k))
    return cl[1, middle] + shift[k], force_n, shapes[k]
