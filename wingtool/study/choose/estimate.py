"""The study's wing as a few straight lines, for thousands of sections at once.

The finite wing is solved once, with the study's own section by the surrogate. What it shows about the strip
that stalls first is kept: the wing's downforce over that strip's lift, the angle of the strip over that of
the wing, induced drag over downforce squared. Planform, plates, ground and roof inflow do not hang on the
section, so the lines serve all of them; how well they rank is measured against the lattice itself.

The rows are cut into batches that do not depend on who computes them: this process, many, or a cluster. Each
finished batch is kept under the hash of what it was computed from, so that a search that was stopped goes on
where it stopped.
"""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, Executor
from dataclasses import dataclass, fields, replace
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike

from wingtool.errors import RangeError, StudyError, WingtoolError
from wingtool.section import cached_rows, polar_from_arrays, stall_between, surrogate_shapes, trip_of
from wingtool.study.advice import degrees_left
from wingtool.study.choose.aim import Aim
from wingtool.study.choose.shapes import drawn
from wingtool.study.progress import no_progress
from wingtool.study.schema.study import Study
from wingtool.study.wing.finite_wing import wing_geometry
from wingtool.study.wing.roof import air_at_wing
from wingtool.tracing import for_surrogate
from wingtool.wing import Plane, WingPolar, solve_planes

ALPHA_DEG = np.arange(-4.5, 24.1, 1.5)  # the section's angles in the coarse ranking
BELOW_DEG = np.arange(0.0, 15.1, 0.25)  # working angles of the wing below the one that keeps the margin
LEAST_CONFIDENCE = 0.8  # the surrogate's own; as in its polars
LATTICE_ALPHA_DEG = np.arange(-8.0, 20.1, 0.5)
BATCH = 200  # shapes: some tenths of a second of work
Conditions = Sequence[tuple[float, float]]  # Reynolds number and trip [x/c]


