"""The reverse check: one force measured on the real wing narrows the band, or does not fit it.

Each draw of the traced shape, with a set angle and a roof flow drawn from their own errors, predicts the
force; draws are then weighted by how well they do (importance weighting by a normal likelihood; A. Gelman et
al., Bayesian Data Analysis, 3rd ed., 2013, section 10.4). The wing's answer to a change of the section's lift
is linear, from two more solutions of the wing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.errors import TraceError
from wingtool.section import SectionPolar, surrogate_shapes
from wingtool.study.trace.rank import GAUGE_ERROR_DEG, ROOF_ERROR_DEG
from wingtool.study.trace.shape_band import PERCENTILES_95, TWO_SIDED_95, traced_beside, trip_of
from wingtool.tracing import TracedSection, draws, for_surrogate, narrowed
from wingtool.units import quantity

if TYPE_CHECKING:
    from wingtool.study.schema.study import Study

COUNT = 4000
STEP_CL = 0.05
UNFIT = 2.6  # standard deviations; one honest measurement in a hundred lies farther out
FEWEST_EFFECTIVE = 50.0
METHOD_SHARE = 0.03  # of the downforce, as the wing states it: common practice, no source


@dataclass(frozen=True, eq=False)
class ForceReading:
    """Downforce on the real wing [N] with its standard deviation, at a speed [m/s] and wing angle [deg]."""

    force_n: float
    error_n: float
    speed_m_s: float
    wing_angle_deg: float


@dataclass(frozen=True, eq=False)
class Update:
    """What a measured force says about the trace.

    `before_n` and `after_n` are low, middle, high of the predicted force [N]; `cl_before`, `cl_after` those
    of the section's cl at the middle strip's angle; `fits` whether the measurement is believed; `found` the
    traced section with its band narrowed, or as it was when the measurement does not fit.
    """

    reading: ForceReading
    before_n: tuple[float, float, float]
    after_n: tuple[float, float, float]
    cl_before: tuple[float, float, float]
    cl_after: tuple[float, float, float]
    fits: bool
    found: TracedSection
    text: str


def force_reading(force: str | None, error: str, speed: str | None, angle_deg: float) -> ForceReading:
    """A measured force from words with units.

    Raises
    ------
    WingtoolError
        A word without its unit, or no force or speed.
    """
    if force is None or speed is None:
        raise TraceError('--study needs --force "310 N" and --speed "90 km/h", and the --angle that was set')
    return ForceReading(
        quantity(force, "force", "--force"),
        quantity(error, "force", "--force-error"),
        quantity(speed, "speed", "--speed"),
        angle_deg,
    )


def weighted(values: np.ndarray, weights: np.ndarray) -> tuple[float, float, float]:
    """Low, middle and high (2.5, 50, 97.5 %) of weighted draws."""
    order = np.argsort(values)
    share = np.cumsum(weights[order]) / weights.sum()
    low, middle, high = np.interp(
        np.array([PERCENTILES_95[0], 50.0, PERCENTILES_95[1]]) / 100, share, values[order]
    )
    return float(low), float(middle), float(high)


def update_by_force(
    found: TracedSection,
    cl: np.ndarray,
    force_n: np.ndarray,
    shapes: np.ndarray,
    reading: ForceReading,
    method_error_n: float = 0.0,
) -> Update:
    """Weight draws by a measured force.

    Parameters
    ----------
    found : TracedSection
    cl, force_n : ndarray, shape (n,)
        Each draw's section lift coefficient and predicted force [N].
    shapes : ndarray, shape (n, SHAPE)
        The draws.
    reading : ForceReading
    method_error_n : float
        Standard deviation of the prediction's own error [N]; no draw can be told from another within it.
    """
    error = float(np.hypot(reading.error_n, method_error_n))
    away = float((reading.force_n - force_n.mean()) / np.hypot(force_n.std(), error))
    weights = np.exp(-0.5 * ((force_n - reading.force_n) / error) ** 2)
    effective = float(weights.sum() ** 2 / max((weights**2).sum(), 1e-300))
    even = np.ones(len(cl))
    fits = abs(away) <= UNFIT and effective >= FEWEST_EFFECTIVE
    use = weights if fits else even
    kept = found
    if fits:
        middle = use @ shapes / use.sum()
        apart = shapes - middle
        kept = narrowed(found, middle, (apart * use[:, None]).T @ apart / use.sum(), _note(reading))
    before, after = weighted(force_n, even), weighted(force_n, use)
    text = _verdict(reading, before, after, away, fits)
    spans = (before, after, weighted(cl, even), weighted(cl, use))
    return Update(reading, *spans, fits, kept, text)


def _note(reading: ForceReading) -> str:
    return (
        f"band narrowed by {reading.force_n:.0f} N (+-{2 * reading.error_n:.0f}) measured at "
        f"{reading.speed_m_s:.1f} m/s and {reading.wing_angle_deg:g} deg"
    )


def _verdict(reading, before, after, away, fits) -> str:
    if not fits:
        return (
            f"{reading.force_n:.0f} N does not fit: shape and angle allow {before[0]:.0f} to {before[2]:.0f} "
            f"N, and the measurement lies {abs(away):.1f} standard deviations "
            f"{'above' if away > 0 else 'below'}; nothing was changed. Check speed, wind, angle, the load "
            "path, then the trace"
        )
    width = (after[2] - after[0]) / max(before[2] - before[0], 1e-9)
    return (
        f"{reading.force_n:.0f} N fits ({abs(away):.1f} standard deviations off): {before[0]:.0f} to "
        f"{before[2]:.0f} N becomes {after[0]:.0f} to {after[2]:.0f} N, {width:.0%} of the width"
    )


@dataclass(frozen=True, eq=False)
class _Answer:
    """The wing at the measured point: force [N], its slopes, the middle strip's angle [deg], own errors."""

    force_n: float
    per_cl: float
    per_deg: float
    alpha_deg: float
    reynolds: float
    own_cl: float
    polar: SectionPolar
    turn_error_deg: float


