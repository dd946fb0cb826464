"""Lessons about the air: pressure, stall, speed, endplates, ground, tab."""

from dataclasses import replace
from typing import Any

import numpy as np

from wingtool.geometry import repanel
from wingtool.panels import solve
from wingtool.section import TAB_LIFT_BAND
from wingtool.study.advice import Advice, stall_angle_deg
from wingtool.study.lessons.flow import air_paths, pull_share, to_picture, with_separated_region
from wingtool.study.lessons.lesson import Basis, Lesson, lesson_of
from wingtool.study.result import StudyResult
from wingtool.units import M_S_PER_KM_H, M_S_PER_MPH, METRE_PER_INCH, NEWTON_PER_LBF, DisplayUnits
from wingtool.wing import Endplate, WingPolar, solve_wing

GROUND_HEIGHTS = (2.0, 0.25)  # chords
GROUND_ANGLE_DEG = 2.0
STRIP = 5  # pictures in the strip of angles
TAB_CHORD = 0.01
LEAST_WORTH_DEG = 0.1  # less cannot be set
PER_CENT = 100.0


def shown_index(result: StudyResult) -> int:
    """Column of the last advised angle, where the wing works; of the most lift when none is advised."""
    wing = result.wing
    if result.advice.given:
        return wing.nearest_angle(result.advice.high_deg)
    return int(np.nanargmax(np.where(np.isfinite(wing.CL), wing.CL, -np.inf)[-1]))


def in_free_air(result: StudyResult, endplate: Endplate | None) -> WingPolar:
    """The study's wing with these plates at the last advised angle and middle speed, away from the roof."""
    full = result.wing
    angle, speed = full.wing_angle_deg[[shown_index(result)]], full.speed_m_s[full.middle_speed]
    return solve_wing(replace(full.wing, endplate=endplate), result.polars[0], angle, [speed], full.air)


def pressure(basis: Basis) -> Lesson:
    """Why air pulls from below."""
    result, flow = basis.result, basis.result.flow
    if result.advice.given:  # the last advised angle: at the first the upper side may pull as well
        column = shown_index(result)
        alpha = float(result.wing.strip_alpha_deg[-1, column, result.wing.middle_strip])
        flow = solve([repanel(result.section, 200).xy], alpha) if np.isfinite(alpha) else flow
    share = min(PER_CENT * pull_share(flow), PER_CENT)
    data = {"paths": air_paths(flow), "share": share}
    return lesson_of(
        "pressure", data, share=share, section=result.section.name, alpha_deg=float(flow.alpha_deg[0])
    )


def stall(basis: Basis) -> Lesson:
    """What happens when the angle grows too far."""
    result = basis.result
    polar = result.polars[0]
    row = len(polar.reynolds) // 2
    cl, alpha = polar.cl[row], polar.alpha_deg
    top = _top(polar, row)
    last = int(np.flatnonzero(np.isfinite(cl))[-1])
    after = _stalled(cl, top, last)
    chosen = np.unique(np.linspace(max(top - 12, 0), top, STRIP - 1).round().astype(int).tolist() + [after])
    xy = repanel(result.section, 160).xy
    flow = solve([xy], alpha[chosen])
    past = solve([with_separated_region(xy, float(alpha[after]))], alpha[[after]])
    fall = PER_CENT * (1.0 - cl[after] / cl[top])
    drag_times = polar.cd[row] / polar.cd[row][top]
    frames = [
        {
            "paths": air_paths(past) if m > top else air_paths(flow, k),
            "outline": to_picture(xy, float(alpha[m])),
            "cl": float(cl[m]),
            "drag_times": float(drag_times[m]),
            "alpha_deg": float(alpha[m]),
            "stalled": m > top,
        }
        for k, m in enumerate(chosen)
    ]
    return lesson_of(
        "stall", {"frames": frames}, best_deg=alpha[top], after_deg=alpha[after], fall=max(fall, 0.0),
        drag_times=drag_times[after], on_car=_stall_on_car(result.advice),
        **_section_facts(basis, polar.reynolds[row]),
    )  # fmt: skip


