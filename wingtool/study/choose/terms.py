"""What is wanted, what a wing is worth over the lap, and the terms on which all sections are compared."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from wingtool.car import AxleAreas, Car, body_areas, placed, total
from wingtool.errors import StudyError
from wingtool.study.advice import kept_margin_deg
from wingtool.study.car.lap import circuit_of
from wingtool.study.car.parts import REFERENCE_SPEED_M_S, car_on_road, point_height_m
from wingtool.study.choose.aim import KINDS, Aim, at_angle, best_point
from wingtool.study.choose.estimate import WingEstimate, lattice, wing_estimate
from wingtool.study.choose.filters import Filters
from wingtool.study.choose.shapes import fitted_row
from wingtool.study.flags import check_known, check_within
from wingtool.study.progress import no_progress
from wingtool.study.schema.study import Study
from wingtool.study.whole_study import roof_band_deg
from wingtool.study.wing.finite_wing import named_section
from wingtool.track import Circuit, lap
from wingtool.units import M_S_PER_KM_H, quantity
from wingtool.wing import WingPolar

LAW = "retuned"  # like with like: each wing gets the balance that suits it
STEP_M2 = 0.02  # of downforce and drag area, for the lap's slopes
BEST_BY_LATTICE, BEST_BY_SOLVER = 100, 30


@dataclass(frozen=True)
class Request:
    """What is wanted.

    Parameters
    ----------
    kind : str, optional
        ``lap``, ``downforce`` or ``spare``; left out: lap where the study has a car and a circuit.
    most_drag_n, least_downforce_n : float, optional
        At the reference speed. Without the second, ``spare`` takes what the study's own section makes.
    speed_m_s : float
        The reference speed.
    filters : Filters
    sections : Path, optional
        A folder of the user's coordinate files.
    finalists : int
        How many go to the coupled solver.
    design : bool
        Whether a section is made for the study, too.
    """

    kind: str | None = None
    most_drag_n: float | None = None
    least_downforce_n: float | None = None
    speed_m_s: float = REFERENCE_SPEED_M_S
    filters: Filters = Filters()
    sections: Path | None = None
    finalists: int = BEST_BY_SOLVER
    design: bool = False


def request_from_flags(drag: str | None, downforce: str | None, **plain) -> Request:
    """A request from the words of a command line, forces with their units; `plain` are its other fields.

    Raises
    ------
    WingtoolError
        Fewer than one finalist; a force without a unit, or none above zero.
    """
    forces: dict[str, Any] = {"most_drag_n": drag, "least_downforce_n": downforce}
    for (name, text), flag in zip(list(forces.items()), ("--drag", "--downforce"), strict=True):
        forces[name] = None if text is None else quantity(text, "force", flag)
        if text is not None and not forces[name] > 0.0:
            raise StudyError(f"{flag}: {forces[name]:g} N cannot be; give a force above zero")
    request = Request(**forces, **plain)
    check_within(request.finalists, 1, BEST_BY_LATTICE, "--finalists")
    return request


@dataclass(frozen=True, eq=False)
class LapSetting:
    """The car without its wing on its circuit; `behind_m` is the wing behind the rear axle."""

    car: Car
    rest: AxleAreas
    circuit: Circuit
    behind_m: float
    density_kg_m3: float
    bare_s: float

    def times(self, areas: AxleAreas) -> np.ndarray:
        """Lap times of the car with wings of these areas, shape (p,)."""
        return lap(self.car, total(self.rest, areas), self.circuit, self.density_kg_m3, LAW).lap_time_s


def lap_setting(study: Study) -> LapSetting | None:
    """The setting of a study; None without [car] or [circuit]."""
    circuit = circuit_of(study)
    if study.car is None or circuit is None:
        return None
    density = study.air.air().density_kg_m3
    car, behind, front = car_on_road(study, density)
    rest = total(body_areas(car), *(part.middle for part in front))
    bare = lap(car, rest, circuit, density, LAW).lap_time_s[0]
    return LapSetting(car, rest, circuit, behind, density, float(bare))


def areas_at(setting: LapSetting, wing: WingPolar, k: int, angles_deg: np.ndarray) -> AxleAreas:
    """Axle areas of a wing at angles (p,), straight between its own, at its speed number k."""
    q = wing.air.dynamic_pressure_pa(float(wing.speed_m_s[k]))
    x = setting.car.wheelbase_m + setting.behind_m
    good, height = np.isfinite(wing.downforce.n[k]), point_height_m(wing, angles_deg)
    rows = (wing.downforce.n[k], wing.drag.n[k], wing.pitching_moment_nm[k])
    down, drag, moment = (at_angle(wing, row, angles_deg, good) / q for row in rows)
    return placed(down, drag, x, height, setting.car.wheelbase_m, moment)


def lap_slopes(setting: LapSetting, wing: WingPolar, k: int, angle_deg: float) -> tuple[float, float]:
    """Lap time gained by a square metre of the wing's downforce, and lost by one of its drag [s/m^2]."""
    angles, steps = np.full(3, angle_deg), STEP_M2 * np.eye(3)
    x, height = setting.car.wheelbase_m + setting.behind_m, point_height_m(wing, angles)
    more = placed(steps[1], steps[2], x, height, setting.car.wheelbase_m)
    own, more_lift, more_drag = setting.times(areas_at(setting, wing, k, angles) + more)
    return float(own - more_lift) / STEP_M2, float(more_drag - own) / STEP_M2


