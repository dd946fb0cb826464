"""The study's wing as a few straight lines, for thousands of sections at once.

The finite wing is solved once, with the study's own section by the surrogate. What it shows about the strip
that stalls first is kept: the wing's downforce over that strip's lift, the angle of the strip over that of
the wing, induced drag over downforce squared. Planform, plates, ground and roof inflow do not hang on the
section, so the lines serve all of them; how well they rank is measured against the lattice itself.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from wingtool.errors import StudyError
from wingtool.section import surrogate_polar
from wingtool.study.choose.aim import Aim
from wingtool.study.trace.shape_band import trip_of
from wingtool.study.wing.roof import roof_inflow
from wingtool.study.wing.run import wing_geometry
from wingtool.wing import Plane, WingPolar, solve_planes

if TYPE_CHECKING:
    from wingtool.geometry import Section
    from wingtool.study.schema.study import Study

STEP_DEG = 1.5  # of the section's angles in the coarse ranking
ALPHA_DEG = np.arange(-4.5, 24.1, STEP_DEG)
STALL_AHEAD = 2  # steps: lift that gains less than the least in 3 degrees has stopped rising, as `first_peak`
STALL_GAIN = 0.01
BELOW_DEG = np.arange(0.0, 12.1, 0.75)  # working angles below the one that keeps the margin
LEAST_CONFIDENCE = 0.8  # the surrogate's own; as in its polars
LATTICE_ALPHA_DEG = np.arange(-8.0, 21.0)


@dataclass(frozen=True, eq=False)
class WingEstimate:
    """The straight lines, and the condition they hold at.

    Parameters
    ----------
    downforce : (a, b)
        CL = a + b cl, with cl of the strip that stalls first.
    angle : (a, b, c)
        Angle of that strip = a + b wing angle + c cl [deg].
    induced : (a, b, c)
        CD_induced = a + b CL + c CL^2.
    profile : float
        CD of the sections over cd of that strip.
    plates : float
        CD of plates and stands.
    area_m2 : float
    reynolds : (slowest, reference)
        Stall counts at the slowest speed, forces at the reference speed.
    trip_x : float
    """

    downforce: np.ndarray
    angle: np.ndarray
    induced: np.ndarray
    profile: float
    plates: float
    area_m2: float
    reynolds: tuple[float, float]
    trip_x: float


@dataclass(frozen=True, eq=False)
class Working:
    """The best working point of each row: all (n,)."""

    value: np.ndarray
    wing_angle_deg: np.ndarray
    cla_m2: np.ndarray
    cda_m2: np.ndarray
    stall_alpha_deg: np.ndarray
    cl: np.ndarray
    stall_drop: np.ndarray
    confidence: np.ndarray


def checked_speeds(study: Study, reference_m_s: float) -> tuple[float, ...]:
    """Slowest, reference and fastest speed of the study, rising [m/s].

    Raises
    ------
    StudyError
        The reference speed is outside the study's.
    """
    first, last = study.sweep.speeds_m_s[0], study.sweep.speeds_m_s[-1]
    if not first <= reference_m_s <= last:
        raise StudyError(
            f"--speed: {3.6 * reference_m_s:.0f} km/h is outside the study's {3.6 * first:.0f} to"
            f" {3.6 * last:.0f} km/h; widen speeds in [sweep] or give another"
        )
    return tuple(sorted({first, reference_m_s, last}))


def lattice(study: Study, section: Section, angles_deg: np.ndarray, speeds_m_s: np.ndarray) -> WingPolar:
    """The study's wing with a section by the surrogate, without its tab and further planes."""
    air = study.air.air()
    wing = replace(wing_geometry(study), tab_chord=0.0)
    reynolds = air.reynolds(np.array(speeds_m_s), study.wing.chord_m)
    table = study.wing
    polar = surrogate_polar(section, reynolds, LATTICE_ALPHA_DEG, table.surface, table.trip_x)
    return solve_planes([Plane(wing, polar)], angles_deg, speeds_m_s, air, roof_inflow(study))


