"""What the study says of everything that rules measure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.car import Car

if TYPE_CHECKING:
    from wingtool.car import Limits
    from wingtool.wing import WingPolar


def rule_facts(study: Any, wing: WingPolar, car: Car, angle_deg: float) -> dict[str, float | None]:
    """What the study says of everything that rules measure, SI; None where it says nothing.

    Rules differ in how they measure the chord of several elements, so chord and area are then not checked.
    """
    from wingtool.study.car.extent import plate_area_m2, reach_m

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