def _stall_on_car(advice: Advice) -> str:
    """Why the wing's own stall, as `run` tells it, is another angle than the section's."""
    if not np.isfinite(advice.stall_deg):
        return ""
    roof = round(advice.roof_deg, 1)
    met = f" ({round(advice.stall_deg, 1) + roof:.1f}° to the air behind the roof)" if roof else ""
    return f" The wing's tips turn the air too: on the car it stalls at {advice.stall_deg:.1f}°{met}."


def _stalled(cl: np.ndarray, top: int, last: int) -> int:
    """Row within eight past the best at which least lift is left: the picture that makes the point."""
    past = np.arange(top + 1, min(top + 8, last) + 1)
    good = past[np.isfinite(cl[past])] if past.size else past
    return int(good[np.argmin(cl[good])]) if good.size else last


def speed(basis: Basis) -> Lesson:
    """Force and the square of speed."""
    result = basis.result
    wing, units, m = result.wing, result.study.units, shown_index(result)
    area = wing.downforce.n[:, m] / wing.air.dynamic_pressure_pa(wing.speed_m_s)
    good = np.isfinite(area)
    miles = units.speed == "mph"
    shown = np.array([30.0, 60.0, 90.0, 120.0] if miles else [50.0, 100.0, 150.0, 200.0])
    speeds = shown * (M_S_PER_MPH if miles else M_S_PER_KM_H)
    inside = np.clip(speeds, wing.speed_m_s[good][0], wing.speed_m_s[good][-1])
    forces = np.interp(inside, wing.speed_m_s[good], area[good]) * wing.air.dynamic_pressure_pa(speeds)
    return lesson_of(
        "speed", {"speeds_m_s": speeds, "forces_n": forces, "units": units}, slow=shown[1], fast=shown[3],
        unit=units.speed, slow_force=newton(forces[1], units), fast_force=newton(forces[3], units),
        angle_deg=wing.wing_angle_deg[m],
    )  # fmt: skip


def newton(value: float, units: DisplayUnits) -> str:
    """A force for the crew, to two figures, in the study's own unit first."""
    own, other = (NEWTON_PER_LBF, 1.0) if units.force == "lbf" else (1.0, NEWTON_PER_LBF)
    shown = float(f"{value / own:.2g}")  # the other unit from this, so that the two agree
    named = {1.0: "N", NEWTON_PER_LBF: "lbf"}
    return f"{shown:g} {named[own]} ({float(f'{shown * own / other:.2g}'):g} {named[other]})"


def plates(basis: Basis) -> Lesson:
    """Short wings leak at the ends; plates help."""
    result, units = basis.result, basis.result.study.units
    full = result.wing
    plate = full.wing.endplate or Endplate(height_m=0.8 * full.wing.chord_m)
    cases = {}
    for name, end in (("with plates", plate), ("without", None)):
        wing = in_free_air(result, end)
        own = wing.strip_plane == 0
        cases[name] = {
            "y_m": wing.strip_y_m[own],
            "load_n_m": wing.strip_load_n_m[0, 0, own],
            "downforce_n": float(wing.downforce.n[0, 0]),
            "induced_n": float(wing.drag.n[0, 0] * wing.CD_induced[0, 0] / wing.CD[0, 0]),
        }
    with_plates, without = cases["with plates"], cases["without"]
    gain = PER_CENT * (with_plates["downforce_n"] / without["downforce_n"] - 1.0)
    swirl = with_plates["induced_n"]  # grows with the square of the lift, so at equal downforce:
    bare = without["induced_n"] * (with_plates["downforce_n"] / without["downforce_n"]) ** 2
    speed_m_s = wing.speed_m_s[0]
    return lesson_of(
        "plates", {"cases": cases, "units": units}, gain=gain,
        swirl=newton(swirl, units), bare=newton(bare, units), angle_deg=wing.wing_angle_deg[0],
        mph=speed_m_s / M_S_PER_MPH, km_h=speed_m_s / M_S_PER_KM_H, span_m=full.wing.span_m,
        span_in=full.wing.span_m / METRE_PER_INCH, plate_in=plate.height_m / METRE_PER_INCH,
        plate_mm=1000 * plate.height_m,
    )  # fmt: skip