@dataclass(frozen=True, eq=False)
class Terms:
    """On which all sections are compared.

    Parameters
    ----------
    study : Study
    aim : Aim
    filters : Filters
        The builder's limits.
    speeds_m_s : tuple of float
        Slowest, reference and fastest speed of the study, rising.
    reference_m_s : float
        Forces count there, the stall at all speeds.
    estimate : WingEstimate
        The study's wing as straight lines.
    setting : LapSetting, optional
        Where the study has a car and a circuit.
    jobs : int
        Processes for the coupled solver.
    progress : callable
        Takes a line on what is being done.
    """

    study: Study
    aim: Aim
    filters: Filters
    speeds_m_s: tuple[float, ...]
    reference_m_s: float
    estimate: WingEstimate
    setting: LapSetting | None = None
    jobs: int = 1
    progress: Callable[[str], None] = no_progress

    @property
    def k(self) -> int:
        """Number of the reference speed."""
        return self.speeds_m_s.index(self.reference_m_s)


def terms_of(
    study: Study, request: Request, jobs: int = 1, progress: Callable[[str], None] = no_progress
) -> Terms:
    """The terms of a study for a request.

    Raises
    ------
    StudyError
        Several sections; a speed outside the study's; an unknown aim, or one without what it needs.
    """
    one_section(study)
    speeds, setting = checked_speeds(study, request.speed_m_s), lap_setting(study)
    row, _ = fitted_row(named_section(study, study.wing.section))
    aim, estimate = _aim_of(study, row, request, setting), wing_estimate(study, row, request.speed_m_s)
    return Terms(study, aim, request.filters, speeds, request.speed_m_s, estimate, setting, jobs, progress)


def one_section(study: Study) -> None:
    """Refuse a wing of several elements, or with sections that change along the span.

    Raises
    ------
    StudyError
    """
    if study.wing.element or any(station.section for station in study.wing.station):
        raise StudyError("choose: one section only; remove [[wing.element]], and section in [[wing.station]]")


def checked_speeds(study: Study, reference_m_s: float) -> tuple[float, ...]:
    """Slowest, reference and fastest speed of the study, rising [m/s].

    Raises
    ------
    StudyError
        The reference speed is outside the study's.
    """
    first, last = study.sweep.speeds_m_s[0], study.sweep.speeds_m_s[-1]
    if not first <= reference_m_s <= last:
        asked, *ends = (speed_m_s / M_S_PER_KM_H for speed_m_s in (reference_m_s, first, last))
        outside = f"{asked:.0f} km/h is outside the study's {ends[0]:.0f} to {ends[1]:.0f} km/h"
        raise StudyError(f"--speed: {outside}; widen speeds in [sweep] or give another")
    return tuple(sorted({first, reference_m_s, last}))


def _aim_of(study: Study, row: np.ndarray, request: Request, setting: LapSetting | None) -> Aim:
    kind = request.kind or ("lap" if setting is not None else "downforce")
    check_known(kind, KINDS, "--aim")
    if kind == "lap" and setting is None:
        raise StudyError("--aim lap: the study has no [car] and [circuit]; add them, or --aim downforce")
    pressure = float(study.air.air().dynamic_pressure_pa(request.speed_m_s))
    aim = Aim(kind, kept_margin_deg(roof_band_deg(study)), pressure)
    if kind == "downforce":
        return replace(aim, most_drag_n=request.most_drag_n or np.inf)
    if kind == "spare" and request.least_downforce_n is not None:
        return replace(aim, least_downforce_n=request.least_downforce_n)
    speeds = np.unique([study.sweep.speeds_m_s[0], request.speed_m_s])
    wing = lattice(study, row, np.arange(-8.0, 21.0), speeds)
    point = best_point(wing, replace(aim, kind="downforce"), len(speeds) - 1, sound_only=False)
    if not np.isfinite(point.value):
        raise StudyError("the study's own section keeps no margin at any angle; give --downforce")
    if kind == "spare":
        return replace(aim, least_downforce_n=point.downforce.n)
    gain, loss = lap_slopes(setting, wing, len(speeds) - 1, point.angle_deg)  # type: ignore[arg-type]
    return replace(aim, gain_s_m2=gain, loss_s_m2=loss)
