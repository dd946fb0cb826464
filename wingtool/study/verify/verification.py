"""A log compared with the study's estimate, and the estimate corrected by it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from wingtool import track
from wingtool.car import AxleAreas, Car, ride_rate_n_m, total
from wingtool.constants import GRAVITY_M_S2
from wingtool.errors import LogError, StudyError
from wingtool.files import words_beside
from wingtool.study import cautions
from wingtool.study.car.result import CarResult, car_result
from wingtool.study.schema.study import Study
from wingtool.study.verify.correction import Correction, correction_from
from wingtool.study.wing.finite_wing import wing_of_study
from wingtool.wing import WingPolar

WORDS = words_beside(__file__, "verification")
CAUTIONS, ALWAYS = (cautions.WORDS[name] for name in ("verify", "verify_always"))
TESTS = tuple(CAUTIONS)
SENSORS = {axle: (f"travel_{axle}", f"height_{axle}") for axle in ("front", "rear")}
SLOW_SHARE = 0.35  # of the top speed: a log that stays below may be in another unit


@dataclass(frozen=True, eq=False)
class Verification:
    """What a log says of a study.

    Parameters
    ----------
    title : str
        Of the study.
    test : str
        ``coast-down``, ``suspension``, ``load-cells`` or ``corners``.
    parts : str
        ``wing`` or ``all``: what was on and off.
    angle_deg : float
        Wing angle that the estimate is for.
    log : Log
        How it was understood is shown before anything that follows from it.
    runs : tuple of TestRun
    evidence : tuple of Evidence
        One for each quantity, with its word.
    coast : CoastTest or None
    lateral : Sustained or None
        Seconds at each lateral g, where the log has it.
    correction : Correction or None
        For ``[correction]`` in the study; None if the log cannot tell.
    notes : tuple of str
        What was done and left out, in lines.
    cautions : tuple of str
    """

    title: str
    test: str
    parts: str
    angle_deg: float
    log: track.Log
    runs: tuple[track.TestRun, ...]
    evidence: tuple[track.Evidence, ...]
    coast: track.CoastTest | None
    lateral: track.Sustained | None
    correction: Correction | None
    notes: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def conclusive(self) -> bool:
        """Whether at least one quantity is not too noisy."""
        return any(e.word != track.TOO_NOISY for e in self.evidence)


def verify_study(
    study: Study,
    log_path: Path | str,
    angle_deg: float,
    test: str | None = None,
    parts: str = "wing",
    sheet: Path | str | None = None,
    units: Mapping[str, str] | None = None,
    wing: WingPolar | None = None,
) -> Verification:
    """Hold a log against a study.

    Parameters
    ----------
    angle_deg : float
        Wing angle on the day [deg].
    test : str, optional
        One of `TESTS`; chosen by the log's channels if left out.
    parts : str
        ``wing`` if only the wing went on and off, ``all`` for wing and front parts together.
    sheet : path, optional
        Run sheet (CSV: run, start, end, parts, direction).
    units : mapping, optional
        Units of columns whose heading has none.
    wing : WingPolar, optional
        The wing's table, if it is there already.

    Raises
    ------
    StudyError
        The study has no [car].
    LogError
        The log cannot be understood or lacks what the test needs.
    """
    log = track.read_log(log_path, units)
    if study.car is None:
        raise StudyError("the study has no [car]: mass, springs and drag are needed; add the table")
    if test is not None and test not in TESTS:
        raise LogError(f"test {test!r} is not known; use one of {', '.join(TESTS)}")
    result = _estimate(study, wing, angle_deg)
    log = _with_parts_column(log, sheet, test)
    runs = track.runs_of(log, sheet)
    chosen = test or likely_test(log, runs)
    _reachable(log, result, units)
    coast, evidence = _evidence(chosen, log, runs, result, parts)
    notes = coast.notes if coast else ()
    if chosen == "suspension" and not _bare(result, parts):
        notes += (ALWAYS["front_stays"],)
    fix = correction_from(chosen, parts, evidence, result, study.correction, log.source)
    return Verification(
        study.title, chosen, parts, result.set_angle_deg, log, runs, evidence, coast, _lateral_load(log), fix,
        notes, (ALWAYS["first"], CAUTIONS[chosen]),
    )  # fmt: skip


def likely_test(log: track.Log, runs: tuple[track.TestRun, ...]) -> str:
    """The test that a log's channels and runs look like."""
    if "cells_n" in log.channels or "cells_drag_n" in log.channels:
        return "load-cells"
    if any(f"{sensor}_m" in log.channels for axle in SENSORS.values() for sensor in axle):
        return "suspension"
    coasting = sum(bool(track.coasts_of(log, run)) for run in runs)
    return "coast-down" if coasting >= max(2, 0.7 * len(runs)) else "corners"


