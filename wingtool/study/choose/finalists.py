"""The best shapes on the study's own wing: first by the lattice with the surrogate, then by the solver."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from wingtool.errors import WingtoolError
from wingtool.files import cache_dir
from wingtool.geometry import Section, collection_section, write_section
from wingtool.section import DEFAULT_METHOD, row_key
from wingtool.study.advice import SOUND
from wingtool.study.choose.aim import NO_POINT, WorkingPoint, at_angle, best_point, point_at, usable
from wingtool.study.choose.estimate import lattice
from wingtool.study.choose.shapes import GAP, Shapes, drawn, opened
from wingtool.study.choose.terms import Terms, areas_at
from wingtool.study.schema.study import Study
from wingtool.study.section.parallel import sweep_grid
from wingtool.study.wing import finite_wing
from wingtool.wing import Force, WingPolar, solve_planes

LATTICE_OFFSETS_DEG = np.array([-3.0, -1.0, 1.0, 3.0, 6.0])  # about the angle that the lines found
# The last two reach past the stall from an angle that keeps the margin: without a stall in the table
# `degrees_left` has only the section's own margin, which may be half a degree more than the gauge's.
SOLVER_OFFSETS_DEG = np.array([-11.0, -8.0, -6.0, -4.0, -3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 4.0, 5.5, 7.0])
# Of the sections: no working point comes near, and lower angles cost as much as all others.
LEAST_ALPHA_DEG = -3.0
LAP_STEP_DEG = 0.25
NOT_COMPUTED = "could not be computed"


@dataclass(frozen=True, eq=False)
class Finalist:
    """One section on the wing at its best allowed angle.

    Parameters
    ----------
    name, origin : str
        Of the section, as in `Shapes`.
    section : Section
        With its tail opened where the builder's limit asks for it.
    row : ndarray, shape (26,)
        Its shape parameters.
    wing : WingPolar
        None where it cannot be solved; `status` then says why.
    point : WorkingPoint
        `NO_POINT` where no angle is allowed; `status` then says why.
    own_downforce_n : float
        Half width that belongs to this section alone: what all sections share acts on no difference.
    half_width : float
        Of the aim, in the aim's unit.
    stall_drop : float
        Part of the lift that is gone within 3 degrees past the section's stall.
    dirt_loss, error_loss : float
        Part of the section's lift that a dirty surface takes, by the solver, and the root mean square of what
        building errors change, by the surrogate; nan beyond the best ten.
    lap_time_s : float
        nan where the study has no lap.
    status : str
    """

    name: str
    origin: str
    section: Section
    row: np.ndarray
    wing: Any = None
    point: WorkingPoint = NO_POINT
    own_downforce_n: float = np.nan
    half_width: float = np.nan
    stall_drop: float = np.nan
    dirt_loss: float = np.nan
    error_loss: float = np.nan
    lap_time_s: float = np.nan
    status: str = "converged"

    @property
    def value(self) -> float:
        """Of the aim, in the aim's unit; -inf where no angle is allowed."""
        return self.point.value


def best_first(found: Sequence[Finalist]) -> list[Finalist]:
    """Those that have a value, the greatest first."""
    solved = [finalist for finalist in found if np.isfinite(finalist.value)]
    return sorted(solved, key=lambda finalist: -finalist.value)


def with_section(study: Study, file: str, **sweep) -> Study:
    """The study with another section, computed by the solver; `sweep` replaces angles or speeds."""
    flip = study.wing.flip and file == study.wing.section
    return finite_wing.with_wing(finite_wing.with_sweep(study, **sweep), section=file, method=None, flip=flip)


def with_surface(terms: Terms, surface: str) -> Terms:
    """The same with another surface of the wing."""
    return replace(terms, study=finite_wing.with_wing(terms.study, surface=surface))


def lattice_values(terms: Terms, shapes: Shapes, angle_deg: np.ndarray) -> np.ndarray:
    """The aim's value of each shape (n,) by the lattice with the surrogate, about an angle of each (n,)."""
    found, speeds = [], np.unique([terms.speeds_m_s[0], terms.reference_m_s])
    for row, middle in zip(shapes.rows, angle_deg, strict=True):
        wing = lattice(terms.study, row, np.clip(middle + LATTICE_OFFSETS_DEG, -59.0, 59.0), speeds)
        found.append(best_point(wing, terms.aim, len(speeds) - 1, sound_only=False).value)
    return np.array(found)


def solver_finalists(terms: Terms, shapes: Shapes, angle_deg: np.ndarray) -> tuple[Finalist, ...]:
    """Each shape on the study's wing by the coupled solver, near angles (n,); rows are kept in the cache."""
    study, found = terms.study, []
    files = [_file_of(study, shapes, k) for k in range(len(shapes))]
    sections = [finite_wing.named_section(study, file) for file in files]
    question = finite_wing.section_question(with_section(study, study.wing.section), sections[0])
    if study.wing.trip_x is None:  # all rows of all sections first
        alpha = question.alpha_deg[question.alpha_deg >= LEAST_ALPHA_DEG]
        solved_lift(terms, sections, alpha, question.reynolds, study.wing.surface)
    for i, (file, section) in enumerate(zip(files, sections, strict=True)):
        terms.progress(f"finite wing: {i + 1} of {len(files)}, {shapes.names[i]}")
        angles = tuple(np.clip(angle_deg[i] + SOLVER_OFFSETS_DEG, -59.0, 59.0))
        finalist = Finalist(str(shapes.names[i]), str(shapes.origins[i]), section, shapes.rows[i])
        try:
            asked = with_section(study, file, angles_deg=angles, speeds_m_s=terms.speeds_m_s)
            wing = finite_wing.wing_of_study(asked, least_alpha_deg=LEAST_ALPHA_DEG)
            found.append(_at_best(replace(finalist, wing=wing), terms))
        except WingtoolError as error:
            asked_for = finalist.origin in ("own", "folder", "designed")
            found.append(replace(finalist, status=str(error) if asked_for else NOT_COMPUTED))
    return tuple(found)


