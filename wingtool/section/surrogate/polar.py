"""The learned surrogate that ships with aerosandbox: a second opinion on a section, in milliseconds.

Its training data are results of an integral boundary-layer method, not measurements. It carries its own
measure of confidence, which falls away from the shapes and angles that it was trained on.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from wingtool.errors import RangeError
from wingtool.geometry import Section
from wingtool.section.cache import Row, cached_rows
from wingtool.section.polar import LOW_CONFIDENCE, NOT_CONVERGED, SectionPolar, status_from_shape
from wingtool.section.surface import surface_state

NAMES = ("CL", "CD", "CM", "Top_Xtr", "Bot_Xtr", "analysis_confidence")
LEAST_CONFIDENCE = 0.8  # own choice: below it, by its own account, it departs visibly from what it learned
BAND_ORIGIN = "surrogate: holds 95 % of the figures of the measured record, by Reynolds number"
# From Reynolds 2e5 up, and below (tests/data/section_record.csv, 163 curves without a tab): lift less by
# a + b |cl| or more by c; least and greatest part of drag.
BAND_REYNOLDS = 2e5
BAND = np.array([[0.10, 0.10, 0.05, 0.80, 1.35], [0.20, 0.15, 0.08, 0.75, 1.75]])


def surrogate_polar(
    section: Section,
    reynolds: ArrayLike,
    alpha_deg: ArrayLike,
    surface: str = "race",
    trip_x: float | None = None,
    tab_chord: float = 0.0,
    height_chord: float = np.inf,
) -> SectionPolar:
    """Polar of a section in free air by the learned surrogate.

    Parameters
    ----------
    section : Section
        The outline.
    reynolds : float or array, shape (k,)
        Chord Reynolds numbers, increasing.
    alpha_deg : array, shape (m,)
        Angles of attack [deg], increasing.
    surface : str
        ``smooth``, ``race`` or ``dirty``: where the flow is tripped.
    trip_x : float, optional
        x/c of the trip on both sides, in place of the surface's own.
    tab_chord, height_chord : float
        Taken so that all methods are called alike; only 0 and infinity can be answered.

    Raises
    ------
    RangeError
        An unknown surface, a trip off the chord, a tab, or a ground.
    """
    if tab_chord or np.isfinite(height_chord):
        what = "a trailing-edge tab" if tab_chord else "the ground"
        raise RangeError(f"surrogate: it never learned {what}; leave that out or choose method coupled")
    return _polar_by(_evaluate, section, reynolds, alpha_deg, surface, trip_x)


def cached_surrogate_polar(
    section: Section,
    reynolds: ArrayLike,
    alpha_deg: ArrayLike,
    surface: str = "race",
    trip_x: float | None = None,
) -> SectionPolar:
    """As `surrogate_polar`, from the cache where it was asked before: it takes a second to load."""
    return _polar_by(_evaluate_cached, section, reynolds, alpha_deg, surface, trip_x)


def _polar_by(evaluate: Callable[..., Row], section, reynolds, alpha_deg, surface, trip_x) -> SectionPolar:
    trip = surface_state(surface).trip_x if trip_x is None else trip_x
    if not 0.0 <= trip <= 1.0:
        raise RangeError(f"trip: {trip:g} is not on the chord; give x/c between 0 and 1")
    alpha, rows = (np.atleast_1d(np.asarray(values, float)) for values in (alpha_deg, reynolds))
    return _as_polar(section, rows, alpha, evaluate(section, rows, alpha, trip), surface, trip_x)


def _evaluate_cached(section: Section, rows: np.ndarray, alpha: np.ndarray, trip: float) -> Row:
    facts = ("surrogate", section.xy, rows, alpha, trip)
    (values,) = cached_rows([facts], NAMES, lambda _: [_evaluate(section, rows, alpha, trip)])
    return values


def _evaluate(section: Section, rows: np.ndarray, alpha: np.ndarray, trip: float) -> Row:
    import aerosandbox

    outline = aerosandbox.Airfoil(name=section.name, coordinates=np.array(section.xy))
    shape = (rows.size, alpha.size)
    values = outline.get_aero_from_neuralfoil(
        alpha=np.broadcast_to(alpha, shape).ravel(),
        Re=np.broadcast_to(rows[:, None], shape).ravel(),
        xtr_upper=trip,
        xtr_lower=trip,
        model_size="xlarge",
        include_360_deg_effects=False,
    )
    return {name: np.asarray(values[name], float).reshape(shape) for name in NAMES}


def _as_polar(section, rows, alpha, values, surface, trip_x) -> SectionPolar:
    cl, cd, cm = (values[name] for name in ("CL", "CD", "CM"))
    status = status_from_shape(alpha, cl)
    status[values["analysis_confidence"] < LEAST_CONFIDENCE] = LOW_CONFIDENCE
    broken = ~(np.isfinite(cl) & np.isfinite(cd) & np.isfinite(cm))
    status[broken] = f"{NOT_CONVERGED}: the surrogate gave no number"
    cl, cd, cm = (np.where(broken, np.nan, column) for column in (cl, cd, cm))
    base, part, more, least, most = BAND[(rows < BAND_REYNOLDS).astype(int)].T[..., None]
    less, up = base + part * np.abs(cl), cl > 0
    return SectionPolar(
        alpha,
        rows,
        cl,
        cd,
        cm,
        status,
        "surrogate",
        section=section,
        surface=surface,
        trip_x=trip_x,
        cl_low=cl - np.where(up, less, more),
        cl_high=cl + np.where(up, more, less),
        cd_low=least * cd,
        cd_high=most * cd,
        band_origin=BAND_ORIGIN,
        transition_upper=values["Top_Xtr"],
        transition_lower=values["Bot_Xtr"],
        confidence=values["analysis_confidence"],
    )
