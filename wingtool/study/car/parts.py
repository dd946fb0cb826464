"""The study's car with its parts: the wing as axle areas, its installation included, and the front end."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from wingtool.car import (
    AxleAreas,
    Car,
    FrontPart,
    air_dam_estimate,
    body_areas,
    placed,
    splitter_estimate,
    top_speed_m_s,
    total,
)
from wingtool.files import words_beside
from wingtool.study.advice import angles_allowed, kept_margin_deg
from wingtool.study.schema.study import Study
from wingtool.units import M_S_PER_KM_H, M_S_PER_MPH, DisplayUnits
from wingtool.wing import WingPolar, lowest_offset

REFERENCE_SPEED_M_S = 160 * M_S_PER_KM_H  # the speed at which people compare parts
REFERENCE_MPH_M_S = 100 * M_S_PER_MPH  # and in miles
# drag that the installation adds over the wing's downforce: low, middle, high
INSTALLED_DRAG = (0.0, 0.04, 0.12)
INSTALLED_ORIGIN: str = words_beside(__file__, "parts")["installed"]


@dataclass(frozen=True, eq=False)
class WingOnCar:
    """The wing over angle as the car sees it, at one speed.

    Rows that did not converge are left out: `mask` (n,) says which of the wing's angles stay. `low`,
    `middle`, `high` hold axle areas over these m angles, the drag of the installation at its middle; low has
    the wing's low downforce with its high drag, high the other way round. `installed` holds the middle of the
    wing with the installation's drag at its low and high end. `cla_m2`, `cda_m2`, `cma_m3` (m,) are the wing
    alone at `speed_m_s`, `x_m`, `height_m` (m,) its reference point. `allowed` (m,) says which angles hold
    the advised margin to the stall at every speed. `drag_measured`: on the car, so that none is added for the
    installation.
    """

    wing_angle_deg: np.ndarray
    speed_m_s: float
    mask: np.ndarray
    low: AxleAreas
    middle: AxleAreas
    high: AxleAreas
    installed: tuple[AxleAreas, AxleAreas]
    cla_m2: np.ndarray
    cda_m2: np.ndarray
    cma_m3: np.ndarray
    x_m: float
    height_m: np.ndarray
    allowed: np.ndarray
    drag_measured: bool

    def index(self, angle_deg: float) -> int:
        """Index of the angle nearest to this one."""
        return int(np.argmin(np.abs(self.wing_angle_deg - angle_deg)))


def nearest_speed(wing: WingPolar, speed_m_s: float) -> int:
    """Index of the nearest speed at which any angle converged."""
    converged = np.isfinite(wing.downforce.high_n).any(axis=1)
    return int(np.argmin(np.where(converged, np.abs(wing.speed_m_s - speed_m_s), np.inf)))


def wing_areas(
    wing: WingPolar, wheelbase_m: float, x_m: float, drag_on_car: bool = False
) -> tuple[AxleAreas, ...]:
    """Axle areas of the wing with its installation over its k speeds and m angles, each (k, m).

    Low, middle and high end of the wing's band with the usual drag of the installation, then the middle of
    the wing with the installation's drag at its low and high end. Drag of the installation (stands, what wing
    and body do to each other, the wake that the wing works in) is taken in proportion to the downforce, at
    the wing's own point; none where the drag was measured on the car.
    """
    q = wing.air.dynamic_pressure_pa(wing.speed_m_s)[:, None]
    height, moment = point_height_m(wing, wing.wing_angle_deg), wing.pitching_moment_nm / q
    down, drag = wing.downforce, wing.drag
    least, usual, most = (share * (not drag_on_car) * np.abs(down.n) for share in INSTALLED_DRAG)
    cases = (
        (down.low_n, drag.high_n + usual),
        (down.n, drag.n + usual),
        (down.high_n, drag.low_n + usual),
        (down.n, drag.n + least),
        (down.n, drag.n + most),
    )
    return tuple(placed(force / q, aft / q, x_m, height, wheelbase_m, moment) for force, aft in cases)


def wing_on_car(
    wing: WingPolar, car: Car, behind_rear_axle_m: float, speed_m_s: float, correction: Any = None
) -> WingOnCar:
    """Axle areas of the wing over its angles, with the coefficients of the nearest speed that converged."""
    k = nearest_speed(wing, speed_m_s)
    x = car.wheelbase_m + behind_rear_axle_m
    measured = drag_measured_on_car(correction)
    areas = wing_areas(wing, car.wheelbase_m, x, measured)
    mask = np.all([np.isfinite(column[k]) for one in areas for column in one.columns], axis=0)
    low, middle, high, *installed = (one.at((k, mask)) for one in areas)
    q = wing.air.dynamic_pressure_pa(float(wing.speed_m_s[k]))
    own = (wing.downforce.n, wing.drag.n, wing.pitching_moment_nm)
    cla, cda, cma = (table[k, mask] / q for table in own)
    roof_band = None if wing.inflow is None else float(wing.inflow.angle_band_deg.max())
    return WingOnCar(
        wing_angle_deg=wing.wing_angle_deg[mask], speed_m_s=float(wing.speed_m_s[k]), mask=mask, low=low,
        middle=middle, high=high, installed=(installed[0], installed[1]), cla_m2=cla, cda_m2=cda,
        cma_m3=cma, x_m=x, height_m=point_height_m(wing, wing.wing_angle_deg[mask]),
        allowed=angles_allowed(wing, kept_margin_deg(roof_band))[mask], drag_measured=measured,
    )  # fmt: skip


def drag_measured_on_car(correction: Any) -> bool:
    """Whether the study's [correction] holds a drag that was measured on the car."""
    return correction is not None and correction.drag_on_car


