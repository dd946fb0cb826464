"""The best shapes on the study's own wing: first by the lattice with the surrogate, then by the solver."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from wingtool.errors import WingtoolError
from wingtool.files import cache_dir
from wingtool.geometry import Section, collection_section, write_section
from wingtool.section import SectionPolar, row_key
from wingtool.study.advice import SOUND
from wingtool.study.choose.aim import Aim
from wingtool.study.choose.estimate import Working, lattice
from wingtool.study.choose.lap import LapSetting, areas_of
from wingtool.study.choose.shapes import GAP, Shapes, drawn, opened
from wingtool.study.progress import no_progress
from wingtool.study.section.parallel import sweep_grid
from wingtool.study.wing.run import named_section, section_question, wing_of_study
from wingtool.wing import solve_planes
from wingtool.workers import cores

if TYPE_CHECKING:
    from wingtool.study.schema.study import Study
    from wingtool.wing import WingPolar

LATTICE_OFFSETS_DEG = np.array([-3.0, -1.0, 1.0, 3.0])  # about the angle that the lines found
SOLVER_OFFSETS_DEG = np.array([-11.0, -8.0, -6.0, -4.0, -3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 4.0])
FINE_DEG = 0.02
AFTER_STALL_DEG = np.array([1.0, 2.0, 3.0])


@dataclass(frozen=True, eq=False)
class Finalist:
    """One section on the wing at its best allowed angle.

    Parameters
    ----------
    name, origin : str
        Of the section, as in `Shapes`.
    section : Section
        With its tail opened where the builder's limit asks for it.
    file : str
        What a study must name to get this section.
    row : ndarray, shape (26,)
        Its shape parameters.
    wing_angle_deg, stall_margin_deg : float
        nan where no angle is allowed; `status` then says why.
    downforce_n, drag_n : tuple of (low, value, high)
        At the reference speed, with the whole band.
    own_downforce_n, own_drag_n : float
        Half widths that belong to this section alone: what all sections share acts on no difference.
    value, half_width : float
        Of the aim, in the aim's unit.
    stall_drop : float
        Part of the lift that is gone within 3 degrees past the section's stall.
    dirt_loss, error_loss : float
        Part of the section's lift that a dirty surface takes, and the root mean square of what building
        errors change; by the surrogate.
    lap_time_s : float
        nan where the study has no lap, or beyond the best ten.
    status : str
    """

    name: str
    origin: str
    section: Section
    file: str
    row: np.ndarray
    wing_angle_deg: float
    stall_margin_deg: float
    downforce_n: tuple[float, float, float]
    drag_n: tuple[float, float, float]
    own_downforce_n: float
    own_drag_n: float
    value: float
    half_width: float
    stall_drop: float
    status: str
    dirt_loss: float = np.nan
    error_loss: float = np.nan
    lap_time_s: float = np.nan


def with_section(study: Study, file: str, **sweep) -> Study:
    """The study with another section, computed by the solver; `sweep` replaces angles or speeds."""
    flip = study.wing.flip and file == study.wing.section
    own = study.wing.model_copy(update={"section": file, "method": None, "flip": flip})
    swept = study.sweep.model_copy(update=sweep)
    return study.model_copy(update={"wing": own, "sweep": swept})


def with_surface(study: Study, surface: str) -> Study:
    """The study with another surface of the wing."""
    return study.model_copy(update={"wing": study.wing.model_copy(update={"surface": surface})})


def lattice_values(
    study: Study,
    shapes: Shapes,
    first: Working,
    aim: Aim,
    speeds_m_s: tuple[float, ...],
    reference_m_s: float,
) -> np.ndarray:
    """The aim's value of each shape (n,) by the lattice with the surrogate, at two speeds."""
    found, speeds = [], np.unique([speeds_m_s[0], reference_m_s])
    for k, row in enumerate(shapes.rows):
        angles = np.clip(first.wing_angle_deg[k] + LATTICE_OFFSETS_DEG, -59.0, 59.0)
        wing = lattice(study, drawn(row, shapes.names[k], ""), angles, speeds)
        found.append(best_point(wing, aim, len(speeds) - 1, sound_only=False).value)
    return np.array(found)


@dataclass(frozen=True)
class Point:
    """A wing's best allowed working point: angle, margin, downforce and drag (low, value, high), value."""

    angle_deg: float
    margin_deg: float
    downforce_n: tuple[float, float, float]
    drag_n: tuple[float, float, float]
    value: float


NO_FORCE = (np.nan, np.nan, np.nan)


