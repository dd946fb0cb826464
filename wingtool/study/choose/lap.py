"""What a wing is worth over the study's lap, with springs and bars retuned to each wing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wingtool.car import AxleAreas, Car, air_dam_estimate, body_areas, placed, splitter_estimate, total
from wingtool.study.car.lap import circuit_of
from wingtool.study.car.parts import point_height_m
from wingtool.track import Circuit, lap

if TYPE_CHECKING:
    from wingtool.study.schema.study import Study
    from wingtool.wing import WingPolar

LAW = "retuned"  # like with like: each wing gets the balance that suits it
STEP_M2 = 0.02  # of downforce and drag area, for the lap's slopes


@dataclass(frozen=True, eq=False)
class LapSetting:
    """The car without its wing on its circuit; `behind_m` is the wing behind the rear axle."""

    car: Car
    rest: AxleAreas
    circuit: Circuit
    behind_m: float
    density_kg_m3: float
    bare_s: float

    def times(self, areas: AxleAreas) -> np.ndarray:
        """Lap times of the car with wings of these areas, shape (p,)."""
        return lap(self.car, total(self.rest, areas), self.circuit, self.density_kg_m3, LAW).lap_time_s


def lap_setting(study: Study) -> LapSetting | None:
    """The setting of a study; None without [car] or [circuit]."""
    circuit = circuit_of(study)
    if study.car is None or circuit is None:
        return None
    density = study.air.air().density_kg_m3
    car = study.car.value(density)
    splitter = study.splitter.value(density) if study.splitter else None
    dam = study.air_dam.value(density) if study.air_dam else None
    parts = (splitter_estimate(splitter, car).middle, air_dam_estimate(dam, car).middle)
    rest = total(body_areas(car), *parts)
    bare = lap(car, rest, circuit, density, LAW).lap_time_s[0]
    behind = study.mounts.value().behind_rear_axle_m if study.mounts else 0.0
    return LapSetting(car, rest, circuit, behind, density, float(bare))


def areas_of(setting: LapSetting, wing: WingPolar, k: int) -> AxleAreas:
    """Axle areas of a wing over its angles (m,) at its speed number k."""
    q = wing.air.dynamic_pressure_pa(float(wing.speed_m_s[k]))
    x = setting.car.wheelbase_m + setting.behind_m + float(wing.wing.moment_point_m[0])
    height = point_height_m(wing, wing.wing_angle_deg)
    moment = wing.pitching_moment_nm[k] / q
    return placed(wing.downforce.n[k] / q, wing.drag.n[k] / q, x, height, setting.car.wheelbase_m, moment)


def lap_slopes(setting: LapSetting, wing: WingPolar, k: int, angle_deg: float) -> tuple[float, float]:
    """Lap time gained by a square metre of the wing's downforce, and lost by one of its drag [s/m^2]."""
    good = np.isfinite(wing.downforce.n[k])
    here = areas_of(setting, wing, k)
    angles = wing.wing_angle_deg[good]
    names = ("cla_front_m2", "cla_rear_m2", "cda_m2")
    base = [np.interp(angle_deg, angles, getattr(here, name)[good]) for name in names]
    x = setting.car.wheelbase_m + setting.behind_m
    height = float(np.median(point_height_m(wing, angles)))
    lift = placed(STEP_M2, 0.0, x, height, setting.car.wheelbase_m)
    drag = placed(0.0, STEP_M2, x, height, setting.car.wheelbase_m)
    rows = [
        np.array([own, own + getattr(lift, name), own + getattr(drag, name)])
        for own, name in zip(base, names, strict=True)
    ]
    own, more_lift, more_drag = setting.times(AxleAreas(*rows))
    return float(own - more_lift) / STEP_M2, float(more_drag - own) / STEP_M2
