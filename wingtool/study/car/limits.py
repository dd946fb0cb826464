"""The study's value of every measure that rules limit."""

from math import inf

import numpy as np

from wingtool.car import Car, Limits
from wingtool.study.car.extent import plate_area_m2, reach_m
from wingtool.study.schema.study import Study
from wingtool.wing import WingPolar


def rule_facts(study: Study, wing: WingPolar, car: Car, angle_deg: float) -> dict[str, float | None]:
    """The study's value of every measure that rules limit, SI; None where it has none.

    Rules differ in how they measure the chord of several elements, so chord and area are then not checked.
    """
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


def limits_of(study: Study) -> Limits | None:
    """The user's rules, from the study or the file that it names."""
    if study.limits is None:
        return None
    if study.limits.file is None:
        return study.limits.value()
    from wingtool.study.schema.rules import read_limits

    return read_limits(study.folder / study.limits.file)


def place_limits(limits: Limits | None, car: Car, over_m: float, aft_m: float) -> tuple[float, float]:
    """Greatest height and setback that the user's rules leave to the wing's reference point [m], or inf.

    Parameters
    ----------
    over_m, aft_m : float
        Highest point above the reference point, and rearmost point aft of it.
    """
    most = limits.most if limits else {}
    height = most.get("wing_top_height", inf)
    if car.roof_height_m is not None:
        height = min(height, car.roof_height_m + most.get("wing_over_roof", inf))
    return height - over_m, most.get("wing_behind_rear_axle", inf) - aft_m
