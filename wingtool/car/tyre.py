"""Grip that falls with load: limits of an axle in cornering, driving and braking.

The friction of a tyre falls as its load rises. The law here is force = const * load^(1 - n), the simplest
whose grip vanishes at no load; n is the user's (Tyre.load_sensitivity). The constant comes from
the car itself: in a slow corner both axles hold `grip` at their load at rest.
"""

import numpy as np

from wingtool.car.areas import AxleAreas
from wingtool.car.vehicle import Car
from wingtool.constants import GRAVITY_M_S2


def axle_capacity(load_ratio, sensitivity: float):
    """Grip force of an axle over that at rest, for its load over its load at rest.

    An axle without load holds nothing.

    Examples
    --------
    >>> float(axle_capacity(2.0, 0.0)), round(float(axle_capacity(2.0, 0.1)), 3)
    (2.0, 1.866)
    """
    return np.maximum(load_ratio, 0.0) ** (1.0 - sensitivity)


def load_ratios(car: Car, areas: AxleAreas, dynamic_pressure_pa):
    """Load over load at rest of the front and the rear axle."""
    front, rear = axle_loads_n(car, areas, dynamic_pressure_pa)
    return front / car.static_front_n, rear / car.static_rear_n


def axle_loads_n(car: Car, areas: AxleAreas, dynamic_pressure_pa):
    """Load of the front and the rear axle on the ground [N], at constant speed."""
    front = car.static_front_n + dynamic_pressure_pa * areas.cla_front_m2
    return front, car.static_rear_n + dynamic_pressure_pa * areas.cla_rear_m2


def lateral_limit_m_s2(car: Car, areas: AxleAreas, dynamic_pressure_pa):
    """Lateral acceleration [m/s^2] at which the weaker axle reaches its limit.

    Each axle carries its static share of m a_y (moments about the vertical axis in a steady corner), so the
    axle whose capacity has grown less sets the limit: added grip at one end alone adds balance trouble, not
    speed.
    """
    front, rear = load_ratios(car, areas, dynamic_pressure_pa)
    weaker = np.minimum(front, rear)
    return car.tyre.grip * GRAVITY_M_S2 * axle_capacity(weaker, car.tyre.load_sensitivity)


def lateral_retuned_m_s2(car: Car, areas: AxleAreas, dynamic_pressure_pa):
    """Lateral limit [m/s^2] with springs and bars retuned until both axles reach their limit together."""
    front, rear = load_ratios(car, areas, dynamic_pressure_pa)
    n = car.tyre.load_sensitivity
    held = car.front_share * axle_capacity(front, n) + (1 - car.front_share) * axle_capacity(rear, n)
    return car.tyre.grip * GRAVITY_M_S2 * held


LATERAL_LIMIT = {"weaker axle": lateral_limit_m_s2, "retuned": lateral_retuned_m_s2}


def brake_limit_m_s2(car: Car, areas: AxleAreas, dynamic_pressure_pa):
    """Braking by the tyres alone [m/s^2], both axles used fully."""
    return car.tyre.brake_grip / car.tyre.grip * lateral_retuned_m_s2(car, areas, dynamic_pressure_pa)


def traction_limit_n(car: Car, areas: AxleAreas, dynamic_pressure_pa):
    """Driving force [N] that the driven axle can put down, without weight transfer.

    Weight transfer helps a rear-driven and hurts a front-driven car by m a h / L; it is left out, so the
    estimate is low for the one and high for the other, in slow corners only.
    """
    front, rear = load_ratios(car, areas, dynamic_pressure_pa)
    n, grip = car.tyre.load_sensitivity, car.tyre.brake_grip
    at_front = car.static_front_n * axle_capacity(front, n) if car.driven != "rear" else 0.0
    at_rear = car.static_rear_n * axle_capacity(rear, n) if car.driven != "front" else 0.0
    return grip * (at_front + at_rear)
