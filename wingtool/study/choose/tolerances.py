"""How true a wing must be built: what each building error of a home changes, in order of harm.

Each error is put into the study's own wing at the end of its advised range. An error of the outline changes
the section data by the coupled solver at the lowest and the highest Reynolds number; that change is laid on
the study's section data, and the wing is solved again on them. Errors of the wing (twist, angle, plates)
change the wing itself; a gritty skin is the surface `dirty`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from wingtool.car import AxleAreas
from wingtool.errors import StudyError
from wingtool.geometry import Section, repanel
from wingtool.section import Question, SectionPolar, polars
from wingtool.study.advice import advise
from wingtool.study.choose.errors import SHAPE_ERRORS
from wingtool.study.choose.estimate import checked_speeds
from wingtool.study.choose.filters import size_text
from wingtool.study.choose.lap import LapSetting, areas_of, lap_setting
from wingtool.study.compare import SPEED_M_S
from wingtool.study.progress import no_progress
from wingtool.study.run import roof_band_deg
from wingtool.study.wing.roof import roof_inflow
from wingtool.study.wing.run import named_section, section_question, wing_geometry, wing_of_study
from wingtool.wing import Plane, StationPolars, WingPolar, solve_planes

if TYPE_CHECKING:
    from wingtool.study.schema.study import Study

PANELS = 240  # the outline as drawn and as changed get the same points, so that only the error differs
TWIST_DEG, ANGLE_DEG, PLATE_DEG = 1.0, 0.5, 2.0
MOST_CARE = 3
# What counts as harm: one tenth of downforce weighs as one degree of stall or a tenth of a second; own choice
PER_DOWNFORCE, PER_STALL_DEG, PER_LAP_S = 0.1, 1.0, 0.1


@dataclass(frozen=True)
class Tolerance:
    """What one error changes.

    Parameters
    ----------
    name : str
    size : str
        Of the error, with its unit.
    stretch : tuple, optional
        (first x/c, last x/c, side) of the outline that it changes; None for errors of the whole wing.
    downforce_n, stall_deg, lap_s : float
        Change at the reference speed and working angle; of the wing angle at which the first strip stalls; of
        the lap. nan where there is no number.
    harm : float
        Lost downforce, lost stall angle and lost time, each over what counts as much, added.
    """

    name: str
    size: str
    stretch: tuple[float, float, str] | None
    downforce_n: float
    stall_deg: float
    lap_s: float
    harm: float


@dataclass(frozen=True, eq=False)
class Tolerances:
    """The errors in order of harm, and what they act on.

    Parameters
    ----------
    study : Study
    section : Section
    wing_angle_deg, speed_m_s, downforce_n, stall_deg, lap_s : float
        The wing as drawn, at the end of its advised range.
    found : tuple of Tolerance
    """

    study: Study
    section: Section
    wing_angle_deg: float
    speed_m_s: float
    downforce_n: float
    stall_deg: float
    lap_s: float
    found: tuple[Tolerance, ...]

    @property
    def care(self) -> tuple[Tolerance, ...]:
        """The three that deserve care."""
        return self.found[:MOST_CARE]


def tolerances(
    study: Study, speed_m_s: float = SPEED_M_S, progress: Callable[[str], None] = no_progress
) -> Tolerances:
    """The building errors of a study's wing in order of harm.

    Raises
    ------
    StudyError
        Several elements, sections that change along the span, or no advised angle to stand at.
    """
    if study.wing.element or any(station.section for station in study.wing.station):
        raise StudyError("tolerances: only a wing of one section can be asked; take the others out")
    speeds = checked_speeds(study, speed_m_s)
    swept = study.model_copy(update={"sweep": study.sweep.model_copy(update={"speeds_m_s": speeds})})
    progress("wing as drawn")
    drawn = repanel(named_section(study, study.wing.section), PANELS)
    wing = wing_of_study(swept)
    start = advise(wing, roof_band_deg(study)).high_deg
    if not np.isfinite(start):
        raise StudyError("tolerances: no angle is advised to stand at; look at wingtool wing")
    state = _State(
        swept, wing.polars[0], wing.wing_angle_deg, lap_setting(study), speeds.index(speed_m_s), start
    )
    own = state.numbers(state.solved(state.polar), state.polar)
    progress(f"section data of {len(SHAPE_ERRORS) + 2} outlines and surfaces")
    shapes = [error.change(drawn, error.size_mm / 1000.0 / study.wing.chord_m) for error in SHAPE_ERRORS]
    as_drawn, gritty, *changed = section_data(study, drawn, shapes)
    progress("finite wing with each error")
    rows = wing_errors(state)
    if study.wing.surface != "dirty":
        rows.append(("surface gritty", "dirty", None, state.changed(as_drawn, gritty)))
    for error, data in zip(SHAPE_ERRORS, changed, strict=True):
        size = size_text(error.size_mm / 1000.0, study.units)
        rows.append((error.name, size, error.stretch, state.changed(as_drawn, data)))
    found = sorted((_tolerance(row, own) for row in rows), key=lambda one: -one.harm)
    return Tolerances(study, drawn, start, speed_m_s, *own, tuple(found))


def section_data(study: Study, drawn: Section, shapes: Sequence[Section]) -> list[SectionPolar]:
    """Data at the lowest and highest Reynolds number: as drawn, dirty, and of each changed outline."""
    question = section_question(study)
    ends = np.unique(question.reynolds[[0, -1]])
    table = study.wing
    cases = [(drawn, table.surface), (drawn, "dirty"), *((shape, table.surface) for shape in shapes)]
    questions = [
        Question(
            shape, ends, question.alpha_deg, surface, table.trip_x if surface == table.surface else None,
            0.0, question.height_chord,
        )
        for shape, surface in cases
    ]  # fmt: skip
    return polars(questions, question.method)


def wing_errors(state: _State) -> list[tuple]:
    """Errors of the whole wing: angle, twist, plates; name, size, no stretch, numbers."""
    study, polar = state.study, state.polar
    turned = replace(state, start_deg=state.start_deg + ANGLE_DEG)
    wing = state.solved(polar)
    down, stall, lap_s = turned.numbers(wing, polar)
    rows: list[tuple] = [("angle set wrong", f"{ANGLE_DEG:g}°", None, (down, stall - ANGLE_DEG, lap_s))]
    twisted = state.solved(polar, twist_tip_deg=study.wing.twist_tip_deg + 0.5 * TWIST_DEG)
    rows.append(("twist from tip to tip", f"{TWIST_DEG:g}°", None, state.numbers(twisted, polar)))
    plate = wing_geometry(study).endplate
    if plate is not None and not plate.outline_m:
        raked = replace(plate, sweep_deg=plate.sweep_deg + PLATE_DEG)
        numbers = state.numbers(state.solved(polar, endplate=raked), polar)
        rows.append(("plates not square", f"{PLATE_DEG:g}°", None, numbers))
    return rows


def _tolerance(row: tuple, own: tuple) -> Tolerance:
    name, size, stretch, numbers = row
    change = np.subtract(numbers, own)
    parts = [change[0] / own[0] / PER_DOWNFORCE, change[1] / PER_STALL_DEG, change[2] / PER_LAP_S]
    down, stall, lap_s = map(float, change)
    return Tolerance(name, size, stretch, down, stall, lap_s, float(np.nansum(np.abs(parts))))


def _bridged(alpha_deg: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """Rows (k, m) with their gaps bridged straight, held at the ends; nought where a row has no number."""
    filled = []
    for row in rows:
        good = np.isfinite(row)
        filled.append(np.interp(alpha_deg, alpha_deg[good], row[good]) if good.any() else np.zeros_like(row))
    return np.array(filled)


def stall_between(polar: SectionPolar, row: int = 0) -> float:
    """Angle of the stall of one Reynolds number [deg], solved between the angles; nan where none is seen.

    As `first_peak`: lift gains no more than 0.01 in the next 3 degrees, or half of the side is separated.
    """
    alpha = np.arange(polar.alpha_deg[0], polar.alpha_deg[-1], 0.25)
    good = np.isfinite(polar.cl[row])
    cl = np.interp(alpha, polar.alpha_deg[good], polar.cl[row][good], right=np.nan)
    steps = 12  # 3 degrees
    gain = cl[steps:] - cl[:-steps] - 0.01
    lifting = cl[:-steps] > np.nanmax(cl) / 3
    angles = [_crossing(alpha[:-steps], gain, lifting)]
    if polar.separation_upper is not None:
        aft = np.interp(alpha, polar.alpha_deg[good], polar.separation_upper[row][good]) - 0.5
        angles.append(_crossing(alpha, aft, cl > np.nanmax(cl) / 3))
    return float(np.nanmin(angles)) if np.isfinite(angles).any() else np.nan


def _crossing(alpha: np.ndarray, values: np.ndarray, where: np.ndarray) -> float:
    """First angle at which values fall through nought, straight between; nan if never."""
    falls = np.flatnonzero((values[:-1] > 0.0) & (values[1:] <= 0.0) & where[1:])
    if not falls.size:
        return np.nan
    i = falls[0]
    return float(alpha[i] + (alpha[i + 1] - alpha[i]) * values[i] / (values[i] - values[i + 1]))


@dataclass(frozen=True, eq=False)
class _State:
    """The wing at its working angle: what is needed to solve it again with something changed."""

    study: Study
    polar: SectionPolar
    angles_deg: np.ndarray
    setting: LapSetting | None
    k: int
    start_deg: float

    def solved(self, data: SectionPolar, **wing_changes) -> WingPolar:
        wing, study = replace(wing_geometry(self.study), **wing_changes), self.study
        plane = Plane(wing, (StationPolars(0.0, (data,)),))
        speeds, air = study.sweep.speeds_m_s, study.air.air()
        return solve_planes([plane], self.angles_deg, speeds, air, roof_inflow(study))

    def changed(self, before: SectionPolar, after: SectionPolar) -> tuple[float, float, float]:
        """Numbers of the wing with the change from one polar to the other laid on its section data."""
        own = self.polar
        alpha = np.clip(own.alpha_deg, before.alpha_deg[0], before.alpha_deg[-1])
        was, now = (p.at(alpha[None], own.reynolds[:, None]) for p in (before, after))
        rows = {}
        for name in ("cl", "cd", "cm"):
            change = getattr(now, name) - getattr(was, name)
            rows[name] = getattr(own, name) + _bridged(own.alpha_deg, change)
        if own.circulation is not None:
            rows["circulation"] = own.circulation + rows["cl"] - own.cl
        moved = stall_between(after) - stall_between(before)
        return self.numbers(self.solved(replace(own, **rows)), own, moved)

    def numbers(self, wing: WingPolar, data: SectionPolar, moved: float = 0.0) -> tuple[float, float, float]:
        """Downforce [N] and lap [s] at the working angle, and the wing angle of the first stall [deg].

        `data` are those that the stall is read from, `moved` is how far it has moved.
        """
        good = np.isfinite(wing.downforce.n[self.k])
        angles = wing.wing_angle_deg[good]
        down = float(np.interp(self.start_deg, angles, wing.downforce.n[self.k][good]))
        return down, self._stall(wing, stall_between(data) + moved), self._lap(wing, good)

    def _stall(self, wing: WingPolar, alpha_deg: float) -> float:
        """Wing angle at which the strip that stalls first reaches an angle, at the slowest speed."""
        m = int(np.argmin(np.abs(wing.wing_angle_deg - self.start_deg)))
        strip = int(np.nanargmin(wing.strip_margin_deg[0, m]))
        reached = wing.strip_alpha_deg[0, :, strip]
        past = np.flatnonzero((reached[:-1] <= alpha_deg) & (reached[1:] > alpha_deg))
        if not past.size:
            return np.nan
        i = past[0]
        share = (alpha_deg - reached[i]) / (reached[i + 1] - reached[i])
        return float(wing.wing_angle_deg[i] + share * (wing.wing_angle_deg[i + 1] - wing.wing_angle_deg[i]))

    def _lap(self, wing: WingPolar, good: np.ndarray) -> float:
        if self.setting is None:
            return np.nan
        areas = areas_of(self.setting, wing, self.k).at(good)
        angles = wing.wing_angle_deg[good]
        names = ("cla_front_m2", "cla_rear_m2", "cda_m2")
        here = AxleAreas(*(np.array([np.interp(self.start_deg, angles, getattr(areas, n))]) for n in names))
        return float(self.setting.times(here)[0])