def reached_reference_m_s(car: Car, areas: AxleAreas, density_kg_m3: float, units: DisplayUnits) -> float:
    """The speed at which a study's parts are compared; for a slower car its top speed in whole tens."""
    top = float(top_speed_m_s(car, areas.cda_m2, areas.cla_m2, density_kg_m3))
    usual, ten = REFERENCE_SPEED_M_S, 10.0 * M_S_PER_KM_H
    if units.speed == "mph":
        usual, ten = REFERENCE_MPH_M_S, 10.0 * M_S_PER_MPH
    return min(usual, max(top // ten, 1.0) * ten)


@dataclass(frozen=True, eq=False)
class FittedCar:
    """The study's car with its wing at the set angle, splitter and air dam.

    `wing` over its speeds and angles, `on_car` over its angles as the car sees it, `index` that of the set
    angle there, `behind_m` how far it is behind the rear axle; `front` splitter and air dam as far as fitted.
    """

    study: Study
    wing: WingPolar
    car: Car
    behind_m: float
    on_car: WingOnCar
    front: tuple[FrontPart, ...]
    index: int

    @property
    def density_kg_m3(self) -> float:
        """Of the study's air."""
        return float(self.wing.air.density_kg_m3)

    @property
    def angle_deg(self) -> float:
        """The set angle."""
        return float(self.on_car.wing_angle_deg[self.index])

    @property
    def wing_set(self) -> AxleAreas:
        """The wing at the set angle."""
        return self.on_car.middle.at(self.index)

    @property
    def named_parts(self) -> dict[str, AxleAreas]:
        """Wing, splitter and air dam as far as they are fitted."""
        return {"wing": self.wing_set} | {part.name: part.middle for part in self.front}

    @property
    def front_parts(self) -> AxleAreas:
        """Splitter and air dam together."""
        return total(*(part.middle for part in self.front))

    @property
    def whole(self) -> AxleAreas:
        """The car with all parts."""
        return total(body_areas(self.car), self.wing_set, self.front_parts)

    @cached_property
    def reference_m_s(self) -> float:
        """The speed at which parts are compared."""
        return reached_reference_m_s(self.car, self.whole, self.density_kg_m3, self.study.units)

    def q_pa(self, speed_m_s: float) -> float:
        """Dynamic pressure."""
        return 0.5 * self.density_kg_m3 * speed_m_s**2


def fitted_car(study: Study, wing: WingPolar, angle_deg: float | None = None) -> FittedCar | None:
    """The study's car with its parts at the converged angle nearest to this one; None where none converged.

    The middle of the table where no angle is given.
    """
    density = wing.air.density_kg_m3
    car, behind, front = car_on_road(study, density)
    bare_top = float(top_speed_m_s(car, car.cda_m2, 0.0, density))
    on_car = wing_on_car(wing, car, behind, 0.75 * bare_top, study.correction)
    if not (count := on_car.wing_angle_deg.size):
        return None
    index = count // 2 if angle_deg is None or np.isnan(angle_deg) else on_car.index(angle_deg)
    return FittedCar(study, wing, car, behind, on_car, front, index)


def car_on_road(study: Study, density_kg_m3: float) -> tuple[Car, float, tuple[FrontPart, ...]]:
    """The study's car, how far the wing is behind its rear axle [m], and its splitter and air dam, if any.

    Without [mounts] the wing is above the axle.
    """
    assert study.car is not None
    car = study.car.value(density_kg_m3, study.units.length == "in")
    behind_m = study.mounts.behind_rear_axle_m if study.mounts else 0.0
    front = [splitter_estimate(study.splitter.value(density_kg_m3), car)] if study.splitter else []
    front += [air_dam_estimate(study.air_dam.value(density_kg_m3), car)] if study.air_dam else []
    return car, behind_m, tuple(front)


def point_height_m(wing: WingPolar, angle_deg: np.ndarray) -> np.ndarray:
    """Height of the moment's point [m] at each angle; the wing's lowest point stays at its height."""
    section = wing.polars[0].section
    if section is None:
        return np.full(len(angle_deg), wing.wing.height_m)
    return wing.wing.height_m + lowest_offset(section.xy, np.radians(angle_deg)) * wing.wing.chord_m