def best_point(wing: WingPolar, aim: Aim, k: int, sound_only: bool = True) -> Point:
    """The best point of a wing over its angles, forces at speed number k, margin over all speeds."""
    margin = wing.stall_margin_deg.min(axis=0)
    good = np.isfinite(margin) & np.isfinite(wing.CL[k])
    if sound_only:
        good &= np.isin(wing.status, SOUND).all(axis=0)
    if good.sum() < 2:
        return Point(np.nan, np.nan, NO_FORCE, NO_FORCE, -np.inf)
    angles = wing.wing_angle_deg[good]
    fine = np.arange(angles[0], angles[-1] + 1e-9, FINE_DEG)
    area = wing.reference_area_m2
    cla, cda = (np.interp(fine, angles, area * getattr(wing, name)[k][good]) for name in ("CL", "CD"))
    fine_margin = np.interp(fine, angles, margin[good])
    index, value = aim.best(cla, cda, fine_margin)

    def at(what: str) -> tuple[float, float, float]:
        force = getattr(wing, what)[k, good].each(lambda row: float(np.interp(fine[index], angles, row)))
        return force.low_n, force.n, force.high_n

    if not np.isfinite(value):
        return Point(np.nan, np.nan, NO_FORCE, NO_FORCE, -np.inf)
    return Point(float(fine[index]), float(fine_margin[index]), at("downforce"), at("drag"), float(value))


def solver_finalists(
    study: Study,
    shapes: Shapes,
    first: Working,
    aim: Aim,
    speeds_m_s: tuple[float, ...],
    reference_m_s: float,
    jobs: int | None = None,
    progress: Callable[[str], None] = no_progress,
) -> tuple[Finalist, ...]:
    """Each shape on the study's wing by the coupled solver; the solver keeps its rows in the cache."""
    files = [_file_of(study, shapes, k) for k in range(len(shapes))]
    sections = [named_section(study, file) for file in files]
    _ahead(study, sections, jobs, progress)
    k = speeds_m_s.index(reference_m_s)
    found = []
    for i, (file, section) in enumerate(zip(files, sections, strict=True)):
        progress(f"finite wing: {i + 1} of {len(files)}, {shapes.names[i]}")
        angles = np.clip(first.wing_angle_deg[i] + SOLVER_OFFSETS_DEG, -59.0, 59.0)
        asked = with_section(study, file, angles_deg=tuple(angles), speeds_m_s=speeds_m_s)
        one = (shapes.names[i], shapes.origins[i], section, file, shapes.rows[i])
        try:
            wing = wing_of_study(asked)
        except WingtoolError as error:
            found.append(_without_answer(one, str(error)))
            continue
        found.append(_finalist(one, wing, aim, k))
    return tuple(found)


def _without_answer(one: tuple, why: str) -> Finalist:
    """A finalist for which nothing was computed, and why."""
    nothing = Point(np.nan, np.nan, NO_FORCE, NO_FORCE, -np.inf)
    return _placed(one, nothing, (np.nan, np.nan), np.nan, np.nan, why)


def _placed(
    one: tuple, point: Point, own: tuple[float, float], half: float, drop: float, why: str
) -> Finalist:
    name, origin, section, file, row = one
    return Finalist(
        name=name,
        origin=origin,
        section=section,
        file=file,
        row=row,
        wing_angle_deg=point.angle_deg,
        stall_margin_deg=point.margin_deg,
        downforce_n=point.downforce_n,
        drag_n=point.drag_n,
        own_downforce_n=own[0],
        own_drag_n=own[1],
        value=point.value,
        half_width=half,
        stall_drop=drop,
        status=why,
    )


def _ahead(study: Study, sections: list[Section], jobs: int | None, progress: Callable[[str], None]) -> None:
    """All rows of all sections first, on all cores."""
    question, table = section_question(with_section(study, study.wing.section)), study.wing
    jobs = jobs or cores()
    if table.trip_x is not None or jobs == 1:
        return
    sweep_grid(
        sections, question.alpha_deg, question.reynolds, (question.height_chord,), question.method,
        table.surface, jobs=jobs, progress=lambda done: progress(f"coupled solver: {done}"),
    )  # fmt: skip


def _file_of(study: Study, shapes: Shapes, k: int) -> str:
    """The name of a section as found; the path of a written file where its tail was opened, or it is new."""
    name, row = shapes.names[k], shapes.rows[k]
    if shapes.origins[k] == "designed":
        section = drawn(row, name, "shape weights moved for the study by wingtool choose")
    else:
        collection = shapes.origins[k] == "collection"
        found = collection_section(name) if collection else named_section(study, name)
        section = opened(found, row[GAP])
        if section is found and not (collection and name.isdigit()):  # a study takes 16018 for a designation
            return name
    stem = re.sub(r"[^a-z0-9]+", "-", f"{name.rsplit('/', 1)[-1]} {row_key((row,))[:8]}".lower()).strip("-")
    return str(write_section(section, cache_dir() / "choose" / f"{stem}.dat").resolve())