@dataclass(frozen=True, eq=False)
class WingEstimate:
    """The straight lines, and the condition they hold at.

    Parameters
    ----------
    downforce : (a, b)
        CL = a + b cl, with cl of the strip that stalls first.
    angle : (a, b)
        Angle of that strip = wing angle + a + b cl [deg].
    induced : (a, b, c)
        CD_induced = a + b CL + c CL^2.
    profile : float
        CD of the sections over cd of that strip.
    plates : float
        CD of plates and stands.
    area_m2 : float
    reynolds : (slowest, reference)
        Stall counts at both speeds, forces at the reference speed.
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

    def wing_angle_deg(self, alpha_deg: np.ndarray, cl: np.ndarray) -> np.ndarray:
        """The wing's angle at which the strip stands at an angle and makes a lift; rising along a row."""
        return np.maximum.accumulate(alpha_deg - self.angle[0] - self.angle[1] * cl, axis=-1)

    def areas_m2(self, cl: np.ndarray, cd: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Downforce and drag area of the wing [m^2] from cl and cd of the strip."""
        lift = self.downforce[0] + self.downforce[1] * cl
        induced = self.induced[0] + self.induced[1] * lift + self.induced[2] * lift**2
        return self.area_m2 * lift, self.area_m2 * (induced + self.profile * cd + self.plates)


@dataclass(frozen=True, eq=False)
class WorkingPoints:
    """The best working point of each row: value, wing angle [deg], confidence of the surrogate; all (n,)."""

    value: np.ndarray
    wing_angle_deg: np.ndarray
    confidence: np.ndarray


NAMES = tuple(field.name for field in fields(WorkingPoints))


def lattice(study: Study, row: np.ndarray, angles_deg: np.ndarray, speeds_m_s: ArrayLike) -> WingPolar:
    """The study's wing with a row's section by the surrogate, without its tab and further planes."""
    air, trip = study.air.air(), trip_of(study.wing.surface, study.wing.trip_x)
    reynolds = air.reynolds(np.array(speeds_m_s), study.wing.chord_m)
    found = [surrogate_shapes(for_surrogate(row), one, LATTICE_ALPHA_DEG, trip) for one in reynolds]
    cl, cd, cm = (np.concatenate([getattr(one, name) for one in found]) for name in ("cl", "cd", "cm"))
    facts = {"method": "surrogate", "section": drawn(row, "", "")}
    polar = polar_from_arrays(LATTICE_ALPHA_DEG, cl, cd, cm, reynolds, **facts)
    plane = Plane(replace(wing_geometry(study), tab_chord=0.0), polar)
    solved = solve_planes([plane], angles_deg, speeds_m_s, air, air_at_wing(study))
    return replace(solved, stall_margin_deg=degrees_left(solved.wing_angle_deg, solved.stall_margin_deg))


def wing_estimate(study: Study, row: np.ndarray, reference_m_s: float) -> WingEstimate:
    """The lines of a study's wing, from the row of its own section by the surrogate at attached angles.

    Raises
    ------
    StudyError
        Fewer than four angles with a solution short of the stall.
    """
    slowest = study.sweep.speeds_m_s[0]
    wing = lattice(study, row, np.arange(-6.0, 21.0, 1.5), [reference_m_s])
    margin = np.where(np.isfinite(wing.strip_margin_deg[0]), wing.strip_margin_deg[0], np.inf)
    first = np.argmin(margin, axis=1)
    attached = np.isfinite(wing.CL[0]) & (margin.min(axis=1) > 1.0)
    if attached.sum() < 4:
        raise StudyError("choose: the study's own section has too few angles short of its stall")
    rows, strip = np.flatnonzero(attached), first[attached]
    cl, alpha = wing.strip_cl[0, rows, strip], wing.strip_alpha_deg[0, rows, strip]
    lift, induced = wing.CL[0, rows], wing.CD_induced[0, rows]
    ones = np.ones_like(cl)
    cd = wing.polars[0].at(alpha, wing.polars[0].reynolds[-1]).cd
    air, chord = study.air.air(), study.wing.chord_m
    return WingEstimate(
        downforce=_lines(lift, ones, cl),
        angle=_lines(alpha - wing.wing_angle_deg[rows], ones, cl),
        induced=_lines(induced, ones, lift, lift**2),
        profile=float(np.nanmedian(wing.CD_profile[0, rows] / cd)),
        plates=float(np.nanmean((wing.CD - wing.CD_induced - wing.CD_profile)[0, rows])),
        area_m2=wing.reference_area_m2,
        reynolds=(float(air.reynolds(slowest, chord)), float(air.reynolds(reference_m_s, chord))),
        trip_x=trip_of(study.wing.surface, study.wing.trip_x),
    )


def _lines(target: np.ndarray, *columns: np.ndarray) -> np.ndarray:
    return np.linalg.lstsq(np.stack(columns, axis=1), target, rcond=None)[0]


def _between(at: np.ndarray, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Rows y over rows x, both (n, m), at (n, p); straight between, held at the ends."""
    return np.array([np.interp(*row) for row in zip(at, x, y, strict=True)])


def working_points(
    rows: np.ndarray, estimate: WingEstimate, aim: Aim, stalls: Conditions, forces: Conditions
) -> WorkingPoints:
    """The best working point of each row (n, 26): the worst of all forces at one angle short of all stalls.

    Parameters
    ----------
    stalls, forces : sequence of (Reynolds number, trip)
        Conditions that the stall is looked for in, and those that the value counts in. A row that shows no
        stall has the value -inf.
    """
    shapes = for_surrogate(rows)
    polars = {at: surrogate_shapes(shapes, at[0], ALPHA_DEG, at[1]) for at in {*stalls, *forces}}
    alphas = np.broadcast_to(ALPHA_DEG, (len(rows), len(ALPHA_DEG)))
    wing_angle = {at: estimate.wing_angle_deg(alphas, polar.cl) for at, polar in polars.items()}
    stall = np.full((len(rows), 1), np.inf)
    for at in stalls:
        first = np.array([[stall_between(ALPHA_DEG, row)] for row in polars[at].cl])
        stall = np.minimum(stall, _between(first, alphas, wing_angle[at]))
    angle = stall - aim.margin_deg - BELOW_DEG
    value, confidence = np.full((2, *angle.shape), np.inf)
    for at in forces:
        alpha, polar = _between(angle, wing_angle[at], alphas), polars[at]
        cl, cd, known = (_between(alpha, alphas, y) for y in (polar.cl, polar.cd, polar.confidence))
        value = np.minimum(value, aim.value(*estimate.areas_m2(cl, cd), stall - angle))
        confidence = np.minimum(confidence, known)
    best = np.argmax(value, axis=1)[:, None]
    return WorkingPoints(*(np.take_along_axis(y, best, axis=1)[:, 0] for y in (value, angle, confidence)))


def search_shapes(
    rows: np.ndarray,
    estimate: WingEstimate,
    aim: Aim,
    executor: Executor | None = None,
    keep_in: Path | None = None,
    progress: Callable[[str], None] = no_progress,
) -> WorkingPoints:
    """The best working point of every row: stall at slowest and reference speed, forces at the latter.

    Parameters
    ----------
    rows : ndarray, shape (n, 26)
        Shape parameters.
    executor : concurrent.futures.Executor, optional
        Somebody's workers, for example those of a cluster, ``distributed.Client(...).get_executor()``; this
        process if left out.
    keep_in : path, optional
        Folder for finished batches; a second call with the same folder computes only what is missing.
    progress : callable
        Takes a line on how far it is.

    Raises
    ------
    RangeError
        No row.
    WingtoolError
        The executor broke; what was finished is in `keep_in`.
    """
    if not len(rows):
        raise RangeError("a search needs at least one shape")
    stalls = [(reynolds, estimate.trip_x) for reynolds in estimate.reynolds]
    asked = [(rows[k : k + BATCH], estimate, aim, stalls, stalls[1:]) for k in range(0, len(rows), BATCH)]

    def computed(missing: Sequence[int]) -> Iterator[dict[str, np.ndarray]]:
        compute = map if executor is None else executor.map
        parts = compute(working_points, *zip(*(asked[k] for k in missing), strict=True))
        for k, part in zip(missing, parts, strict=True):
            progress(f"surrogate: {min((k + 1) * BATCH, len(rows))} of {len(rows)} shapes")
            yield vars(part)

    try:
        found = cached_rows(asked, NAMES, computed, keep_in) if keep_in else list(computed(range(len(asked))))
    except BrokenExecutor as error:
        sentence = f"the workers of the search broke ({error}); start it again, with keep_in to go on"
        raise WingtoolError(sentence) from error
    return WorkingPoints(**{name: np.concatenate([row[name] for row in found]) for name in NAMES})
