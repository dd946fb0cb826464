"""Speeds of a study's car: the straight, the top speed, from which speed the parts are felt."""

from dataclasses import dataclass, replace

import numpy as np

from wingtool import car
from wingtool.study.car.doubts import SetUps
from wingtool.study.car.lap import LapAnswer, longest_straight
from wingtool.study.car.parts import FittedCar

# Own choice: what the tables span.
RADII_M = np.array([12.0, 18.0, 25.0, 35.0, 50.0, 70.0, 100.0, 140.0, 200.0, 280.0, 400.0])
STRAIGHT_M, ENTRY_M_S = 600.0, 80 / 3.6  # without a circuit


def top_band_m_s(fit: FittedCar) -> tuple[float, float]:
    """Top speed with the parts where all drag is at its high end, and where all is at its low end.

    The wing's low end is that of its downforce and has its high drag; drag of the installation goes with it.
    """
    bare, wing, m = fit.car, fit.on_car, fit.index
    less, more = (float((end - wing.middle).at(m).cda_m2) for end in wing.installed)
    tops = []
    for cda, added, end, name in ((bare.cda_high_m2, more, 2, "low"), (bare.cda_low_m2, less, 0, "high")):
        areas = getattr(wing, name).at(m)
        drag = cda + float(areas.cda_m2) + added + sum(part.cda_m2[end] for part in fit.front)
        down = car.total(car.body_areas(bare), areas, *(getattr(part, name) for part in fit.front)).cla_m2
        tops.append(float(car.top_speed_m_s(bare, drag, float(down), fit.density_kg_m3)))
    return tops[0], tops[1]


def felt_from(fit: FittedCar, cases: SetUps, law: str) -> car.Estimate:
    """Speed from which the parts are felt in corners; inf where never."""
    speeds = [
        car.break_even_m_s(fit.car, cases.whole.at(i), cases.bare.at(i), fit.density_kg_m3, law=law)
        for i in range(len(cases.whole.cda_m2))
    ]
    felt = cases.estimate(np.nan_to_num(speeds, nan=car.FASTEST_M_S))
    value, low, high = (np.inf if v >= car.FASTEST_M_S else v for v in (felt.value, felt.low, felt.high))
    return replace(felt, value=value, low=low, high=high)


@dataclass(frozen=True)
class StraightCost:
    """What the parts cost on the longest straight, of `length_m` and entered at `entry_m_s`.

    Middle estimates of the top speed with and without them, and of the speed at its end without. With the
    band of all doubts: top speed and time lost, speed lost at the end, and the power that the parts' drag
    takes at `power_speed_m_s`, the speed of comparison.
    """

    length_m: float
    entry_m_s: float
    top_with_m_s: float
    top_without_m_s: float
    end_without_m_s: float
    top_lost_m_s: car.Estimate
    time_lost_s: car.Estimate
    end_lost_m_s: car.Estimate
    power_w: car.Estimate
    power_speed_m_s: float


def straight_cost(fit: FittedCar, cases: SetUps, laps: LapAnswer | None) -> StraightCost:
    """Every figure once for each set-up, on the circuit's longest straight or a usual one."""
    density, speed, length, entry = fit.density_kg_m3, fit.reference_m_s, STRAIGHT_M, ENTRY_M_S
    if laps is not None:
        entry, length = longest_straight(laps.circuit, laps.fitted.without.speed_m_s[0])
    runs, held = [], []
    for areas in (cases.whole, cases.bare):
        drag, down = np.asarray(areas.cda_m2), np.asarray(areas.cla_m2)
        runs.append(car.straight_runs(fit.car, drag, down, density, length, entry))
        held.append(speed * car.resistance_n(fit.car, drag, down, density, speed))
    (top, time, end), (bare_top, bare_time, bare_end) = np.array(runs)
    moves = (bare_top - top, time - bare_time, bare_end - end, held[0] - held[1])
    middles = float(top[0]), float(bare_top[0]), float(bare_end[0])
    lost_top, lost_time, lost_end, power = map(cases.estimate, moves)
    return StraightCost(length, entry, *middles, lost_top, lost_time, lost_end, power, speed)
