"""The lap of a study: with and without the parts, where the time is, the best angle by tab, the oil."""

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from wingtool import track
from wingtool.car import AxleAreas, Estimate, FrontPart, body_areas, joined, total
from wingtool.study.car.doubts import SetUps, body_doubts, front_doubts, set_ups
from wingtool.study.car.parts import FittedCar, WingOnCar, fitted_car, wing_on_car
from wingtool.study.schema.study import Study
from wingtool.study.wing.tabs import tab_wings
from wingtool.wing import WingPolar

LAWS = {"as fitted": "weaker axle", "retuned": "retuned"}
GRIP_BAND = 0.05  # of the tyres' grip, for the time above a lateral load: common practice, no source
TabWings = tuple[tuple[float, "WingPolar"], ...]


@dataclass(frozen=True, eq=False)
class LapPair:
    """The car with the parts and the bare car in the same state of springs and bars.

    `with_parts`, `without` hold the middle and the ends of all `doubts` (names, as in `SetUps`), `difference`
    is that of the middle, `gain` its total [s] with its band.
    """

    with_parts: track.Lap
    without: track.Lap
    difference: track.LapDifference
    gain: Estimate
    doubts: tuple[str, ...]


@dataclass(frozen=True)
class PartGain:
    """Seconds gained a lap as fitted, middle estimates, at the fastest advised angle; nan without a wing."""

    name: str
    best_deg: float
    best_s: float


@dataclass(frozen=True, eq=False)
class LapAnswer:
    """One lap of the study's circuit.

    Parameters
    ----------
    circuit : Circuit
    fitted, retuned : LapPair
        As fitted, the axle that gains less sets a corner's speed; retuned, springs and bars are set to the
        loads of each car so that both axles give up together.
    best : tuple of BestAngle
        With the fitted front; with one matched to each angle (no more than the fitted one's high end); with
        springs and bars retuned to each angle.
    best_range_deg : tuple of Estimate
        The same angles with the band that body lift and front parts put on them, cut at the angles allowed.
    part_gains : tuple of PartGain
        The wing alone, the front parts alone, both together, over the bare car; empty without front parts.
    wing_alone_s : ndarray
        Lap time as fitted with the wing alone, over its angles [s].
    best_tabs : tuple of BestAngle
        For each tab height, as fitted and retuned; empty if only one was computed.
    sustained : (Sustained, Sustained)
        Time by lateral load with and without the parts, both retuned: the harder case for oil and tyres.
    holds : (with, without), each a tuple of SustainedCorner
    over : (Estimate, Estimate) or None
        Longest time above the lateral load that the user trusts [s]; None where none is set. The band holds
        every doubt, one at a time, and 5 % of grip either way.
    oil_cautions : tuple of str
    """

    circuit: track.Circuit
    fitted: LapPair
    retuned: LapPair
    best: tuple[track.BestAngle, ...]
    best_range_deg: tuple[Estimate, ...]
    part_gains: tuple[PartGain, ...]
    wing_alone_s: np.ndarray
    sustained: tuple[track.Sustained, ...]
    holds: tuple[tuple[track.SustainedCorner, ...], ...]
    over: tuple[Estimate, Estimate] | None
    oil_cautions: tuple[str, ...]
    best_tabs: tuple[track.BestAngle, ...] = ()

    @property
    def fastest_m_s(self) -> float:
        """Highest speed with the parts on the circuit, all doubts and both states [m/s]."""
        return max(float(pair.with_parts.top_speed_m_s.max()) for pair in (self.fitted, self.retuned))


def circuit_of(study: Study) -> track.Circuit | None:
    """The study's circuit, from its segments or its log."""
    if study.circuit is None:
        return None
    if study.circuit.log is None:
        return study.circuit.value()
    path = study.folder / study.circuit.log
    return _logged_circuit(study.circuit.name, path, os.stat(path).st_mtime_ns if os.path.exists(path) else 0)


@lru_cache(maxsize=2)  # every car of a run or comparison asks for it
def _logged_circuit(name: str, path: Path, _modified_ns: int) -> track.Circuit:
    from wingtool.track import circuit_from_log, read_log

    return circuit_from_log(name, read_log(path))


