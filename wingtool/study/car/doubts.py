"""What is not known of car and parts, one doubt at a time, and the bands that follow on every answer.

All doubts are axle areas, so each is a change of the bare car or of the parts. The middle and both ends of
each are set-ups of one array, and every answer (lap, felt speed, share, straight) is computed for all of them
at once; `in_quadrature` then gives the band and the largest doubt.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wingtool.car import (
    BODY_LIFT,
    NOTHING,
    AxleAreas,
    Car,
    Estimate,
    FrontPart,
    body_areas,
    in_quadrature,
    joined,
    total,
)
from wingtool.study.car.parts import FittedCar

Change = tuple[AxleAreas, AxleAreas]  # of the bare car, of the parts
Doubt = tuple[str, Change, Change]  # name, change at the low end, change at the high end
OF_BODY = (BODY_LIFT, "drag of the bare car")
OF_WING = ("wing", "drag of the installed wing")


@dataclass(frozen=True, eq=False)
class SetUps:
    """The middle, then both ends of each doubt in turn.

    `bare` and `whole` hold axle areas of shape (p,), or (p, m) over m wing angles; `names` one name for each
    pair of ends.
    """

    bare: AxleAreas
    whole: AxleAreas
    names: tuple[str, ...]

    def estimate(self, values: Sequence[float] | np.ndarray) -> Estimate:
        """Value with its band from the answers of all set-ups (p,)."""
        ends: dict[str, list[tuple[float, float]]] = {}
        for number, name in enumerate(self.names):
            ends.setdefault(name, []).append((float(values[1 + 2 * number]), float(values[2 + 2 * number])))
        return in_quadrature(float(values[0]), ends)


def set_ups(car: Car, wing: AxleAreas, front: tuple[FrontPart, ...], doubts: list[Doubt]):
    """Axle areas of all set-ups; `wing` plain numbers or over angle (m,)."""
    parts = total(wing, *(part.middle for part in front))
    changes = [(NOTHING, NOTHING)] + [end for _, *ends in doubts for end in ends]
    bare = [total(body_areas(car), change[0]) for change in changes]
    whole = [total(one, parts, change[1]) for one, change in zip(bare, changes, strict=True)]

    def stacked(columns) -> np.ndarray:
        return np.stack(np.broadcast_arrays(*columns))

    return SetUps(joined(bare, stacked), joined(whole, stacked), tuple(name for name, *_ in doubts))


def doubts_of(fit: FittedCar) -> list[Doubt]:
    """Every doubt at the set angle."""
    car, wing = fit.car, fit.on_car
    drag = [AxleAreas(0.0, 0.0, cda - car.cda_m2) for cda in (car.cda_low_m2, car.cda_high_m2)]
    bare = (OF_BODY[1], (drag[0], NOTHING), (drag[1], NOTHING))
    areas = (one.at(fit.index) for one in (wing.low, wing.middle, wing.high, *wing.installed))
    return [*body_doubts(car), bare, *wing_doubts(*areas), *front_doubts(fit.front)]


def body_doubts(car: Car) -> list[Doubt]:
    """Lift of the bare body, front and rear apart: they are two unknowns."""
    front, rear = car.body_lift.front, car.body_lift.rear
    changes = [
        [AxleAreas(front.value - end, 0.0, 0.0) for end in (front.low, front.high)],
        [AxleAreas(0.0, rear.value - end, 0.0) for end in (rear.low, rear.high)],
    ]
    return [(BODY_LIFT, (low, NOTHING), (high, NOTHING)) for low, high in changes]


def wing_doubts(*areas: AxleAreas) -> list[Doubt]:
    """The wing's band and the drag of its installation, from its five areas as `wing_areas` gives them."""
    low, middle, high, least, most = areas
    installed = _part_doubt(OF_WING[1], least, middle, most)
    return [_part_doubt(OF_WING[0], low, middle, high), installed]


def front_doubts(front: tuple[FrontPart, ...]) -> list[Doubt]:
    """Downforce and drag of splitter and air dam."""
    return [_part_doubt(part.name, part.low, part.middle, part.high) for part in front]


def _part_doubt(name: str, low: AxleAreas, middle: AxleAreas, high: AxleAreas) -> Doubt:
    return name, (NOTHING, low - middle), (NOTHING, high - middle)