def _reachable(log: track.Log, result: CarResult, units: Mapping[str, str] | None) -> None:
    """Refuse a speed that the car cannot reach; ask for a unit that nothing confirms."""
    fastest = float(np.nanmax(track.smooth(log.need("speed_m_s"), log.time_s, 1.0)))
    top = max(result.top_band_m_s[1], result.straight.top_without_m_s)
    if fastest > 1.1 * top:
        raise LogError(WORDS["too_fast"].format(log.source, 3.6 * fastest, 3.6 * top))
    positions = {"latitude_deg", "longitude_deg"} <= set(log.channels)
    if fastest < SLOW_SHARE * top and not positions and "speed" not in (units or {}):
        raise LogError(WORDS["too_slow"].format(log.source, 3.6 * fastest))


def _with_parts_column(log: track.Log, sheet, test: str | None) -> track.Log:
    """Load cells bear the wing alone: a log without a parts column is then all with the wing."""
    cells = test == "load-cells" or (test is None and "cells_n" in log.channels)
    if sheet is None and cells and "parts" not in log.words:
        return replace(log, words={**log.words, "parts": np.full(len(log.time_s), "on")})
    return log


def _estimate(study: Study, wing: WingPolar | None, angle_deg: float) -> CarResult:
    table = wing_of_study(study) if wing is None else wing
    first, last = float(table.wing_angle_deg[0]), float(table.wing_angle_deg[-1])
    if not first <= angle_deg <= last:
        raise StudyError(WORDS["angle"].format(angle_deg, first, last))
    result = car_result(study, table, angle_deg)
    if result is None:
        raise StudyError("no angle of the wing converged, so there is nothing to hold the log against")
    return result


def _changes(result: CarResult, parts: str) -> tuple[AxleAreas, ...]:
    """Areas that the parts add: middle, low, high, the middle with least and most installation."""
    wing, m = result.wing, result.wing.index(result.set_angle_deg)
    front = result.front if parts == "all" else ()
    ends = [(wing.middle, "middle"), (wing.low, "low"), (wing.high, "high")]
    ends += [(installed, "middle") for installed in wing.installed]
    return tuple(total(areas.at(m), *(getattr(part, end) for part in front)) for areas, end in ends)


def _three(of, areas: tuple[AxleAreas, ...]) -> tuple[float, float, float]:
    values = [float(of(a)) for a in areas]
    return values[0], min(values), max(values)


