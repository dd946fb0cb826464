"""The balance of a study's car: axle loads over speed and angle, matched front, place of the wing."""

import numpy as np

from wingtool import car
from wingtool.study.car.limits import place_limits, reach_m
from wingtool.study.car.parts import (
    FittedCar,
    car_on_road,
    reached_reference_m_s,
    wing_areas,
    wing_on_car,
)
from wingtool.study.schema.study import Study
from wingtool.study.wing.positions import wing_places
from wingtool.wing import WingPolar


def loads_over_angles(fit: FittedCar) -> car.AxleLoads:
    """Axle loads with each speed's own coefficients; rows that did not converge stay nan."""
    wing, on_car = fit.wing, fit.on_car
    areas = wing_areas(wing, fit.car.wheelbase_m, on_car.x_m, on_car.drag_measured)[1]
    parts = car.total(areas, fit.front_parts)
    return car.axle_loads(fit.car, parts, fit.density_kg_m3, wing.speed_m_s, wing.wing_angle_deg)


def matched_front(fit: FittedCar) -> car.MatchedSettings:
    """The front that keeps the balance at each wing angle, at the place of the fitted front part."""
    low, middle, high = (sum(part.cla_m2[end] for part in fit.front) for end in range(3))
    lever = fit.car.nose_m
    if fit.front and (main := fit.front[0]).cla_m2[1] > 0.0:
        lever = -main.middle.cla_rear_m2 * fit.car.wheelbase_m / main.cla_m2[1]  # its drag's couple is small
    return car.matched_settings(
        fit.car, fit.on_car.middle, fit.on_car.wing_angle_deg, max(lever, 0.0), (low, middle, high),
        fit.density_kg_m3, fit.reference_m_s,
    )  # fmt: skip


def place_of_wing(fit: FittedCar, limits: car.Limits | None) -> car.PlaceMap:
    """Balance over the wing's height and setback, the wing computed at each place behind a drawn roof."""
    study, wing, on_car = fit.study, fit.wing, fit.on_car
    height, behind = float(on_car.height_m[fit.index]), fit.behind_m
    computed = study.roof is not None and bool(study.roof.side)
    heights = np.linspace(0.6 * height, 1.25 * height, 8 if computed else 14)
    setbacks = np.linspace(min(behind, 0.0) - 0.2, max(behind, 0.0) + 0.5, 9 if computed else 15)
    over, aft = reach_m(study, wing, fit.angle_deg)
    limits_m = place_limits(limits, fit.car, study.wing.height_m + over - height, aft)
    cla, cda, cma = (row[fit.index] for row in (on_car.cla_m2, on_car.cda_m2, on_car.cma_m3))
    origin = ""
    if computed:
        lowest = heights - (height - wing.wing.height_m)
        behind_roof = study.roof.wing_behind_m + setbacks - behind  # type: ignore[union-attr]
        placed = wing_places(study, wing, fit.angle_deg, fit.reference_m_s, lowest, behind_roof)
        if placed is not None:
            q, origin = fit.q_pa(fit.reference_m_s), placed.origin
            cla, cda, cma = placed.downforce.n / q, placed.drag.n / q, placed.pitching_moment_nm / q
    return car.place_map(
        fit.car, cla, cda, cma, fit.front_parts, heights, setbacks, fit.density_kg_m3, fit.reference_m_s,
        *limits_m, origin,
    )  # fmt: skip


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
    on_road, behind, front = car_on_road(study, density)
    speed = np.array([reached_reference_m_s(on_road, car.body_areas(on_road), density, study.units)])
    on_car = wing_on_car(wing, on_road, behind, float(speed[0]), study.correction)
    parts = car.total(on_car.middle, *(part.middle for part in front))
    with_parts = car.axle_loads(on_road, parts, density, speed, on_car.wing_angle_deg).front_share[0]
    bare = car.axle_loads(on_road, car.total(), density, speed, np.zeros(1)).front_share[0, 0]
    shift = np.full(len(wing.wing_angle_deg), np.nan)
    shift[on_car.mask] = 100.0 * (with_parts - bare)
    return shift
