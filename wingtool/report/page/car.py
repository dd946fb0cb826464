"""What stands on a study's page about the car: answers, the see-saw, where on the lap the time is."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.report.car_text import fixing_words, front_lines
from wingtool.report.page.svg import WIDTH, Frame, axes, band, box, curve, picture, segment, shape, word
from wingtool.report.text import between, degrees, figures, force, length, seconds, sentence, speed

if TYPE_CHECKING:
    from wingtool.study import CarResult

TILT_PER_PERCENT_DEG = 2.2  # drawn steeper than it is, so that 1 % is seen
MOST_TILT_DEG = 13.0
EVEN_SHARE = 0.005  # of the load: what counts as the balance of the bare car
LEAST_TOLD_S = 0.005  # what a hundredth of a second still shows
PLAIN_NAMES = {"nothing": "all parts on", "all parts": "bare car"}


def car_content(car: CarResult) -> list[dict[str, Any]]:
    """Blocks of the car's answer: heading, sentences, and the cautions that belong to them."""
    blocks = [
        ("Balance", _balance(car), ("balance",)),
        ("Front end, clearance, springs", front_lines(car), ("front", "springs")),
        ("Straights, corners, lap", _time(car), ("oil",)),
        ("Mounts", _mounts(car), ("mounts",)),
        ("Rules and cost", _rules(car), ("rules",)),
        ("How far to trust the car's numbers", list(car.car.notes), ("car",)),
    ]
    told = [
        {
            "heading": heading,
            "lines": [sentence(line) for line in lines],
            "cautions": [sentence(text) for place, text in car.cautions if place in places],
        }
        for heading, lines, places in blocks
    ]
    return [block for block in told if block["lines"] or block["cautions"]]


def _balance(car: CarResult) -> list[str]:
    q = 0.5 * car.density_kg_m3 * car.reference_speed_m_s**2
    wing, ends = car.wing_set, car.wing_ends
    rear, front = (
        f"{force(q * float(getattr(wing, name)))} on the {axle},"
        f" somewhere in {between(*sorted(q * float(getattr(end, name)) for end in ends))} N"
        for name, axle in (("cla_rear_m2", "rear axle"), ("cla_front_m2", "front"))
    )
    lines = [
        f"At {speed(car.reference_speed_m_s)} the wing alone, at {degrees(car.set_angle_deg)}, puts {rear},"
        f" and {front}"
    ]
    for case in car.left:
        name = PLAIN_NAMES.get(case.lost_part, f"{case.lost_part} gone")
        band = _share_band(car) if case.lost_part == "nothing" else ""
        lines.append(f"{name}: {100 * case.front_share:.1f} % on the front{band}; {case.words}")
    return lines


def _share_band(car: CarResult) -> str:
    """How far the balance with all parts may be out, and whether that reaches from one side to the other."""
    low, high = car.front_share_band
    bare = car.left[-1].front_share
    both = low < bare - EVEN_SHARE and high > bare + EVEN_SHARE
    reach = ", from understeer to oversteer when fast" if both else ""
    return f" ({100 * low:.1f} to {100 * high:.1f} % by the bands of wing and front parts{reach})"


def _time(car: CarResult) -> list[str]:
    lines = [f"the drag {car.straight.words}"]
    corners = car.corners
    starts = ((corners.break_even_m_s, "as fitted"), (corners.break_even_retuned_m_s, "retuned"))
    felt = [f"{speed(start)} {how}" for start, how in starts if math.isfinite(start)]
    if felt:
        lines.append(f"the parts add no grip that a driver feels below about {', '.join(felt)}")
    if car.lap is not None:
        lines += _lap(car.lap)
    return lines


