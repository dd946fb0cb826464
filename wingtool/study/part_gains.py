"""What each part alone gains or costs on the lap: the wing, the front parts, both together."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wingtool.car import joined, total
from wingtool.track import lap

if TYPE_CHECKING:
    from wingtool.study.car.run import CarResult


def part_gains(car: CarResult | None) -> tuple[tuple[str, float], ...]:
    """Pairs of name and seconds gained a lap as fitted, middle estimates; empty without a lap or front parts.

    The circuit and the tyre law are those of the study's own lap; the set angle is the car's.
    """
    if car is None or car.lap is None or car.splitter.name == car.air_dam.name == "none":
        return ()
    front = total(car.splitter.middle, car.air_dam.middle)
    cases = {"wing alone": car.wing_set, "front alone": front, "together": total(car.wing_set, front)}
    set_ups = [total(car.body, parts) for parts in (total(), *cases.values())]
    times = lap(car.car, joined(set_ups, np.array), car.lap.circuit, car.density_kg_m3).lap_time_s
    return tuple((name, float(times[0] - time)) for name, time in zip(cases, times[1:], strict=True))