def wing_estimate(study: Study, section: Section, reference_m_s: float) -> WingEstimate:
    """The lines of a study's wing, from its own section by the surrogate at attached angles.

    Raises
    ------
    StudyError
        Fewer than four angles with a solution short of the stall.
    """
    slowest = study.sweep.speeds_m_s[0]
    wing = lattice(study, section, np.arange(-6.0, 21.0, 1.5), np.array([reference_m_s]))
    margin = np.where(np.isfinite(wing.strip_margin_deg[0]), wing.strip_margin_deg[0], np.inf)
    first = np.argmin(margin, axis=1)
    attached = np.isfinite(wing.CL[0]) & (margin.min(axis=1) > 1.0)
    if attached.sum() < 4:
        raise StudyError(
            "choose: the study's own section has too few angles short of the stall to start from"
        )
    rows, strip = np.flatnonzero(attached), first[attached]
    cl, alpha = wing.strip_cl[0, rows, strip], wing.strip_alpha_deg[0, rows, strip]
    lift, induced = wing.CL[0, rows], wing.CD_induced[0, rows]
    angle = wing.wing_angle_deg[rows]
    ones = np.ones_like(cl)
    cd = wing.polars[0].at(alpha, wing.polars[0].reynolds[-1]).cd
    air, chord = study.air.air(), study.wing.chord_m
    return WingEstimate(
        downforce=_lines(lift, ones, cl),
        angle=_lines(alpha - angle, ones, 0.0 * angle, cl) + [0.0, 1.0, 0.0],
        induced=_lines(induced, ones, lift, lift**2),
        profile=float(np.nanmedian(wing.CD_profile[0, rows] / cd)),
        plates=float(np.nanmean((wing.CD - wing.CD_induced - wing.CD_profile)[0, rows])),
        area_m2=wing.reference_area_m2,
        reynolds=(float(air.reynolds(slowest, chord)), float(air.reynolds(reference_m_s, chord))),
        trip_x=trip_of(study.wing.surface, study.wing.trip_x),
    )


def _lines(target: np.ndarray, *columns: np.ndarray) -> np.ndarray:
    return np.linalg.lstsq(np.stack(columns, axis=1), target, rcond=None)[0]


def stall_of(cl: np.ndarray) -> np.ndarray:
    """Angle at which the lift (n, m) over `ALPHA_DEG` has stopped rising [deg], nan where it does not.

    As `first_peak`, but between the angles: where the gain over the next 3 degrees falls through the least.
    """
    gain = cl[:, STALL_AHEAD:] - cl[:, :-STALL_AHEAD] - STALL_GAIN
    lifting = cl[:, :-STALL_AHEAD] > 0.3
    stopped = lifting[:, 1:] & (gain[:, 1:] <= 0.0) & (gain[:, :-1] > 0.0)
    k = np.argmax(stopped, axis=1)
    rows = np.arange(len(cl))
    before, after = gain[rows, k], gain[rows, k + 1]
    share = before / np.where(before > after, before - after, 1.0)
    return np.where(stopped.any(axis=1), ALPHA_DEG[k] + STEP_DEG * share, np.nan)


def at_angles(values: np.ndarray, alpha_deg: np.ndarray) -> np.ndarray:
    """Rows (n, m) over `ALPHA_DEG` at angles (n, p), straight between; held at the ends."""
    place = np.clip((alpha_deg - ALPHA_DEG[0]) / STEP_DEG, 0.0, len(ALPHA_DEG) - 1.0)
    low = np.minimum(np.nan_to_num(place).astype(int), len(ALPHA_DEG) - 2)
    a, b = (np.take_along_axis(values, low + one, axis=1) for one in (0, 1))
    return a + (place - low) * (b - a)


def angles_below(stall_deg: np.ndarray, aim: Aim) -> np.ndarray:
    """Working angles (n, p) that a section may take below its stall (n,)."""
    if aim.kind == "spare":  # margins beyond the kept one count, to the lowest angle that gives the downforce
        return np.maximum(stall_deg[:, None] - 1.5 * BELOW_DEG, ALPHA_DEG[0])
    return np.maximum(stall_deg[:, None] - aim.margin_deg - BELOW_DEG, ALPHA_DEG[0])


def areas_m2(estimate: WingEstimate, cl: np.ndarray, cd: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Downforce and drag area of the wing [m^2] from cl and cd of the strip that stalls first."""
    lift = estimate.downforce[0] + estimate.downforce[1] * cl
    induced = estimate.induced[0] + estimate.induced[1] * lift + estimate.induced[2] * lift**2
    return estimate.area_m2 * lift, estimate.area_m2 * (induced + estimate.profile * cd + estimate.plates)


def working(estimate: WingEstimate, aim: Aim, slow, fast) -> Working:
    """The best working point of each row from the surrogate's answers at both Reynolds numbers."""
    stall = stall_of(slow.cl)
    alpha = angles_below(stall, aim)
    cl = at_angles(fast.cl, alpha)
    cla, cda = areas_m2(estimate, cl, at_angles(fast.cd, alpha))
    index, value = aim.best(cla, cda, stall[:, None] - alpha)
    pick = index[:, None]
    alpha, cl, cla, cda = (np.take_along_axis(a, pick, axis=1)[:, 0] for a in (alpha, cl, cla, cda))
    angle = (alpha - estimate.angle[0] - estimate.angle[2] * cl) / estimate.angle[1]
    past = at_angles(slow.cl, stall[:, None] + [0.0, 1.5, 3.0, 4.5])
    confidence = at_angles(fast.confidence, alpha[:, None])[:, 0]
    return Working(
        value, angle, cla, cda, stall, cl, 1.0 - past.min(axis=1) / np.maximum(past[:, 0], 0.1), confidence
    )
