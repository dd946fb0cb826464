"""The study's value of every measure that rules limit."""

from math import inf
from types import SimpleNamespace
from typing import Any

import numpy as np

from wingtool.car import Car, Limits, RuleCheck, check_rules
from wingtool.study.advice import Advice
from wingtool.study.car.extent import plate_area_m2, reach_m
from wingtool.study.schema.study import Study
from wingtool.wing import WingPolar

WORST_FIRST = ("fail", "not checked", "pass")
NO_CAR: Any = SimpleNamespace(roof_height_m=None)


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


def rules_over_angles(study: Study, wing: WingPolar, advice: Advice) -> tuple[RuleCheck, ...]:
    """Each rule with its worst verdict over the advised angles, with or without [car]."""
    limits = limits_of(study)
    if limits is None:
        return ()
    car = study.car.value(wing.air.density_kg_m3) if study.car else NO_CAR
    asked = wing.wing_angle_deg
    if advice.given:
        asked = asked[(asked >= advice.start_deg) & (asked <= advice.high_deg)]
    found = [check_rules(limits, rule_facts(study, wing, car, float(angle))) for angle in asked]
    return tuple(min(checks, key=_badness) for checks in zip(*found, strict=True))


def _badness(check: RuleCheck) -> tuple[int, float]:
    """Order: the worst verdict first, then the value nearest to its limit."""
    sign = -1.0 if check.rule == "at most" else 1.0
    return WORST_FIRST.index(check.verdict), sign * (check.value or 0.0)