def ground(basis: Basis) -> Lesson:
    """What the road does to a wing close to it."""
    xy = repanel(basis.result.section, 160).xy
    flows = [solve([xy], GROUND_ANGLE_DEG, ground_height=height) for height in GROUND_HEIGHTS]
    free = float(solve([xy], GROUND_ANGLE_DEG).cl[0, 0])
    gains = [float(flow.cl[0, 0]) / free for flow in flows]
    data = {"pictures": [air_paths(flow) for flow in flows], "gains": gains}
    more, name = PER_CENT * (gains[-1] - 1.0), basis.result.section.name
    return lesson_of("ground", data, more=more, section=name, alpha_deg=GROUND_ANGLE_DEG)


def tab(basis: Basis) -> Lesson:
    """A tab at the tail against more angle, by the study's own wings with other tabs."""
    wing, choice, tabs = basis.result.wing, basis.result.tab_choice, basis.result.tabs
    k, units = wing.middle_speed, basis.result.study.units
    heights_m = np.array([height_m for height_m, _ in tabs])
    other = int(np.abs(heights_m - TAB_CHORD * wing.wing.chord_m).argmin())
    lines = [(tabs[t][0], tabs[t][1].downforce.n[k]) for t in sorted({0, other})]
    data = {"angle_deg": wing.wing_angle_deg, "lines": lines, "worth": None, "units": units}
    answer = "Not computed: there is no other tab, or no angle is advised."
    if choice is not None:
        middle = len(choice.without_deg) // 2
        at, drag = float(choice.wing_angle_deg[other, middle]), choice.drag.n[[0, other], middle]
        degrees, more = float(choice.without_deg[middle]) - at, PER_CENT * (drag[1] / drag[0] - 1.0)
        answer = "Next to nothing, or not before this wing's most downforce: 0°."
        if degrees >= LEAST_WORTH_DEG:
            data["worth"] = (at, degrees, float(choice.wanted_n[middle]))
            low, high = (degrees * part for part in TAB_LIFT_BAND)
            answer = (
                f"About {degrees:.1f}° ({low:.1f} to {high:.1f}), in the middle of the advised range. At that"
                f" equal downforce the wing has {abs(more):.0f} per cent {'more' if more >= 0 else 'less'}"
                " drag with the tab than with the angle."
            )
    plain, tabbed = (stall_angle_deg(w.wing_angle_deg, w.stall_margin_deg) for _, w in (tabs[0], tabs[other]))
    stalls = ""
    if tabbed < plain:
        stalls = f"With this tab the wing stalls at {tabbed:.1f}° instead of {plain:.1f}°; its end angle"
        stalls += " falls by as much."
    speed_m_s = wing.speed_m_s[k]
    return lesson_of(
        "tab", data, worth=answer, stalls=stalls, mph=speed_m_s / M_S_PER_MPH, km_h=speed_m_s / M_S_PER_KM_H,
        **_section_facts(basis, float(wing.polars[0].reynolds[-1])),
    )  # fmt: skip


def _section_facts(basis: Basis, reynolds: float) -> dict[str, Any]:
    own = basis.result.polars[0]
    return {"section": basis.result.section.name, "method": own.method, "surface": own.surface,
            "millions": reynolds / 1e6}  # fmt: skip


def _top(polar, row: int) -> int:
    """Column of the greatest lift ahead of stall."""
    return int(np.argmin(np.abs(polar.alpha_deg - polar.stall()[0][row])))
