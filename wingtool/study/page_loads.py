"""Axle loads over angle and speed for the page's sliders, with the band of the front axle's share."""

import numpy as np

from wingtool.car import AxleAreas
from wingtool.study.car.doubts import body_doubts, front_doubts, set_ups, wing_doubts
from wingtool.study.car.parts import wing_areas
from wingtool.study.car.result import CarResult
from wingtool.wing import WingPolar


def axle_areas(
    car: CarResult, wing: WingPolar, drag_on_car: bool = False
) -> tuple[AxleAreas, np.ndarray, np.ndarray]:
    """The whole car's axle areas [m^2] over speeds and angles, and the band of the front axle's share.

    Parameters
    ----------
    car : CarResult
    wing : WingPolar
        The same wing, perhaps with another tab.
    drag_on_car : bool
        The wing's drag was measured on the car: no drag of the installation is added.

    Returns
    -------
    areas : AxleAreas
        Middle, (k, m).
    down_1_pa, up_1_pa : ndarray, shape (k, m)
        By how much the front axle's share may lie lower or higher, over the dynamic pressure: the doubts of
        the balance, added as squares.
    """
    q = wing.air.dynamic_pressure_pa(wing.speed_m_s)[:, None]
    areas = wing_areas(wing, car.car.wheelbase_m, car.wing.x_m, drag_on_car)
    front = (car.splitter, car.air_dam)
    doubts = [*body_doubts(car.car), *front_doubts(front), *wing_doubts(*areas)]
    whole = set_ups(car.car, areas[1], front, doubts).whole
    on_front = car.car.static_front_n + q * whole.cla_front_m2
    share = on_front / (on_front + car.car.static_rear_n + q * whole.cla_rear_m2)
    moves = (share[1:] - share[0]).reshape(-1, 2, *share.shape[1:])
    below, above = np.minimum(moves.min(axis=1), 0.0), np.maximum(moves.max(axis=1), 0.0)
    return whole.at(0), np.sqrt((below**2).sum(axis=0)) / q, np.sqrt((above**2).sum(axis=0)) / q
