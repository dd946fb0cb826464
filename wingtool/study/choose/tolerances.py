"""How true a wing must be built: what each building error of a home changes, in order of harm.

Each error is put into the study's own wing at the end of its advised range. An error of the outline changes
the section data by the coupled solver at the lowest and the highest Reynolds number; that change is laid on
the study's section data, and the wing is solved again on them. Errors of the wing (twist, angle, plates)
change the wing itself; a gritty skin is the surface `dirty`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from wingtool.errors import StudyError
from wingtool.geometry import Section, repanel
from wingtool.section import SectionPolar, bilinear, polars, stall_between
from wingtool.study.advice import advise, first_zero
from wingtool.study.car.parts import REFERENCE_SPEED_M_S
from wingtool.study.choose.aim import at_angle, strip_alpha_deg
from wingtool.study.choose.errors import SHAPE_ERRORS
from wingtool.study.choose.filters import size_text
from wingtool.study.choose.terms import LapSetting, areas_at, checked_speeds, lap_setting, one_section
from wingtool.study.progress import no_progress
from wingtool.study.schema.study import Study
from wingtool.study.whole_study import roof_band_deg
from wingtool.study.wing import finite_wing
from wingtool.study.wing.roof import air_at_wing
from wingtool.wing import Plane, StationPolars, WingPolar, solve_planes

PANELS = 240  # the outline as drawn and as changed get the same points, so that only the error differs
TWIST_DEG, ANGLE_DEG, PLATE_DEG = 1.0, 0.5, 2.0  # errors of a home workshop: common practice, no source
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
        See `harm_of`.
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
    errors : tuple of Tolerance
    """

    study: Study
    section: Section
    wing_angle_deg: float
    speed_m_s: float
    downforce_n: float
    stall_deg: float
    lap_s: float
    errors: tuple[Tolerance, ...]


def tolerances(
    study: Study, speed_m_s: float = REFERENCE_SPEED_M_S, progress: Callable[[str], None] = no_progress
) -> Tolerances:
    """The building errors of a study's wing in order of harm.

    Raises
    ------
    StudyError
        Several elements, sections that change along the span, or no advised angle to stand at.
    """
    one_section(study)
    speeds = checked_speeds(study, speed_m_s)
    swept = finite_wing.with_sweep(study, speeds_m_s=speeds)
    progress("wing as drawn")
    drawn = repanel(finite_wing.named_section(study, study.wing.section), PANELS)
    wing = finite_wing.wing_of_study(swept)
    start = advise(wing, roof_band_deg(study)).high_deg
    if not np.isfinite(start):
        raise StudyError("tolerances: no angle is advised to stand at; look at wingtool wing")
    data = wing.polars[0]
    base = WorkingWing(swept, data, wing.wing_angle_deg, lap_setting(study), speeds.index(speed_m_s), start)
    own = base.numbers(base.solved(data))
    progress(f"section data of {len(SHAPE_ERRORS) + 2} outlines and surfaces")
    shapes = [error.change(drawn, error.size_mm / 1000.0 / study.wing.chord_m) for error in SHAPE_ERRORS]
    as_drawn, gritty, *changed = section_data(study, drawn, shapes)
    progress("finite wing with each error")
    rows = list(wing_errors(base))
    if study.wing.surface != "dirty":
        rows.append(("surface", "gritty", None, base.changed(as_drawn, gritty)))
    for error, other in zip(SHAPE_ERRORS, changed, strict=True):
        size = size_text(error.size_mm / 1000.0, study.units)
        rows.append((error.name, size, error.stretch, base.changed(as_drawn, other)))
    found = []
    for name, size, stretch, numbers in rows:
        change = np.subtract(numbers, own)
        down, stall, lap_s = map(float, change)
        found.append(Tolerance(name, size, stretch, down, stall, lap_s, harm_of(change, own[0])))
    found.sort(key=lambda error: -error.harm)
    return Tolerances(study, drawn, start, speed_m_s, *own, tuple(found))


def harm_of(change: np.ndarray, downforce_n: float) -> float:
    """Changes of downforce [N], stall [deg] and lap [s], each over what counts as much, added."""
    counts_as_much = np.array([PER_DOWNFORCE * downforce_n, PER_STALL_DEG, PER_LAP_S])
    return float(np.nansum(np.abs(change / counts_as_much)))