def _finalist(one: tuple, wing: WingPolar, aim: Aim, k: int) -> Finalist:
    point = best_point(wing, aim, k)
    words = wing.status[~np.isin(wing.status, SOUND)]
    why = "converged"
    if not np.isfinite(point.value):
        why = "no angle keeps the margin and the aim's limits"
        why = max(set(words), key=list(words).count) if len(words) else why
    own_down, own_drag = _own_band(wing, k, point.angle_deg) if np.isfinite(point.value) else (np.nan, np.nan)
    half = own_down
    if aim.kind == "lap":
        half = float(np.hypot(aim.gain_s_m2 * own_down, aim.loss_s_m2 * own_drag)) / aim.pressure_pa
    if aim.kind == "spare":
        slope = np.gradient(wing.downforce.n[k], wing.wing_angle_deg)
        half = own_down / max(float(np.nanmedian(slope)), 1.0)
    return _placed(one, point, (own_down, own_drag), half, stall_drop(wing), str(why))


def _own_band(wing: WingPolar, k: int, angle_deg: float) -> tuple[float, float]:
    """Half widths of downforce and drag [N] that come from the section alone.

    Roof inflow, plates, ground and method act on all sections alike. The wing solved without a band of the
    section data has only these; both add in square, so the difference of squares is the section's own.
    """
    planes = [replace(plane, polars=_without_band(plane.polars)) for plane in wing.planes]
    near = np.abs(wing.wing_angle_deg - angle_deg) <= 2.0 + 1e-9
    angles = wing.wing_angle_deg[near]
    shared = solve_planes(planes, angles, wing.speed_m_s[k : k + 1], wing.air, wing.inflow)

    def own(what: str) -> float:
        whole, common = getattr(wing, what)[k, near], getattr(shared, what)[0]
        squares = (
            (whole.low_n - whole.n) ** 2 - (common.low_n - common.n) ** 2,
            (whole.high_n - whole.n) ** 2 - (common.high_n - common.n) ** 2,
        )
        return float(max(np.interp(angle_deg, angles, np.sqrt(np.maximum(one, 0.0))) for one in squares))

    return own("downforce"), own("drag")


def _without_band(polars):
    """Section data, one polar or stations, without their band."""
    if isinstance(polars, SectionPolar):
        return replace(polars, cl_low=None, cl_high=None, cd_low=None, cd_high=None)
    return tuple(replace(one, polars=tuple(_without_band(p) for p in one.polars)) for one in polars)


def stall_drop(wing: WingPolar) -> float:
    """Part of the section's lift that is gone within 3 degrees past its stall, at the slowest speed."""
    polar = wing.polars[0]
    reynolds = float(polar.reynolds[0])
    stall = float(polar.stall_alpha_deg(reynolds))
    lift = polar.at(stall + np.append(0.0, AFTER_STALL_DEG), reynolds).cl
    return float(1.0 - np.nanmin(lift) / lift[0]) if np.isfinite(lift[1:]).any() and lift[0] > 0.1 else np.nan


def with_laps(
    study: Study, found: tuple[Finalist, ...], aim: Aim, setting: LapSetting, speeds: tuple, k: int
) -> tuple[Finalist, ...]:
    """The same with the lap at the working point; with the aim `lap`, at the angle of the shortest lap."""
    done = []
    for one in found:
        if not np.isfinite(one.value):
            done.append(one)
            continue
        angles = tuple(np.clip(one.wing_angle_deg + SOLVER_OFFSETS_DEG, -59.0, 59.0))
        wing = wing_of_study(with_section(study, one.file, angles_deg=angles, speeds_m_s=speeds))
        margin = wing.stall_margin_deg.min(axis=0)
        good = np.isfinite(margin) & np.isfinite(wing.downforce.n[k])
        areas = areas_of(setting, wing, k).at(good)
        angles_deg = wing.wing_angle_deg[good]
        fine = np.array([one.wing_angle_deg])
        if aim.kind == "lap":
            fine = np.arange(angles_deg[0], angles_deg[-1], 0.25)
            fine = np.append(fine[np.interp(fine, angles_deg, margin[good]) >= aim.margin_deg], fine[0])
            fine = np.append(fine, one.wing_angle_deg)
        names = ("cla_front_m2", "cla_rear_m2", "cda_m2")
        rows = type(areas)(*(np.interp(fine, angles_deg, getattr(areas, name)) for name in names))
        times = setting.times(rows)
        best = int(np.argmin(times))
        one = replace(one, lap_time_s=float(times[best]))
        if aim.kind == "lap":
            one = _moved(one, wing, good, float(fine[best]), k)
            one = replace(one, value=setting.bare_s - float(times[best]))
        done.append(one)
    return tuple(done)


def _moved(one: Finalist, wing: WingPolar, good: np.ndarray, at_deg: float, k: int) -> Finalist:
    """The same at another angle of its wing."""
    angles = wing.wing_angle_deg[good]

    def at(values: np.ndarray) -> float:
        return float(np.interp(at_deg, angles, values[good]))

    return replace(
        one,
        wing_angle_deg=at_deg,
        stall_margin_deg=at(wing.stall_margin_deg.min(axis=0)),
        downforce_n=(at(wing.downforce.low_n[k]), at(wing.downforce.n[k]), at(wing.downforce.high_n[k])),
        drag_n=(at(wing.drag.low_n[k]), at(wing.drag.n[k]), at(wing.drag.high_n[k])),
    )