def _evidence(
    test: str, log: track.Log, runs: tuple[track.TestRun, ...], result: CarResult, parts: str
) -> tuple[track.CoastTest | None, tuple[track.Evidence, ...]]:
    car, density = result.car, result.density_kg_m3
    changes, stays = _changes(result, parts), _stays(result, parts)
    if test == "coast-down":
        predicted = _three(lambda a: a.cda_m2 + car.rolling * a.cla_m2, changes)
        coast = track.coast_down(
            log, runs, car.effective_mass_kg, density, predicted,
            float(stays.cda_m2 + car.rolling * stays.cla_m2), car.rolling * car.weight_n,
        )  # fmt: skip
        return coast, (coast.evidence,)
    if test == "corners":
        predicted = _three(lambda a: _felt_m2(car, stays, a), changes)
        grip, n = car.tyre.grip, car.tyre.load_sensitivity
        return None, (track.corner_test(log, runs, car.mass_kg, grip, n, density, predicted),)
    if test == "load-cells":
        m = result.wing.index(result.set_angle_deg)
        installed = float(result.wing.middle.cda_m2[m] - result.wing.cda_m2[m])  # cells bear the wing alone
        ends = (("cells_n", lambda a: a.cla_m2), ("cells_drag_n", lambda a: a.cda_m2 - installed))
        return None, tuple(
            track.cell_test(log, runs, name, density, _three(of, changes[:3]))
            for name, of in ends
            if name in log.channels
        )
    return None, _suspension(log, runs, result, changes, _bare(result, parts))


def _suspension(log: track.Log, runs, result: CarResult, areas, bare: bool) -> tuple[track.Evidence, ...]:
    """What the parts add to each axle, and the bare body's lift where nothing else stays on the car."""
    car, density, changes, lifts = result.car, result.density_kg_m3, [], []
    never_on = not any(run.parts_on for run in runs)
    for axle, sensors in SENSORS.items():
        if not any(f"{sensor}_m" in log.channels for sensor in sensors):
            continue
        rate = _rate_n_m(car, axle, f"height_{axle}_m" in log.channels)
        units = track.steady_units(log, runs, axle, density)
        if not never_on:
            predicted = _three(lambda a, axle=axle: getattr(a, f"cla_{axle}_m2"), areas)
            changes.append(track.suspension_test(units, axle, rate, predicted))
        if bare:
            lift = getattr(car.body_lift, axle)
            try:
                lifts.append(track.bare_lift_test(units, axle, rate, (lift.value, lift.low, lift.high)))
            except LogError:
                if never_on:
                    raise
    if not changes and not lifts:
        raise LogError(WORDS["no_travel"].format(log.source))
    return (*changes, *lifts)


def _rate_n_m(car: Car, axle: str, with_tyre: bool) -> float:
    """Rate of one wheel [N/m]: the spring at the wheel, in series with the tyre for a ride height."""
    springs = getattr(car, axle)
    if springs.wheel_rate_n_m is None:
        raise StudyError(f"car.{axle}.spring_rate is missing: travel gives no force without it")
    if not with_tyre:
        return float(springs.wheel_rate_n_m)
    if springs.tyre_rate_n_m is None:
        raise StudyError(f"car.{axle}.tyre_rate is missing: ride height gives no force without it")
    return ride_rate_n_m(springs)


def _stays(result: CarResult, parts: str) -> AxleAreas:
    """The car that stays when the parts come off: front parts as well where the wing alone was changed."""
    if parts == "all":
        return result.body
    return total(result.body, *(part.middle for part in result.front))


def _bare(result: CarResult, parts: str) -> bool:
    """Whether the car is bare when the parts are off."""
    return parts == "all" or not result.front


def _felt_m2(car: Car, stays: AxleAreas, parts: AxleAreas) -> float:
    """Downforce area that the weaker axle turns into grip: weight times the growth of the lesser ratio."""

    def weaker(areas: AxleAreas) -> float:
        return float(min(areas.cla_front_m2 / car.static_front_n, areas.cla_rear_m2 / car.static_rear_n))

    return car.weight_n * (weaker(stays + parts) - weaker(stays))


def _lateral_load(log: track.Log) -> track.Sustained | None:
    try:
        side = np.nan_to_num(track.smooth(track.lateral_m_s2(log), log.time_s, 0.5)) / GRAVITY_M_S2
    except LogError:
        return None
    steps = np.diff(log.time_s, append=log.time_s[-1])
    return track.sustained(
        side, np.minimum(steps, 1.0)
    )  # a reading stands for a second at most, not for a gap
