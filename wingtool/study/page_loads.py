"""Axle loads over angle and speed for the page's sliders, with the band of the front axle's share."""

import numpy as np

from wingtool.car import AxleAreas, Estimate, in_quadrature
from wingtool.study.car.doubts import SetUps, body_doubts, front_doubts, set_ups, wing_doubts
from wingtool.study.car.parts import wing_areas
from wingtool.study.car.result import CarResult
from wingtool.wing import WingPolar


def axle_loads_at(
    car: CarResult, wing: WingPolar, speed_m_s: float, angle_deg: float
) -> tuple[Estimate, Estimate]:
    """What all parts and the body's lift add to the front and the rear axle at one speed and angle [N]."""
    cases = _cases(car, wing)
    whole, at = cases.whole, (car, wing, speed_m_s, angle_deg)
    front, rear = (cases.estimate(_newton(areas, *at)) for areas in (whole.cla_front_m2, whole.cla_rear_m2))
    return front, rear


def wing_loads_at(
    car: CarResult, wing: WingPolar, speed_m_s: float, angle_deg: float
) -> tuple[Estimate, Estimate]:
    """What the wing alone, with its installation's drag, adds to each axle; as `axle_loads_at`."""
    five, at = _wing_areas(car, wing), (car, wing, speed_m_s, angle_deg)
    ends = (_newton([getattr(one, name) for one in five], *at) for name in ("cla_front_m2", "cla_rear_m2"))
    front, rear = (
        in_quadrature(middle, {"wing": [(low, high)], "drag of the installed wing": [(least, most)]})
        for low, middle, high, least, most in ends
    )
    return front, rear


def _newton(areas, car: CarResult, wing: WingPolar, speed_m_s: float, angle_deg: float) -> list[float]:
    """Forces [N] of axle areas over speeds and angles, each (k, m) [m^2], at one of each."""
    q = 0.5 * car.density_kg_m3 * speed_m_s**2
    m = int(np.argmin(np.abs(wing.wing_angle_deg - angle_deg)))
    return [q * float(np.interp(speed_m_s, wing.speed_m_s, area[:, m])) for area in areas]


def axle_areas(car: CarResult, wing: WingPolar) -> tuple[AxleAreas, np.ndarray, np.ndarray]:
    """The whole car's axle areas [m^2] over speeds and angles, and the band of the front axle's share.

    Parameters
    ----------
    car : CarResult
    wing : WingPolar
        The same wing, perhaps with another tab.

    Returns
    -------
    areas : AxleAreas
        Middle, (k, m).
    down_1_pa, up_1_pa : ndarray, shape (k, m)
        By how much the front axle's share may lie lower or higher, over the dynamic pressure: the doubts of
        the balance, added as squares.
    """
    q = wing.air.dynamic_pressure_pa(wing.speed_m_s)[:, None]
    whole = _cases(car, wing).whole
    on_front = car.car.static_front_n + q * whole.cla_front_m2
    share = on_front / (on_front + car.car.static_rear_n + q * whole.cla_rear_m2)
    moves = (share[1:] - share[0]).reshape(-1, 2, *share.shape[1:])
    below, above = np.minimum(moves.min(axis=1), 0.0), np.maximum(moves.max(axis=1), 0.0)
    return whole.at(0), np.sqrt((below**2).sum(axis=0)) / q, np.sqrt((above**2).sum(axis=0)) / q


def _wing_areas(car: CarResult, wing: WingPolar) -> tuple[AxleAreas, ...]:
    return wing_areas(wing, car.car.wheelbase_m, car.wing.x_m, car.wing.drag_measured)


def _cases(car: CarResult, wing: WingPolar) -> SetUps:
    """The car at the ends of each doubt, over the wing's speeds and angles (p, k, m)."""
    areas = _wing_areas(car, wing)
    doubts = [*body_doubts(car.car), *front_doubts(car.front), *wing_doubts(*areas)]
    return set_ups(car.car, areas[1], car.front, doubts)
