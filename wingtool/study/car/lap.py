"""The lap of a study: with and without the parts, where the time is, the best angle, the oil."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wingtool.car import AxleAreas, Car, FrontPart, total
from wingtool.track import (
    OIL_CAUTION,
    BestAngle,
    Circuit,
    CornerHold,
    Lap,
    LapDifference,
    Sustained,
    best_angle,
    corner_holds,
    lap,
    lap_difference,
    oil_warning,
    sustained,
)

if TYPE_CHECKING:
    from wingtool.study.car.parts import WingOnCar
    from wingtool.study.schema.study import Study


@dataclass(frozen=True, eq=False)
class LapAnswer:
    """One lap of the study's circuit.

    Parameters
    ----------
    circuit : Circuit
    with_parts : Lap
        Three set-ups at the set angle: middle of the bands, low ends of all downforce with high drag, high
        ends with low drag.
    retuned, without : Lap
        The middle with springs and bars retuned to the new loads; the bare car.
    difference, difference_retuned : LapDifference
        Middle against bare, as fitted and with springs and bars retuned to the new loads; `gain_low_s`,
        `gain_high_s` the band as fitted, `gain_retuned_s` retuned.
    best : tuple of BestAngle
        With the fitted front; with one matched to each angle (no more than the fitted one's high end); with
        springs and bars retuned to each angle.
    best_tabs : tuple of BestAngle
        For each tab height, as fitted and retuned; empty if only one was computed.
    sustained_with, sustained_without : Sustained
        By sideways load; "with" is the retuned car, the harder case for oil and tyres.
    holds_with, holds_without : tuple of CornerHold
    oil_cautions : tuple of str
    longest_straight_m, longest_straight_entry_m_s : float
        Length [m], and the bare car's speed at its start [m/s].
    """

    circuit: Circuit
    with_parts: Lap
    retuned: Lap
    without: Lap
    difference: LapDifference
    difference_retuned: LapDifference
    gain_low_s: float
    gain_high_s: float
    gain_retuned_s: float
    best: tuple[BestAngle, ...]
    sustained_with: Sustained
    sustained_without: Sustained
    holds_with: tuple[CornerHold, ...]
    holds_without: tuple[CornerHold, ...]
    oil_cautions: tuple[str, ...]
    longest_straight_m: float
    longest_straight_entry_m_s: float
    best_tabs: tuple[BestAngle, ...] = ()


def circuit_of(study: Study) -> Circuit | None:
    """The study's circuit, from its segments or its log."""
    if study.circuit is None:
        return None
    if study.circuit.log is None:
        return study.circuit.value()
    from wingtool.track import circuit_from_log, read_log

    return circuit_from_log(study.circuit.name, read_log(study.folder / study.circuit.log))


def lap_answer(
    study: Study, car: Car, body: AxleAreas, wing: WingOnCar, front: tuple[FrontPart, ...], index: int,
    density_kg_m3: float,
) -> LapAnswer | None:  # fmt: skip
    """Laps with and without the parts; None when the study has no [circuit]."""
    circuit = circuit_of(study)
    if circuit is None:
        return None
    middle, low, high = (
        total(body, getattr(wing, end).at(index), *(getattr(part, end) for part in front))
        for end in ("middle", "low", "high")
    )
    set_ups = AxleAreas(*(np.array([getattr(a, n) for a in (middle, low, high)], float)
                          for n in ("cla_front_m2", "cla_rear_m2", "cda_m2")))  # fmt: skip
    with_parts = lap(car, set_ups, circuit, density_kg_m3)
    retuned = lap(car, middle, circuit, density_kg_m3, "retuned")
    without = lap(car, body, circuit, density_kg_m3)
    bare = float(without.lap_time_s[0])
    gains = bare - with_parts.lap_time_s
    start, entry, length = longest_straight(circuit, without.speed_m_s[0])
    trusted_g, trusted_s = (study.oil.trusted_g, study.oil.trusted_s) if study.oil else (None, 0.0)
    sides = [_sideways(one, circuit, trusted_g) for one in (retuned, without)]
    return LapAnswer(
        circuit, with_parts, retuned, without, lap_difference(with_parts, without),
        lap_difference(retuned, without),
        float(np.min(gains)), float(np.max(gains)), bare - float(retuned.lap_time_s[0]),
        best_angles(car, body, wing, front, circuit, density_kg_m3),
        sides[0][0], sides[1][0], sides[0][1], sides[1][1],
        _oil_words(sides, trusted_g, trusted_s), length, entry,
    )  # fmt: skip


def best_angles(
    car: Car, body: AxleAreas, wing: WingOnCar, front: tuple[FrontPart, ...], circuit: Circuit,
    density_kg_m3: float,
) -> tuple[BestAngle, ...]:  # fmt: skip
    """Lap time over the wing's angles, as fitted and with the balance retuned for each angle."""
    fitted = total(*(part.middle for part in front))
    cases = [("with this front end", fitted, "weaker axle")]
    if fitted.cla_m2 > 0.0:
        matched = _matched_front(car, wing, front, fitted)
        cases.append(("with a front end matched to each angle", matched, "weaker axle"))
    cases.append(("with springs and bars retuned to each angle", fitted, "retuned"))
    return tuple(
        best_angle(
            name,
            wing.wing_angle_deg,
            lap(car, total(body, ends, wing.middle), circuit, density_kg_m3, law).lap_time_s,
            allowed=wing.allowed,
        )
        for name, ends, law in cases
    )


def _matched_front(car: Car, wing: WingOnCar, front: tuple[FrontPart, ...], fitted: AxleAreas) -> AxleAreas:
    """The fitted front scaled, at each angle, to keep the static share; between nothing and its high end."""
    share, parts = car.front_share, wing.middle
    asked = share * parts.cla_m2 - parts.cla_front_m2
    given = fitted.cla_front_m2 - share * fitted.cla_m2
    most = sum(part.cla_m2[2] for part in front) / fitted.cla_m2
    scale = np.clip(asked / given, 0.0, most)
    return AxleAreas(scale * fitted.cla_front_m2, scale * fitted.cla_rear_m2, scale * fitted.cda_m2)


def longest_straight(circuit: Circuit, speed_m_s: np.ndarray) -> tuple[int, float, float]:
    """First step, entry speed [m/s] and length [m] of the longest stretch straighter than 1000 m radius."""
    straight = circuit.curvature_1_m < 1.0 / 1000.0
    if straight.all():
        return 0, float(speed_m_s.min()), circuit.length_m
    first_turn = int(np.flatnonzero(~straight)[0])
    rolled = np.roll(straight, -first_turn)
    edges = np.diff(np.r_[0, rolled.astype(int), 0])
    begin, end = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    if not begin.size:
        return 0, float(speed_m_s.min()), circuit.step_m
    best = int(np.argmax(end - begin))
    start = int((begin[best] + first_turn) % len(straight))
    return start, float(speed_m_s[start]), float((end - begin)[best] * circuit.step_m)


def _sideways(one: Lap, circuit: Circuit, trusted_g) -> tuple[Sustained, tuple[CornerHold, ...], float]:
    step_s = np.diff(np.r_[0.0, one.time_s[0]])
    g = one.lateral_g[0]
    holds = corner_holds(g, step_s, circuit.part, circuit.names, trusted_g)
    longest = max((hold.over_s for hold in holds if hold.over_s is not None), default=0.0)
    return sustained(g, step_s), holds, longest


def _oil_words(sides, trusted_g, trusted_s) -> tuple[str, ...]:
    warning = oil_warning(trusted_g, trusted_s, sides[0][2], sides[1][2])
    more = sides[0][0].g_seconds - sides[1][0].g_seconds
    before, after = sides[1][0].g_seconds, sides[0][0].g_seconds
    change = (
        f"sideways g times the seconds that it is held, over a lap: {before:.1f} without,"
        f" {after:.1f} with the parts ({more:+.1f})"
    )
    return warning, change, OIL_CAUTION