def lap_answer(fit: FittedCar, cases: SetUps) -> LapAnswer | None:
    """Laps with and without the parts, all driven at once; None when the study has no [circuit]."""
    circuit = circuit_of(fit.study)
    if circuit is None:
        return None
    asked = [(areas, law) for law in ("weaker axle", "retuned") for areas in (cases.whole, cases.bare)]
    over_angle = _over_angle(fit)
    asked += [(case.whole.each(np.ravel), law) for _, case, law in over_angle]
    alone = (fit.on_car.middle, fit.front_parts)
    asked += [(total(body_areas(fit.car), areas), "weaker axle") for areas in alone]
    *driven, wing_alone, front_alone = track.laps(fit.car, asked, circuit, fit.density_kg_m3)
    fitted, retuned = (_pair(cases, *driven[k : k + 2]) for k in (0, 2))
    best, ranges = _best_angles(fit.on_car, over_angle, driven[4:])
    times = (wing_alone.lap_time_s, front_alone.lap_time_s, best[0].lap_time_s)
    oil = fit.study.oil
    trusted_g, trusted_s = (oil.trusted_g, oil.trusted_s) if oil else (None, 0.0)
    both = (retuned.with_parts, retuned.without)
    loads, holds = zip(*(_lateral(driven_lap, trusted_g) for driven_lap in both), strict=True)
    over = None
    if trusted_g is not None:
        with_parts, without = (_over(one, trusted_g) for one in both)
        over = with_parts, without
    return LapAnswer(
        circuit=circuit,
        fitted=fitted,
        retuned=retuned,
        best=best,
        best_range_deg=ranges,
        part_gains=_part_gains(fit, float(fitted.without.lap_time_s[0]), times),
        wing_alone_s=wing_alone.lap_time_s,
        sustained=loads,
        holds=holds,
        over=over,
        oil_cautions=_oil_cautions(loads, over, trusted_g, trusted_s),
    )


def _pair(cases: SetUps, with_parts: track.Lap, without: track.Lap) -> LapPair:
    gain = cases.estimate(without.lap_time_s - with_parts.lap_time_s)
    return LapPair(with_parts, without, track.lap_difference(with_parts, without), gain, cases.names)


def _over_angle(fit: FittedCar) -> list[tuple[str, SetUps, str]]:
    """Name, set-ups over the wing's angles and tyre law: as fitted, front matched, retuned to each angle."""
    car, body = fit.car, body_doubts(fit.car)
    front: tuple[FrontPart, ...] = fit.front
    doubts = [*body, *front_doubts(front)]
    cases = [("with this front end", front, doubts, "weaker axle")]
    if fit.front_parts.cla_m2 > 0.0:
        scaled = replace(front[0], middle=scaled_front(fit))
        cases.append(("with a front end matched to each angle", (scaled,), body, "weaker axle"))
    cases.append(("with springs and bars retuned to each angle", front, doubts, "retuned"))
    return [
        (name, set_ups(car, fit.on_car.middle, parts, unknown), law) for name, parts, unknown, law in cases
    ]


def _best_angles(
    wing: WingOnCar, cases: list[tuple[str, SetUps, str]], driven: Sequence[track.Lap]
) -> tuple[tuple[track.BestAngle, ...], tuple[Estimate, ...]]:
    """Lap time over the wing's angles for each case; the best angle, its band within those allowed."""
    middle, ranges = [], []
    allowed = wing.wing_angle_deg[wing.allowed]
    for (name, case, _), case_laps in zip(cases, driven, strict=True):
        times = case_laps.lap_time_s.reshape(-1, len(wing.wing_angle_deg))
        best = [track.best_angle(name, wing.wing_angle_deg, row, allowed=wing.allowed) for row in times]
        middle.append(best[0])
        reach = case.estimate([angle.best_deg for angle in best])
        if allowed.size:
            low, high = (float(np.clip(end, allowed[0], allowed[-1])) for end in (reach.low, reach.high))
            reach = replace(reach, low=low, high=high)
        ranges.append(reach)
    return tuple(middle), tuple(ranges)


def _part_gains(fit: FittedCar, bare_s: float, times: Sequence[np.ndarray]) -> tuple[PartGain, ...]:
    """From the lap times of the wing alone (m,), the front parts alone (1,), both (m,)."""
    rows = fit.on_car.allowed & (fit.on_car.wing_angle_deg >= fit.angle_deg)
    parts = " and ".join(part.name for part in fit.front)
    if not rows.any() or not parts:
        return ()
    angles, (by_wing, by_front, both) = fit.on_car.wing_angle_deg[rows], times
    wing, all_parts = (
        PartGain(name, float(angles[row[rows].argmin()]), bare_s - float(row[rows].min()))
        for name, row in (("wing alone", by_wing), (f"wing and {parts}", both))
    )
    return wing, PartGain(f"{parts} alone", np.nan, bare_s - float(by_front[0])), all_parts


def scaled_front(fit: FittedCar) -> AxleAreas:
    """The fitted front scaled, at each angle, to keep the static share; between nothing and its high end."""
    share, wing, front = fit.car.front_share, fit.on_car.middle, fit.front_parts
    needed = share * wing.cla_m2 - wing.cla_front_m2
    given = front.cla_front_m2 - share * front.cla_m2
    most = sum(part.cla_m2[2] for part in fit.front) / front.cla_m2
    scale = np.clip(needed / given, 0.0, most)
    return front.each(lambda area: area * scale)


