"""How far the wing reaches up and aft at its set angle: elements, further planes, plates and tab included."""

import numpy as np

from wingtool.study.schema.study import Study
from wingtool.study.section.sweep import section_of
from wingtool.study.wing.finite_wing import flaps_of, named_section, wing_geometry
from wingtool.wing import Endplate, WingPolar

CHORD_LINE = np.array([[0.0, 0.0], [1.0, 0.0]])


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
