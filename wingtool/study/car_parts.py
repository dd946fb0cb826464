"""From the wing's table and the study's words to areas on the car, and to what rules measure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.car import AxleAreas, Car, placed
from wingtool.study.advice import angles_allowed, kept_margin_deg

if TYPE_CHECKING:
    from wingtool.car import Limits
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


def corrected(wing: WingPolar, correction: Any) -> WingPolar:
    """The wing's table with the track's answer: factors on forces, their band in place of the estimate's."""
    if correction is None:
        return wing
    changes: dict[str, Any] = {}
    for name, factor, low, high in (
        ("downforce", correction.downforce_factor, correction.downforce_low, correction.downforce_high),
        ("drag", correction.drag_factor, correction.drag_low, correction.drag_high),
    ):
        value = getattr(wing, f"{name}_n")
        changes[f"{name}_n"] = value * factor
        if low is None or high is None:
            band = [getattr(wing, f"{name}_{end}_n") * factor for end in ("low", "high")]
        else:
            band = [value * low, value * high]  # a negative force turns the two round
        changes[f"{name}_low_n"] = np.minimum(*band)
        changes[f"{name}_high_n"] = np.maximum(*band)
    changes["pitching_moment_nm"] = wing.pitching_moment_nm * correction.downforce_factor
    down, drag = correction.downforce_factor, correction.drag_factor
    by_downforce = ("CL", "CL_far_wake", "CL_other", "CM", "strip_cl", "strip_moment_n")
    by_drag = ("CD", "CD_induced", "CD_profile", "CD_plates", "CD_base", "CD_mounts")
    for name, factor in [(n, down) for n in by_downforce] + [(n, drag) for n in by_drag]:
        changes[name] = getattr(wing, name) * factor
    changes["strip_load_n_m"] = wing.strip_load_n_m * correction.downforce_factor
    return replace(wing, **changes, band_origin=f"corrected by the track: {correction.origin}")


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


def rule_facts(study: Any, wing: WingPolar, car: Car, angle_deg: float) -> dict[str, float | None]:
    """What the study says of everything that rules measure, SI; None where it says nothing.

    Rules differ in how they measure the chord of several elements, so chord and area are then not checked.
    """
    from wingtool.study.car_extent import plate_area_m2, reach_m

    plan, plate = wing.wing, wing.wing.endplate
    over, aft = reach_m(study, wing, angle_deg)
    top = study.wing.height_m + over
    mounts, splitter, dam = study.mounts, study.splitter, study.air_dam
    single = not study.wing.element
    planes = [(plane.span_m or plan.span_m, plane.chord_m) for plane in study.wing.plane]
    chords = [float(np.max(plan.chord_at(np.linspace(0.0, 1.0, 21)))), *(chord for _, chord in planes)]
    return {
        "wing_span": max([plan.span_m, *(span for span, _ in planes)]),
        "wing_chord": max(chords) if single else None,
        "wing_area": plan.area_m2 + sum(span * chord for span, chord in planes) if single else None,
        "wing_top_height": top,
        "wing_over_roof": None if car.roof_height_m is None else top - car.roof_height_m,
        "wing_behind_rear_axle": mounts.behind_rear_axle_m + aft if mounts else None,
        "tab_height": study.wing.tab_m or 0.0,
        "endplate_height": plate.height_m if plate else None,
        "endplate_area": plate_area_m2(plate, float(plan.chord_at(np.ones(1))[0])) if plate else None,
        "splitter_overhang": splitter.overhang_m if splitter else None,
        "splitter_width": splitter.width_m if splitter else None,
        "splitter_clearance": splitter.clearance_m if splitter else None,
        "air_dam_clearance": dam.clearance_m if dam else None,
        "stand_height": mounts.stand_height_m if mounts else None,
    }


def place_limits(
    limits: Limits | None, car: Car, over_m: float, aft_m: float
) -> tuple[float | None, float | None]:
    """Greatest height and setback that the user's rules leave to the wing's reference point [m], or None.

    Parameters
    ----------
    over_m, aft_m : float
        Highest point above the reference point, and rearmost point aft of it.
    """
    most = limits.most if limits else {}
    over_roof, setback = most.get("wing_over_roof"), most.get("wing_behind_rear_axle")
    heights = [most.get("wing_top_height")]
    if over_roof is not None and car.roof_height_m is not None:
        heights.append(car.roof_height_m + over_roof)
    known = [height - over_m for height in heights if height is not None]
    return (min(known) if known else None), (None if setback is None else setback - aft_m)