def longest_straight(circuit: track.Circuit, speed_m_s: np.ndarray) -> tuple[float, float]:
    """Entry speed [m/s] and length [m] of the longest run of parts straighter than 1000 m radius.

    A part is judged by its median curvature, so a straight keeps the metres that are eased into its corners.
    """
    each = [np.median(circuit.curvature_1_m[circuit.part == k]) for k in range(len(circuit.names))]
    straight = np.array(each)[circuit.part] < 1.0 / 1000.0
    if straight.all() or not straight.any():
        return float(speed_m_s.min()), circuit.length_m if straight.all() else circuit.step_m
    first_turn = int(np.flatnonzero(~straight)[0])
    begin, end = max(track.stretches(np.roll(straight, -first_turn)), key=lambda pair: pair[1] - pair[0])
    start = (begin + first_turn) % len(straight)
    return float(speed_m_s[start]), float((end - begin) * circuit.step_m)


def _lateral(
    driven: track.Lap, trusted_g: float | None
) -> tuple[track.Sustained, tuple[track.SustainedCorner, ...]]:
    circuit, step_s, g = driven.circuit, np.diff(driven.time_s[0], prepend=0.0), driven.lateral_g[0]
    return track.sustained(g, step_s), track.corner_holds(g, step_s, circuit.part, circuit.names, trusted_g)


def _over(driven: track.Lap, trusted_g: float) -> Estimate:
    """Longest time above a lateral load [s]: the middle, and the least and most of all doubts.

    Not a sum of squares: near the limit a small doubt takes a whole corner away or adds it. More grip raises
    the lateral load by its factor and shortens the corner by the root of it.
    """
    times = _over_s(driven, trusted_g)
    for grip in (1.0 - GRIP_BAND, 1.0 + GRIP_BAND):
        times.append(_over_s(driven, trusted_g / grip)[0] / grip**0.5)
    return Estimate(times[0], min(times), max(times))


def _over_s(driven: track.Lap, trusted_g: float) -> list[float]:
    """Longest time in one corner above a lateral load [s], for each set-up of a lap."""
    circuit, steps = driven.circuit, np.diff(driven.time_s, prepend=0.0, axis=1)
    sides = (track.corner_holds(g, step_s, circuit.part, circuit.names, trusted_g)
             for g, step_s in zip(driven.lateral_g, steps, strict=True))  # fmt: skip
    return [max((hold.over_s or 0.0 for hold in side), default=0.0) for side in sides]


def _oil_cautions(loads, over, trusted_g: float | None, trusted_s: float) -> tuple[str, ...]:
    after, before = (load.g_seconds for load in loads)
    longest, longest_before = (one.value for one in over) if over else (0.0, 0.0)
    most = over[0].high if over else 0.0
    change = (
        f"lateral g times seconds over a lap, retuned: {before:.1f} without,"
        f" {after:.1f} with the parts ({after - before:+.1f})"
    )
    warning = track.oil_warning(trusted_g, trusted_s, longest, longest_before, most)
    return warning, change, track.OIL_CAUTION


def tabs_and_laps(
    everywhere: Study, study: Study, wing: WingPolar, circuit: track.Circuit | None
) -> tuple[TabWings, tuple[track.BestAngle, ...]]:
    """The wing with each tab [m] at its own angles, and its best angles on the circuit.

    Parameters
    ----------
    everywhere : Study
        The study over the angles that the other tabs are computed at.
    study : Study
    wing : WingPolar
        With the study's own tab, over the study's angles.
    circuit : track.Circuit, optional
        The study's.
    """
    tabs = tuple(
        (height_m, wing if other is None else other.only(wing.wing_angle_deg))
        for height_m, other in tab_wings(everywhere)
    )
    return tabs, tab_laps(study, wing, tabs, circuit)


def tab_laps(
    study: Study, wing: WingPolar, tabs: TabWings, circuit: track.Circuit | None
) -> tuple[track.BestAngle, ...]:
    """Lap time over angle for each tab, as fitted and retuned; none without a lap or with a single tab."""
    fit = fitted_car(study, wing) if study.car else None
    if fit is None or circuit is None or len(tabs) < 2:
        return ()
    car, speed = fit.car, fit.on_car.speed_m_s
    wings = [wing_on_car(tabbed, car, fit.behind_m, speed, study.correction) for _, tabbed in tabs]
    whole = total(body_areas(car), fit.front_parts, joined([each.middle for each in wings], np.concatenate))
    ends = np.cumsum([len(each.wing_angle_deg) for each in wings])[:-1]
    best = []
    driven = track.laps(car, [(whole, law) for law in LAWS.values()], circuit, fit.density_kg_m3)
    for how, all_laps in zip(LAWS, driven, strict=True):
        for (tab_m, _), each, times in zip(tabs, wings, np.split(all_laps.lap_time_s, ends), strict=True):
            name = f"tab of {1e3 * tab_m:.1f} mm" if tab_m else "no tab"
            best.append(track.best_angle(f"{name}, {how}", each.wing_angle_deg, times, allowed=each.allowed))
    return tuple(best)
