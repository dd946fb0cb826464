"""From the wing's table and the study's words to areas on the car, and to what rules measure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wingtool.car import AxleAreas, Car, placed
from wingtool.study.advice import angles_allowed, kept_margin_deg

if TYPE_CHECKING:
    from wingtool.wing import WingPolar


@dataclass(frozen=True, eq=False)
class WingOnCar:
    """The wing over angle as the car sees it, at one speed.

    Rows that did not converge are left out: `kept` (m,) says which of the wing's angles stay. `low`,
    `middle`, `high` hold axle areas over the kept angles; low has the downforce's low end with the drag's
    high end, high the other way round. `allowed` (m,) says which kept angles hold the advised margin to the
    stall at every speed.
    """

    wing_angle_deg: np.ndarray
    speed_m_s: float
    kept: np.ndarray
    low: AxleAreas
    middle: AxleAreas
    high: AxleAreas
    cla_m2: np.ndarray
    cda_m2: np.ndarray
    cma_m3: np.ndarray
    x_m: float
    height_m: np.ndarray
    allowed: np.ndarray

    def index(self, angle_deg: float) -> int:
        """Kept angle nearest to this one."""
        return int(np.argmin(np.abs(self.wing_angle_deg - angle_deg)))


def wing_on_car(wing: WingPolar, car: Car, behind_rear_axle_m: float, speed_m_s: float) -> WingOnCar:
    """Axle areas of the wing over its angles, with the coefficients of the nearest speed that converged."""
    there = np.isfinite(wing.downforce_n).any(axis=1)
    k = int(np.argmin(np.where(there, np.abs(wing.speed_m_s - speed_m_s), np.inf)))
    q = wing.air.dynamic_pressure_pa(float(wing.speed_m_s[k]))
    names = ("downforce_n", "downforce_low_n", "downforce_high_n", "drag_n", "drag_low_n", "drag_high_n")
    rows = {name: getattr(wing, name)[k] / q for name in (*names, "pitching_moment_nm")}
    kept = np.all([np.isfinite(row) for row in rows.values()], axis=0)
    rows = {name: row[kept] for name, row in rows.items()}
    angles = wing.wing_angle_deg[kept]
    x = car.wheelbase_m + behind_rear_axle_m + float(wing.wing.moment_point_m[0])
    height = point_height_m(wing, angles)
    low, middle, high = (
        placed(rows[down], rows[drag], x, height, car.wheelbase_m, rows["pitching_moment_nm"])
        for down, drag in (
            ("downforce_low_n", "drag_high_n"),
            ("downforce_n", "drag_n"),
            ("downforce_high_n", "drag_low_n"),
        )
    )
    band = None if wing.inflow is None else float(wing.inflow.angle_band_deg.max())
    allowed = angles_allowed(wing, kept_margin_deg(band))[kept]
    return WingOnCar(
        angles, float(wing.speed_m_s[k]), kept, low, middle, high, rows["downforce_n"], rows["drag_n"],
        rows["pitching_moment_nm"], x, height, allowed,
    )  # fmt: skip


def point_height_m(wing: WingPolar, angle_deg: np.ndarray) -> np.ndarray:
    """Height of the moment's point [m] at each angle; the wing's lowest point stays at its height."""
    z = _turned_z(wing, angle_deg)
    chord = wing.wing.chord_m
    return wing.wing.height_m - z.min(axis=1) * chord + float(wing.wing.moment_point_m[1])


def _turned_z(wing: WingPolar, angle_deg: np.ndarray) -> np.ndarray:
    """Heights (m, n) of the turned-over section's outline against its quarter chord, over the chord."""
    section = wing.polars[0].section
    if section is None:
        return np.zeros((len(angle_deg), 1))
    x, z = section.xy[:, 0] - 0.25, -section.xy[:, 1]
    angle = np.radians(angle_deg)[:, None]
    return x * np.sin(angle) + z * np.cos(angle)  # the tail comes up as the wing angle grows
