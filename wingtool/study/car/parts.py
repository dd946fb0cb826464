"""The wing's table as axle areas on the car, its installation included."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.car import AxleAreas, Car, placed
from wingtool.study.advice import angles_allowed, kept_margin_deg

if TYPE_CHECKING:
    from wingtool.wing import WingPolar


# drag that the installation adds over the wing's downforce: low, middle, high
INSTALLED_DRAG = (0.0, 0.04, 0.12)
INSTALLED_ORIGIN = (
    "drag of the installed wing: none to 0.12 of the downforce is added for stands, body and wake; none "
    "after a high wing on a stock-bodied racer, added downforce over added drag 19 (wind tunnel, SAE Journal "
    "May 1970); middle and high end common practice, no source. A coast-down, read by verify, replaces it"
)


@dataclass(frozen=True, eq=False)
class WingOnCar:
    """The wing over angle as the car sees it, at one speed.

    Rows that did not converge are left out: `mask` (n,) says which of the wing's angles stay. `low`,
    `middle`, `high` hold axle areas over these m angles, the drag of the installation at its middle; low has
    the wing's low downforce with its high drag, high the other way round. `installed` holds the middle of the
    wing with the installation's drag at its low and high end. `cla_m2`, `cda_m2`, `cma_m3` (m,) are the wing
    alone at `speed_m_s`, `x_m`, `height_m` (m,) its reference point. `allowed` (m,) says which angles hold
    the advised margin to the stall at every speed.
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

    def index(self, angle_deg: float) -> int:
        """Index of the angle nearest to this one."""
        return int(np.argmin(np.abs(self.wing_angle_deg - angle_deg)))


def wing_on_car(
    wing: WingPolar, car: Car, behind_rear_axle_m: float, speed_m_s: float, correction: Any = None
) -> WingOnCar:
    """Axle areas of the wing over its angles, with the coefficients of the nearest speed that converged.

    Drag of the installation (stands, what wing and body do to each other, the wake that the wing works in) is
    taken in proportion to the downforce, at the wing's own point; none where `correction` holds a drag that
    was measured on the car.
    """
    there = np.isfinite(wing.downforce.n).any(axis=1)
    k = int(np.argmin(np.where(there, np.abs(wing.speed_m_s - speed_m_s), np.inf)))
    q = wing.air.dynamic_pressure_pa(float(wing.speed_m_s[k]))
    columns = np.array([*wing.downforce[k], *wing.drag[k], wing.pitching_moment_nm[k]]) / q
    mask = np.isfinite(columns).all(axis=0)
    cla, cla_low, cla_high, cda, cda_low, cda_high, cma = columns[:, mask]
    angles = wing.wing_angle_deg[mask]
    x = car.wheelbase_m + behind_rear_axle_m + float(wing.wing.moment_point_m[0])
    height = point_height_m(wing, angles)
    measured = correction is not None and correction.drag_on_car
    added = np.outer((0.0, 0.0, 0.0) if measured else INSTALLED_DRAG, np.abs(cla))
    low, middle, high, least_drag, most_drag = (
        placed(down, drag, x, height, car.wheelbase_m, cma)
        for down, drag in (
            (cla_low, cda_high + added[1]),
            (cla, cda + added[1]),
            (cla_high, cda_low + added[1]),
            (cla, cda + added[0]),
            (cla, cda + added[2]),
        )
    )
    band = None if wing.inflow is None else float(wing.inflow.angle_band_deg.max())
    allowed = angles_allowed(wing, kept_margin_deg(band))[mask]
    return WingOnCar(
        wing_angle_deg=angles,
        speed_m_s=float(wing.speed_m_s[k]),
        mask=mask,
        low=low,
        middle=middle,
        high=high,
        installed=(least_drag, most_drag),
        cla_m2=cla,
        cda_m2=cda,
        cma_m3=cma,
        x_m=x,
        height_m=height,
        allowed=allowed,
    )


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