def _lap(lap: Any) -> list[str]:
    gain = lap.difference.total_s
    change = "faster" if gain >= 0 else "slower"
    ends = sorted((lap.gain_low_s, lap.gain_high_s))
    much = seconds(abs(gain)) if abs(gain) >= LEAST_TOLD_S else "less than 0.01"
    lines = [
        f"{lap.circuit.name}: {much} s a lap {change} ({' to '.join(map(seconds, ends))} s gained)"
        f" of {lap.without.lap_time_s[0]:.1f} s as fitted, {seconds(lap.gain_retuned_s)} s gained retuned"
        " (as fitted, the axle that gains less sets the corner's speed; retuned, springs and bars are set so"
        " that both axles give up together)"
    ]
    parts = sorted(lap.difference.parts, key=lambda part: part.gain_s)
    for part, verb in ((parts[-1], "most is gained at"), (parts[0], "most is lost at")):
        if abs(part.gain_s) >= LEAST_TOLD_S and (part.gain_s > 0) == (verb == "most is gained at"):
            lines.append(f"{verb} {part.name}: {seconds(abs(part.gain_s))} s")
    for best in lap.best:
        if not math.isfinite(best.best_deg):
            lines.append(f"best angle {best.name}: none, no angle of the table keeps the margin to the stall")
            continue
        edge = " (the first or last angle that keeps it)" if best.at_edge else ""
        lines.append(
            f"best angle {best.name}, margin to the stall kept: {degrees(best.best_deg)}{edge};"
            f" from {degrees(best.flat_from_deg)} to {degrees(best.flat_to_deg)}"
            f" the lap is within {best.within_s:g} s of it"
        )
    retuned = [b for b in lap.best_tabs if b.name.endswith("retuned") and math.isfinite(b.best_deg)]
    if retuned:
        told = [f"{b.name.split(',')[0]} {degrees(b.best_deg)} and {b.best_time_s:.2f} s" for b in retuned]
        lines.append(f"best angle and lap for each tab, retuned, margin to the stall kept: {'; '.join(told)}")
    return lines


def _mounts(car: CarResult) -> list[str]:
    if car.mounts is None:
        return []
    one, fixing = car.mounts, car.mounts.mounts
    lines = [
        f"worst case, gust and kerb counted: each foot carries {force(one.down_n)} down and a moment of"
        f" {figures(one.moment_nm)} N m; each bolt pulls {force(one.bolt_tension_n)},"
        f" with {fixing_words(fixing)}"
        " ([mounts] bolts_per_foot and bolt_rows: fewer bolts or closer rows pull harder)"
    ]
    if car.proof is not None:
        lines += [car.proof.text, _bags(car.proof)]
    return lines


def _bags(proof: Any) -> str:
    """The bags that the recipe speaks of."""
    masses = ", ".join(f"{kg:g}" for kg in proof.bag_kg)
    places = ", ".join(f"{1e3 * y:.0f}".replace("-", "−") for y in proof.station_y_m)
    return (
        f"the bags, left to right: {masses} kg, {proof.bag_kg.sum():g} kg in all;"
        f" their middles {places} mm from the middle of the span"
    )


def _rules(car: CarResult) -> list[str]:
    lines = [_rule(check) for check in car.rules]
    low = car.lap.gain_low_s if car.lap else math.inf
    return lines + ([cost_line(car.cost, low)] if car.cost else [])


def cost_line(cost: Any, gain_low_s: float = math.inf) -> str:
    """What the parts cost and what that buys; a word where the low end of the lap's gain buys nothing."""
    text = f"parts cost {cost.total:.0f} {cost.currency}"
    if cost.per_tenth_second is not None:
        text += f", {figures(cost.per_tenth_second)} {cost.currency} for each tenth of a second a lap"
        if gain_low_s <= 0.0:
            text += " (its band includes zero: they may gain no time at all)"
    if cost.per_kg_downforce is not None:
        text += (
            f", {figures(cost.per_kg_downforce)} {cost.currency} for each kg of downforce"
            f" at {speed(cost.downforce_speed_m_s)}"
        )
    return text


def _rule(check: Any) -> str:
    def size(value: float) -> str:
        return f"{value:.3g} m²" if check.measure.endswith("_area") else length(value)

    is_it = "" if check.value is None else f", is {size(check.value)}"
    return f"{check.measure.replace('_', ' ')}: {check.verdict}; {check.rule} {size(check.limit)}{is_it}"