def check_trace(
    study_path: Path | str, reading: ForceReading, progress: Callable[[str], None] = lambda _text: None
) -> Update:
    """Hold a measured force against a study's wing whose section was traced.

    Parameters
    ----------
    study_path : Path
        A study whose ``[wing] section`` is a traced coordinate file with its band beside it.
    reading : ForceReading
    progress : callable
        Takes a line on what is being done.

    Raises
    ------
    WingtoolError
        A study that cannot be read, a section without a band, or a force without an error.
    """
    from wingtool.study.schema.read import read_study

    if not reading.error_n > 0.0 or not reading.speed_m_s > 0.0:
        raise TraceError('a force needs an error and a speed above zero, for example --force-error "20 N"')
    study = read_study(Path(study_path))
    found = traced_beside(study.wing.section, study.folder)
    if found is None:
        raise TraceError(
            f"{study_path}: the section {study.wing.section!r} has no band beside it; make one with "
            "wingtool trace --out"
        )
    progress("section and wing")
    answer = _answer_of(study, reading)
    progress(f"{COUNT} draws")
    shapes = draws(found.shape, found.covariance, COUNT)
    rows = for_surrogate(np.vstack([found.shape, shapes]))
    trip = trip_of(answer.polar.surface, answer.polar.trip_x)
    cl = surrogate_shapes(rows, answer.reynolds, [answer.alpha_deg], trip).cl[:, 0]
    turn = np.random.default_rng(7).normal(0.0, answer.turn_error_deg, COUNT)
    force = answer.force_n + answer.per_cl * (cl[1:] - cl[0]) + answer.per_deg * turn
    own = float(answer.polar.at(answer.alpha_deg, answer.reynolds).cl)
    section = np.sqrt(max(answer.own_cl**2 - cl[1:].var(), 0.0))
    method = float(np.hypot(answer.per_cl * section, METHOD_SHARE / TWO_SIDED_95 * answer.force_n))
    return update_by_force(found, own + cl[1:] - cl[0], force, shapes, reading, method)


def _answer_of(study: Study, reading: ForceReading) -> _Answer:
    """Two solutions of the wing, the second with the section's lift raised."""
    from wingtool.study.wing.finite_wing import roof_inflow, station_polars, wing_geometry
    from wingtool.wing import solve_wing

    stations = station_polars(study, lambda _text: None)
    wing, inflow, air = wing_geometry(study), roof_inflow(study), study.air.air()
    angles = reading.wing_angle_deg + np.array([-0.5, 0.0, 0.5])
    both = []
    for shift in (0.0, STEP_CL):
        lifted = tuple(replace(s, polars=tuple(lifted_by(p, shift) for p in s.polars)) for s in stations)
        both.append(solve_wing(wing, lifted, angles, [reading.speed_m_s], air, inflow))
    centre, more = (wing_polar.downforce.n[0] for wing_polar in both)
    middle = int(np.argmin(np.abs(both[0].strip_y_m)))
    alpha = float(both[0].strip_alpha_deg[0, 1, middle])
    if not (np.isfinite(centre).all() and np.isfinite(more).all() and np.isfinite(alpha)):
        at = f"{reading.wing_angle_deg:g} deg"
        raise TraceError(f"the wing has no answer at {at}; check at a smaller angle")
    polar = stations[0].polars[0]
    reynolds = float(air.reynolds(reading.speed_m_s, study.wing.chord_m))
    per_cl = float(more[1] - centre[1]) / STEP_CL
    own_cl = own_error_cl(polar, alpha, reynolds)
    roof = ROOF_ERROR_DEG if inflow is None else float(np.max(inflow.angle_band_deg)) / TWO_SIDED_95
    return _Answer(
        float(centre[1]),
        per_cl,
        float(centre[2] - centre[0]),
        alpha,
        reynolds,
        own_cl,
        polar,
        float(np.hypot(GAUGE_ERROR_DEG, roof)),
    )


def own_error_cl(polar: SectionPolar, alpha_deg: float, reynolds: float) -> float:
    """Standard deviation of cl that the polar states, the traced shape's share in it."""
    below, above, _, _ = polar.half_widths(np.array(alpha_deg), np.array(reynolds))
    return float(0.5 * (below + above)) / TWO_SIDED_95


def lifted_by(polar: SectionPolar, shift: float) -> SectionPolar:
    """A polar with its lift raised everywhere."""
    circulation = None if polar.circulation is None else polar.circulation + shift
    return replace(polar, cl=polar.cl + shift, circulation=circulation)
