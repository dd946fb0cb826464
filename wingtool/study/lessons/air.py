"""Lessons about the air: pressure, stall, speed, endplates, ground, tab."""

from dataclasses import replace
from typing import Any

import numpy as np

from wingtool.errors import RangeError
from wingtool.geometry import repanel
from wingtool.panels import solve
from wingtool.section import polar
from wingtool.study.lessons.flow import air_paths, pull_share, to_picture, with_separated_region
from wingtool.study.lessons.lesson import Basis, Lesson
from wingtool.study.result import StudyResult
from wingtool.units import M_S_PER_KM_H, M_S_PER_MPH, METRE_PER_INCH, NEWTON_PER_LBF, DisplayUnits
from wingtool.wing import Endplate, WingPolar, solve_wing

GROUND_HEIGHTS = (2.0, 0.25)
NO_FRICTION = "Computed without friction around section {name}, seen from the side."
STRIP = 5  # pictures in the strip of angles
TAB_CHORD = 0.01
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
    return Lesson(
        topic="pressure",
        title="The wing is pulled down from below",
        sentences=(
            "Air that must hurry around the bulge under the wing has less pressure left to push with.",
            "Below the wing it pulls, above the wing it presses, and the two add up to downforce.",
            "So keep the underside clean first: dirt, rivets and stands below cost more than those on top.",
        ),
        question="How much of the downforce is pull from below, in per cent, beside the push from above?",
        answer=f"About {share:.0f} per cent is pull from below.",
        by_hand="Let the back of a spoon touch a tap's stream: the water bends round it and pulls.",
        origin=NO_FRICTION.format(name=basis.result.section.name)
        + f" Section at {float(flow.alpha_deg[0]):.1f}° to the air that meets it.",
        data={"paths": air_paths(flow), "share": share},
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
    return Lesson(
        topic="stall",
        title="More angle, more grip, until the flow separates",
        sentences=(
            "Each degree adds about as much downforce as the last, while the air follows the underside.",
            "Past a certain angle the flow separates from the underside, the pull fades and the drag jumps.",
            "To the driver it comes all at once, in the fastest corner, so stay a few degrees below.",
        ),
        question="At which angle to the oncoming air does our wing's section give the most?",
        answer=f"At about {alpha[top]:.0f}°. At {alpha[after]:.0f}° {max(fall, 0.0):.0f} per cent of it is"
        f" gone and the drag is {drag_times[after]:.1f} times as large.",
        by_hand="Tape wool tufts under the wing. In a fan's stream turn it up slowly: tufts at the tail"
        " flutter first.",
        origin=f"Section {result.section.name}, {polar.method} method, Reynolds number "
        f"{polar.reynolds[row] / 1e6:.2f} million, surface {polar.surface}. The lines of air are drawn "
        "without friction; the separated region is a sketch, the lines go around it.",
        data={"frames": frames},
        caution="Stall is a sudden loss of rear grip. Raise the angle in small steps, on a closed course.",
    )


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
    return Lesson(
        topic="speed",
        title="Double the speed, four times the force",
        sentences=(
            "Twice as fast, the wing meets twice as much air each second and turns it twice as hard.",
            "So the force grows with the square of the speed: two times two is four.",
            "In slow corners the wing is only weight; in fast ones it works, and so do its mounts.",
        ),
        question=f"This wing makes {newton(forces[1], units)} at {shown[1]:.0f} {units.speed}. What does it"
        f" make at {shown[3]:.0f}?",
        answer=f"About {newton(forces[3], units)}: four times as much, and four times as much on the mounts.",
        by_hand="Flat hand in a fan's stream, on its low speed and on its high one: the push grows faster"
        " than the wind. Not out of a car's window.",
        origin=f"Wing at {wing.wing_angle_deg[m]:g}°, the last advised angle, from the study's own table;"
        " outside the table's speeds its nearest row is scaled.",
        data={"speeds_m_s": speeds, "forces_n": forces, "units": units},
    )


def newton(value: float, units: DisplayUnits) -> str:
    """A force for the crew, to two figures, in the study's own unit first."""
    metric, pounds = (f"{float(f'{value / one:.2g}'):g}" for one in (1.0, NEWTON_PER_LBF))
    return f"{pounds} lbf ({metric} N)" if units.force == "lbf" else f"{metric} N ({pounds} lbf)"


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
    return Lesson(
        topic="plates",
        title="A short wing leaks at its ends",
        sentences=(
            "Air slips around the tips from the pressing side to the pulling side, and the outer wing fades.",
            "The shorter the wing, the larger the share that leaks, and the swirl it leaves behind is drag.",
            "A plate at each end is a dam: more of the span works, and the swirl is weaker.",
        ),
        question="Same wing, same angle: how much more downforce do the endplates give, in per cent?",
        answer=f"About {gain:.0f} per cent more. For the same downforce the swirl costs"
        f" {newton(swirl, units)} with plates and {newton(bare, units)} without.",
        by_hand="Drag a playing card through a full sink, upright and tilted: watch the two whirls at"
        " its ends.",
        origin=f"Whole wing in undisturbed air at {wing.wing_angle_deg[0]:g}° and"
        f" {wing.speed_m_s[0] / M_S_PER_MPH:.0f} mph ({wing.speed_m_s[0] / M_S_PER_KM_H:.0f} km/h), span"
        f" {full.wing.span_m / METRE_PER_INCH:.1f} in ({full.wing.span_m:.2f} m), plates"
        f" {plate.height_m / METRE_PER_INCH:.1f} in ({1000 * plate.height_m:.0f} mm) high.",
        data={"cases": cases, "gain": gain, "units": units},
    )


def ground(basis: Basis) -> Lesson:
    """What the road does to a wing close to it."""
    xy = repanel(basis.result.section, 160).xy
    alpha = 2.0
    free = float(solve([xy], alpha).cl[0, 0])
    flows = [solve([xy], alpha, ground_height=h) for h in GROUND_HEIGHTS]
    heights = np.array([2.0, 1.5, 1.0, 0.75, 0.5, 0.4, 0.3, 0.25, 0.2])
    gains = np.array([float(solve([xy], alpha, ground_height=h).cl[0, 0]) / free for h in heights])
    low = gains[heights == GROUND_HEIGHTS[1]][0]
    return Lesson(
        topic="ground",
        title="The road squeezes the air",
        sentences=(
            "Close to the road the air under a wing must squeeze through a throat, so it hurries and"
            " pulls more.",
            "That is why a splitter works low, and why its force changes with every dive and bump.",
            "Too low, and friction blocks the throat: the pull collapses just when the nose is down.",
        ),
        question="A quarter of its chord above the road: how much more does the section give than high up?",
        answer=f"About {PER_CENT * (low - 1.0):.0f} per cent more, as long as the air follows.",
        by_hand="Hold two sheets of paper a finger apart and blow between them: they close.",
        origin=NO_FRICTION.format(name=basis.result.section.name)
        + f" Section at {alpha:g}°. Measured single wings gave most at about a tenth of the chord and lost "
        "force below it (Zerihan and Zhang, Journal of Aircraft 37(6), 2000, abstract).",
        data={"pictures": [air_paths(flow) for flow in flows], "heights": heights, "gains": gains},
        caution="Check the gap under braking, roll and load, not in the garage.",
    )


def tab(basis: Basis) -> Lesson:
    """A tab at the tail against more angle."""
    own = basis.result.polars[0]
    row = len(own.reynolds) // 2
    reynolds = float(own.reynolds[row])
    common: dict[str, Any] = {"surface": own.surface, "trip_x": own.trip_x, "method": own.method}
    plain = polar(basis.result.section, [reynolds], own.alpha_deg, **common)
    data: dict[str, Any] = {"plain": plain, "tabbed": None, "worth": None}
    try:
        tabbed = polar(basis.result.section, [reynolds], own.alpha_deg, tab_chord=TAB_CHORD, **common)
        data |= {"tabbed": tabbed, "worth": _worth(plain, tabbed)}
        answer = _tab_answer(plain, tabbed, data["worth"])
    except RangeError as error:
        answer = f"Not computed: {error}."
    return Lesson(
        topic="tab",
        title="A small tab or more angle",
        sentences=(
            "A low strip along the top of the tail edge, standing up into the air, turns the air further.",
            "It adds downforce at the same angle, and it costs drag; so does more angle.",
            "Use the tab when the wing is near its best angle already, more angle while there is room.",
        ),
        question="A tab of one per cent of the chord: how many degrees of angle is it worth?",
        answer=answer,
        by_hand="Tape a strip of card upright along the tail of a model wing on a kitchen scale, in a"
        " fan's stream.",
        origin=f"Section {basis.result.section.name}, {own.method} method, Reynolds number"
        f" {reynolds / 1e6:.2f} million, surface {own.surface}.",
        data=data,
    )


def _top(polar, row: int) -> int:
    """Column of the greatest lift ahead of stall."""
    return int(np.argmin(np.abs(polar.alpha_deg - polar.stall()[0][row])))


def _worth(plain, tabbed) -> tuple[float, float, float] | None:
    """Angle [deg], degrees that the tab is worth there, lift coefficient; None for next to nothing."""
    cl, other = plain.cl[0], tabbed.cl[0]
    top = _top(plain, 0)
    part = np.isfinite(cl) & np.isfinite(other) & (np.arange(len(cl)) <= top)
    m = int(np.argmin(np.where(part, np.abs(cl - 0.6 * cl[top]), np.inf)))
    same = float(np.interp(other[m], np.maximum.accumulate(cl[part]), plain.alpha_deg[part]))
    at = float(plain.alpha_deg[m])
    return (at, same - at, float(other[m])) if same - at >= 0.1 else None


def _tab_answer(plain, tabbed, worth: tuple[float, float, float] | None) -> str:
    if worth is None:
        return "Next to nothing by this method, which does not know the tab well."
    at, degrees, cl = worth
    drag, tab_drag = (
        float(np.interp(angle, polar.alpha_deg, polar.cd[0]))
        for angle, polar in ((at + degrees, plain), (at, tabbed))
    )
    more = PER_CENT * (tab_drag / drag - 1.0)
    word = "more" if more >= 0 else "less"
    return (
        f"About {degrees:.1f}°, well below the stall. At that equal downforce the section has"
        f" {abs(more):.0f} per cent {word} drag with the tab than with the angle."
    )