def section_data(study: Study, drawn: Section, shapes: Sequence[Section]) -> list[SectionPolar]:
    """Data at the lowest and highest Reynolds number: as drawn, dirty, and of each changed outline."""
    question = finite_wing.section_question(study, drawn)
    own = replace(question, reynolds=np.unique(question.reynolds[[0, -1]]))
    changed = [replace(own, section=shape) for shape in shapes]
    dirty = replace(own, surface="dirty", trip_x=None)
    return polars([own, dirty, *changed], finite_wing.section_method(study))


def wing_errors(base: WorkingWing) -> Iterator[tuple]:
    """Errors of the whole wing: angle, twist, plates; name, size, no stretch, numbers."""
    data, wing = base.polar, finite_wing.wing_geometry(base.study)
    turned = replace(base, start_deg=base.start_deg + ANGLE_DEG).numbers(base.solved(data))
    yield "angle set wrong", f"{ANGLE_DEG:g}°", None, np.subtract(turned, (0.0, ANGLE_DEG, 0.0))
    twisted = base.solved(data, twist_tip_deg=wing.twist_tip_deg + 0.5 * TWIST_DEG)
    yield "twist from tip to tip", f"{TWIST_DEG:g}°", None, base.numbers(twisted)
    if wing.endplate is not None and not wing.endplate.outline_m:
        raked = replace(wing.endplate, sweep_deg=wing.endplate.sweep_deg + PLATE_DEG)
        numbers = base.numbers(base.solved(data, endplate=raked))
        yield "plates not square", f"{PLATE_DEG:g}°", None, numbers


def stall_of(polar: SectionPolar) -> float:
    """Angle of the stall at the lowest Reynolds number [deg], solved between the angles."""
    separation = None if polar.separation_upper is None else polar.separation_upper[0]
    return stall_between(polar.alpha_deg, polar.cl[0], separation)


@dataclass(frozen=True, eq=False)
class WorkingWing:
    """The wing at its working angle: what is needed to solve it again with something changed."""

    study: Study
    polar: SectionPolar
    angles_deg: np.ndarray
    setting: LapSetting | None
    k: int
    start_deg: float

    def solved(self, data: SectionPolar, **wing_changes) -> WingPolar:
        """The wing on section data, with changes of its geometry."""
        wing, study = replace(finite_wing.wing_geometry(self.study), **wing_changes), self.study
        plane = Plane(wing, (StationPolars(0.0, (data,)),))
        speeds, air = study.sweep.speeds_m_s, study.air.air()
        return solve_planes([plane], self.angles_deg, speeds, air, air_at_wing(study))

    def changed(self, before: SectionPolar, after: SectionPolar) -> tuple[float, float, float]:
        """Numbers of the wing with the change from one polar to the other laid on its section data."""
        own = self.polar
        alpha, reynolds = np.broadcast_arrays(own.alpha_deg, own.reynolds[:, None])
        rows = {}
        for name in ("cl", "cd", "cm"):
            change = getattr(after, name) - getattr(before, name)
            rows[name] = getattr(own, name) + bilinear(
                before.alpha_deg, before.reynolds, change, alpha, reynolds
            )
        if own.circulation is not None:
            rows["circulation"] = own.circulation + rows["cl"] - own.cl
        return self.numbers(self.solved(replace(own, **rows)), stall_of(after) - stall_of(before))

    def numbers(self, wing: WingPolar, moved: float = 0.0) -> tuple[float, float, float]:
        """Downforce [N], wing angle of the first stall [deg], lap [s]; the section's stall has `moved`."""
        good = np.isfinite(wing.downforce.n[self.k])
        down = float(at_angle(wing, wing.downforce.n[self.k], self.start_deg, good))
        short = stall_of(self.polar) + moved - strip_alpha_deg(wing, 0, self.start_deg)
        stall = first_zero(wing.wing_angle_deg, short)
        if self.setting is None:
            return down, stall, np.nan
        here = areas_at(self.setting, wing, self.k, np.array([self.start_deg]))
        return down, stall, float(self.setting.times(here)[0])
