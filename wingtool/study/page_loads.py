"""Axle loads over angle and speed for the page's sliders, with the ends of the bands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wingtool.car import AxleAreas, placed, total
from wingtool.study.car.parts import point_height_m

if TYPE_CHECKING:
    from wingtool.study.car.run import CarResult
    from wingtool.wing import WingPolar

Ends = tuple[AxleAreas, AxleAreas, AxleAreas]


def axle_areas(car: CarResult, wing: WingPolar) -> Ends:
    """The whole car's axle areas [m^2] over the wing's speeds and angles (k, m): middle, light, heavy front.

    A light front is the wing at its high end with the front parts at their low one, a heavy front the other
    way round; drag goes against the wing's downforce.
    """
    q = wing.air.dynamic_pressure_pa(wing.speed_m_s)[:, None]
    height = point_height_m(wing, wing.wing_angle_deg)[None, :]
    base, moment = car.car.wheelbase_m, wing.pitching_moment_nm / q
    found = []
    for down, drag, end in (
        (wing.downforce.n, wing.drag.n, "middle"),
        (wing.downforce.high_n, wing.drag.low_n, "low"),
        (wing.downforce.low_n, wing.drag.high_n, "high"),
    ):
        rear_wing = placed(down / q, drag / q, car.wing.x_m, height, base, moment)
        front = (getattr(car.splitter, end), getattr(car.air_dam, end))
        found.append(total(car.body, rear_wing, *front))
    return found[0], found[1], found[2]
