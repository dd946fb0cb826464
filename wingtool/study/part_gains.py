"""What each part alone gains or costs on the lap: the wing, the front parts, both together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wingtool.car import joined, total
from wingtool.track import lap

if TYPE_CHECKING:
    from wingtool.study.car.run import CarResult


@dataclass(frozen=True)
class PartGain:
    """Seconds gained a lap as fitted, middle estimates, at the fastest advised angle; nan without a wing."""

    name: str
    best_deg: float
    best_s: float


def part_gains(car: CarResult | None) -> tuple[PartGain, ...]:
    """The wing alone, the front parts alone, both together; empty without a lap or front parts.

    The circuit and the tyre law are those of the study's own lap; the start is the car's set angle.
    """
    if car is None or car.lap is None or car.splitter.name == car.air_dam.name == "none":
        return ()
    rows = car.wing.allowed & (car.wing.wing_angle_deg >= car.set_angle_deg)
    if not rows.any():
        return ()
    angles, wing = car.wing.wing_angle_deg[rows], car.wing.middle.at(rows)
    fitted = [part for part in (car.splitter, car.air_dam) if part.name != "none"]
    name, front = " and ".join(part.name for part in fitted), total(*(part.middle for part in fitted))
    cases = {"wing alone": wing, f"{name} alone": front, f"wing and {name}": total(wing, front)}
    set_ups = [total(car.body, parts) for parts in (total(), *cases.values())]
    many = joined(set_ups, lambda one: np.concatenate([np.broadcast_to(v, angles.shape) for v in one]))
    times = lap(car.car, many, car.lap.circuit, car.density_kg_m3).lap_time_s
    bare, *each = times.reshape(-1, len(angles))
    return tuple(
        PartGain(case, float(angles[row.argmin()]) if "wing" in case else np.nan, float((bare - row).max()))
        for case, row in zip(cases, each, strict=True)
    )
