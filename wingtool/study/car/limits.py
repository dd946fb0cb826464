"""How far the wing reaches up and aft at an angle, plates and tab included, and what the limits say of it."""

from math import inf

import numpy as np

from wingtool.car import Car, Limits, RuleCheck, check_rules
from wingtool.study.advice import Advice
from wingtool.study.schema.study import Study
from wingtool.study.section.sweep import section_of
from wingtool.study.wing.finite_wing import flaps_of, named_section, wing_geometry
from wingtool.wing import Endplate, WingPolar

CHORD_LINE = np.array([[0.0, 0.0], [1.0, 0.0]])
WORST_FIRST = ("fail", "not checked", "pass")


def reach_m(study: Study, wing: WingPolar, angle_deg: float) -> tuple[float, float]:
    """Highest point above the wing's lowest and rearmost point aft of the centre's quarter chord [m].

    Elements turn with the main one, further planes each about its own quarter chord. Plates are counted both
    as they stand level and turned with the wing, whichever reaches further: how they are fixed is not said.
    """
    plan, table = wing_geometry(study), study.wing
    tip_chord = float(plan.chord_at(np.ones(1))[0])
    chord, half = max(plan.chord_m, tip_chord), plan.span_m / 2
    twists = plan.twist_deg_at(np.linspace(0.0, 1.0, 21))
    outlines = _outlines(study, wing)
    reach = [_turned(xy * chord, chord, angle_deg + float(t)) for t in np.unique(twists) for xy in outlines]
    lowest = min(float(up.min()) for _, up in reach)
    if table.tab_m:
        reach.append(_turned(np.array([[chord, -table.tab_m]]), chord, angle_deg))
    if plan.endplate:
        corners = _corners(plan.endplate, tip_chord)
        reach += [_turned(corners, tip_chord, turn) for turn in (0.0, angle_deg + float(twists[-1]))]
    for plane in table.plane:
        outline = section_of(plane.section, study.folder).xy * plane.chord_m
        aft, up = _turned(outline, plane.chord_m, angle_deg + plane.angle_deg)
        reach.append((aft + plane.behind_m + (plane.chord_m - plan.chord_m) / 4, up + plane.above_m))
    tips = abs(np.tan(np.radians(plan.dihedral_deg))) * half
    swept = max(float(plan.leading_edge_m_at(np.ones(1))[0]) + 0.25 * (tip_chord - plan.chord_m), 0.0)
    top, rear = (max(float(one[i].max()) for one in reach) for i in (1, 0))
    return top - lowest + tips, rear + swept


def lowest_m(study: Study, wing: WingPolar, angle_deg: float) -> float:
    """Lowest point of wing and plates above the ground [m]; plates level or turned, whichever is lower."""
    plate, tip_chord = wing.wing.endplate, float(wing.wing.chord_at(np.ones(1))[0])
    if plate is None:
        return study.wing.height_m
    own = min(
        float(_turned(xy * wing.wing.chord_m, wing.wing.chord_m, angle_deg)[1].min())
        for xy in _outlines(study, wing)
    )
    corners = _corners(plate, tip_chord)
    plates = min(float(_turned(corners, tip_chord, turn)[1].min()) for turn in (0.0, angle_deg))
    return study.wing.height_m + min(0.0, plates - own)


def _outlines(study: Study, wing: WingPolar) -> tuple[np.ndarray, ...]:
    """Outline of each element over the main chord, lifting upwards; the chord line without coordinates."""
    from wingtool.section import place_elements

    section = wing.polars[0].section
    if study.wing.element:
        return place_elements(named_section(study, study.wing.section), flaps_of(study))
    return (CHORD_LINE if section is None else section.xy,)


def _turned(xy: np.ndarray, chord_m: float, angle_deg: float) -> tuple[np.ndarray, np.ndarray]:
    """Aft of and above the quarter chord of points on a section that lifts upwards, turned over and set."""
    x, z, angle = xy[:, 0] - 0.25 * chord_m, -xy[:, 1], np.radians(angle_deg)
    return x * np.cos(angle) - z * np.sin(angle), x * np.sin(angle) + z * np.cos(angle)


def _corners(plate: Endplate, tip_chord_m: float) -> np.ndarray:
    """Edge of a plate in the frame of a section that lifts upwards."""
    z = np.linspace(plate.bottom_m, plate.top_m, 41)
    front, rear = plate.edges_m(z, tip_chord_m)
    return np.column_stack([np.r_[front, rear], -np.r_[z, z]])


def plate_area_m2(plate: Endplate, tip_chord_m: float) -> float:
    """One side of one plate [m^2]."""
    z = np.unique(np.r_[np.linspace(plate.bottom_m, plate.top_m, 41), [row[0] for row in plate.outline_m]])
    front, rear = plate.edges_m(z, tip_chord_m)
    return float(np.trapezoid(rear - front, z))


def rule_facts(study: Study, wing: WingPolar, angle_deg: float) -> dict[str, float | None]:
    """The study's value of every measure that rules limit, SI; None where it has none.

    Rules differ in how they measure the chord of several elements, so chord and area are then not checked.
    """
    plan, plate = wing.wing, wing.wing.endplate
    over, aft = reach_m(study, wing, angle_deg)
    top = study.wing.height_m + over
    roof_m = study.car.roof_height_m if study.car else None
    mounts, splitter, dam = study.mounts, study.splitter, study.air_dam
    single = not study.wing.element
    planes = [(plane.span_m or plan.span_m, plane.chord_m) for plane in study.wing.plane]
    chords = [float(np.max(plan.chord_at(np.linspace(0.0, 1.0, 21)))), *(chord for _, chord in planes)]
    return {
        "wing_span": max([plan.span_m, *(span for span, _ in planes)]),
        "wing_chord": max(chords) if single else None,
        "wing_area": plan.area_m2 + sum(span * chord for span, chord in planes) if single else None,
        "wing_top_height": top,
        "wing_over_roof": None if roof_m is None else top - roof_m,
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
    asked = wing.wing_angle_deg
    if advice.given:
        asked = asked[(asked >= advice.start_deg) & (asked <= advice.high_deg)]
    found = [check_rules(limits, rule_facts(study, wing, float(angle))) for angle in asked]
    return tuple(min(checks, key=_badness) for checks in zip(*found, strict=True))


def _badness(check: RuleCheck) -> tuple[int, float]:
    """Order: the worst verdict first, then the value nearest to its limit."""
    sign = -1.0 if check.rule == "at most" else 1.0
    return WORST_FIRST.index(check.verdict), sign * (check.value or 0.0)