def see_saw(car: CarResult) -> str:
    """One plank for each case: it dips at the axle that has grown heavier against the bare car."""
    cases = [case for case in car.left if case.lost_part != "all parts"]
    parts, step = [], 84.0
    for k, case in enumerate(cases):
        parts.append(_plank(case, 50.0 + k * step))
    told = "; ".join(
        f"{PLAIN_NAMES.get(c.lost_part, c.lost_part + ' gone')}: {_towards(c.shift_percent, ' per cent')}"
        for c in cases
    )
    return picture(parts, 6.0 + step * len(cases), "The see-saw of the car", told)


def _towards(shift_percent: float, unit: str) -> str:
    axle = "front" if shift_percent >= 0.0 else "rear"
    return f"{abs(shift_percent):.1f}{unit} to the {axle}"


def _plank(case, y: float) -> str:
    tilt = np.radians(np.clip(case.shift_percent * TILT_PER_PERCENT_DEG, -MOST_TILT_DEG, MOST_TILT_DEG))
    middle, half = 0.5 * WIDTH, 108.0
    dx, dy = half * np.cos(tilt), half * np.sin(tilt)
    name = PLAIN_NAMES.get(case.lost_part, f"{case.lost_part} gone")
    return "".join(
        [
            shape(np.array([middle, middle - 11, middle + 11]), np.array([y + 3, y + 20, y + 20]), "body"),
            segment(middle - dx, y + dy, middle + dx, y - dy, "plank"),
            *(_wheel(middle + side * dx, y - side * dy) for side in (-1, 1)),
            word(8, y - 37, name, "start", "strong"),
            word(WIDTH - 8, y - 37, _towards(case.shift_percent, " %"), "end"),
            word(middle - 42, y + 20, "front", "middle"),
            word(middle + 42, y + 20, "rear", "middle"),
        ]
    )


def _wheel(x: float, y: float) -> str:
    return f'<circle class="solid" cx="{x:.1f}" cy="{y - 9:.1f}" r="8"/>'


def lap_trace(lap: Any) -> str:
    """Time gained since the line over the lap; corners shaded, the largest gains and losses named."""
    x, gain = lap.difference.distance_m, lap.difference.gain_s
    keep = np.unique(np.linspace(0, len(x) - 1, 240).astype(int))
    low, high = min(0.0, float(gain.min())), max(0.0, float(gain.max()))
    room = 0.15 * max(high - low, 0.01)
    frame = Frame((0.0, float(x[-1])), (low - room, high + room), top=22, height=150)
    parts = _corners(lap, frame)
    parts.append(axes(frame, "distance along the lap [m]", "seconds gained since the line"))
    parts.append(curve(frame, x[keep], gain[keep], "one"))
    parts.append(band(frame, x[keep], np.minimum(gain[keep], 0), np.maximum(gain[keep], 0), "one"))
    biggest = sorted(lap.difference.parts, key=lambda part: -abs(part.gain_s))[:3]
    told = "; ".join(f"{part.name} {seconds(part.gain_s)} s" for part in biggest)
    return picture(parts, 212, "Where on the lap the time is", told)


def _corners(lap: Any, frame: Frame) -> list[str]:
    circuit, parts = lap.circuit, []
    edges = np.flatnonzero(np.diff(circuit.part)) + 1
    for first, last in zip(np.r_[0, edges], np.r_[edges, len(circuit.part)], strict=True):
        if np.median(circuit.curvature_1_m[first:last]) > 1.0 / 1000.0:
            left, _ = frame.at(first * circuit.step_m, 0.0)
            right, _ = frame.at(last * circuit.step_m, 0.0)
            parts.append(box(left, frame.top, right - left, frame.height, "margin"))
    return parts


def car_figures(car: CarResult) -> list[tuple[str, str, str]]:
    """Pictures of the car with title and sentence."""
    found = [
        (
            see_saw(car),
            "The see-saw",
            f"At {speed(car.reference_speed_m_s)}, against the bare car; tilt exaggerated. Know what is left"
            " if one part comes off.",
        )
    ]
    if car.lap is not None:
        found.append(
            (
                lap_trace(car.lap),
                "Where on the lap the time is",
                "Shaded: corners. Rising: the parts gain; falling: their drag costs.",
            )
        )
    return found