def solved_lift(
    terms: Terms, sections: Sequence[Section], alpha_deg, reynolds, surface: str, tab: float = 0.0
) -> np.ndarray:
    """Lift by the coupled solver, (sections, Reynolds numbers, angles), on all cores; rows are kept."""
    question = finite_wing.section_question(with_section(terms.study, terms.study.wing.section), sections[0])
    found = sweep_grid(
        sections, alpha_deg, reynolds, (question.height_chord,), DEFAULT_METHOD, surface, tab,
        jobs=terms.jobs, progress=terms.progress,
    )  # fmt: skip
    return np.stack([one.cl for one in found])


def _file_of(study: Study, shapes: Shapes, k: int) -> str:
    """The name of a section as found; the path of a written file where its tail was opened, or it is new."""
    name, row = str(shapes.names[k]), shapes.rows[k]
    if shapes.origins[k] == "designed":
        section = drawn(row, name, "shape weights moved for the study by wingtool choose")
    else:
        collection = shapes.origins[k] == "collection"
        found = collection_section(name) if collection else finite_wing.named_section(study, name)
        section = opened(found, row[GAP])
        if section is found and not (collection and name.isdigit()):  # a study takes 16018 for a designation
            return name
    stem = re.sub(r"[^a-z0-9]+", "-", f"{name.rsplit('/', 1)[-1]} {row_key((row,))[:8]}".lower()).strip("-")
    return str(write_section(section, cache_dir() / "choose" / f"{stem}.dat").resolve())


def _at_best(finalist: Finalist, terms: Terms) -> Finalist:
    """A finalist with its wing at the best angle that the aim allows."""
    wing, aim, k = finalist.wing, terms.aim, terms.k
    point, finalist = best_point(wing, aim, k), replace(finalist, stall_drop=stall_drop(wing))
    if not np.isfinite(point.value):
        words = list(wing.status[~np.isin(wing.status, SOUND)])
        why = max(set(words), key=words.count) if words else "no angle keeps the margin and the aim's limits"
        return replace(finalist, status=str(why))
    down, drag = _own_band(wing, k, point.angle_deg)
    slope = float(np.nanmedian(np.gradient(wing.downforce.n[k], wing.wing_angle_deg)))
    return replace(finalist, point=point, own_downforce_n=down, half_width=aim.half_width(down, drag, slope))


def _own_band(wing: WingPolar, k: int, angle_deg: float) -> tuple[float, float]:
    """Half widths of downforce and drag [N] that come from the section alone.

    Roof inflow, plates, ground and method act on all sections alike. The wing solved without a band of the
    section data has only these; both add in square, so the difference of squares is the section's own.
    """
    bare = replace(wing.polars[0], cl_low=None, cl_high=None, cd_low=None, cd_high=None)
    planes = [replace(wing.planes[0], polars=bare), *wing.planes[1:]]
    near = np.abs(wing.wing_angle_deg - angle_deg) <= 2.0 + 1e-9
    angles = wing.wing_angle_deg[near]
    shared = solve_planes(planes, angles, wing.speed_m_s[k : k + 1], wing.air, wing.inflow)

    def own(whole: Force, common: Force) -> float:
        squares = (np.stack([one.low_n - one.n, one.high_n - one.n]) ** 2 for one in (whole, common))
        row = np.sqrt(np.maximum(np.subtract(*squares), 0.0)).max(axis=0)
        return float(np.interp(angle_deg, angles, row))

    return own(wing.downforce[k, near], shared.downforce[0]), own(wing.drag[k, near], shared.drag[0])


def stall_drop(wing: WingPolar) -> float:
    """Part of the section's lift that is gone within 3 degrees past its stall, at the slowest speed."""
    polar, reynolds = wing.polars[0], float(wing.reynolds[0, 0])
    stall = float(polar.stall_alpha_deg(reynolds))
    lift = polar.at(stall + np.arange(4.0), reynolds).cl
    return float(1.0 - np.nanmin(lift) / lift[0]) if np.isfinite(lift[1:]).any() and lift[0] > 0.1 else np.nan


def with_lap(terms: Terms, finalist: Finalist) -> Finalist:
    """The same with the lap at its working point; with the aim `lap`, at the angle of the shortest lap."""
    if terms.setting is None:
        return finalist
    good, angles = usable(finalist.wing, terms.k), np.array([finalist.point.angle_deg])
    if terms.aim.kind == "lap":
        first, *_, last = finalist.wing.wing_angle_deg[good]
        fine = np.arange(first, last, LAP_STEP_DEG)
        margin = at_angle(finalist.wing, finalist.wing.stall_margin_deg.min(axis=0), fine, good)
        angles = np.append(fine[margin >= terms.aim.margin_deg], angles)
    times = terms.setting.times(areas_at(terms.setting, finalist.wing, terms.k, angles))
    best = int(np.argmin(times))
    if terms.aim.kind == "lap":
        gained = terms.setting.bare_s - times[best]
        finalist = replace(finalist, point=point_at(finalist.wing, terms.k, angles[best], gained, good))
    return replace(finalist, lap_time_s=float(times[best]))
