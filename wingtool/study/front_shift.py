"""How the wing's angle shifts the balance of the car as it stands: front axle's share of the load."""

import numpy as np

from wingtool.car import axle_loads, body_areas, total
from wingtool.study.car.parts import car_on_road, reached_reference_m_s, wing_on_car
from wingtool.study.schema.study import Study
from wingtool.wing import WingPolar


def front_shift_points(study: Study, wing: WingPolar) -> np.ndarray | None:
    """Front axle's share with all parts less that of the bare car, middle estimates, over the wing's angles.

    Returns
    -------
    ndarray, shape (m,), or None
        In per cent of the load at the speed at which parts are compared; nan where the wing has no number,
        None without [car].
    """
    if study.car is None:
        return None
    density = wing.air.density_kg_m3
    car, behind, front = car_on_road(study, density)
    speed = np.array([reached_reference_m_s(car, body_areas(car), density, study.units)])
    on_car = wing_on_car(wing, car, behind, float(speed[0]), study.correction)
    parts = total(on_car.middle, *(part.middle for part in front))
    with_parts = axle_loads(car, parts, density, speed, on_car.wing_angle_deg).front_share[0]
    bare = axle_loads(car, total(), density, speed, np.zeros(1)).front_share[0, 0]
    shift = np.full(len(wing.wing_angle_deg), np.nan)
    shift[on_car.mask] = 100.0 * (with_parts - bare)
    return shift
