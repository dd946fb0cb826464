"""Pictures of the car on a study's page: balance with each part lost, time gained over the lap."""

from typing import Any

import numpy as np

from wingtool.car import BeamLoads, MountLoads, ProofRecipe
from wingtool.report.car_text import mass_unit, proof_bags
from wingtool.report.page import svg
from wingtool.report.page.car import LAP, case_name
from wingtool.report.text import distance_unit, speed, speed_scale
from wingtool.study import CarResult
from wingtool.units import DisplayUnits

TILT_PER_PERCENT_DEG = 2.2  # drawn steeper than it is, so that 1 % is seen
MOST_TILT_DEG = 13.0


def car_figures(car: CarResult, units: DisplayUnits) -> list[svg.Figure]:
    """Pictures of the car, each for the block whose numbers it shows, the most useful first."""
    found = [lap_over_angle(car.lap), lap_trace(car.lap, units)] if car.lap is not None else []
    found.append(see_saw(car, units))
    if car.proof and car.beam and car.mounts:
        found.append(bags_along_span(car.proof, car.beam, car.mounts, units))
    return found


def see_saw(car: CarResult, units: DisplayUnits) -> svg.Figure:
    """One plank for each case: it dips at the axle that has grown heavier against the bare car."""
    cases = [case for case in car.left if case.lost_part != "all parts"]
    step = 56.0
    parts = [_plank(case, 38.0 + k * step) for k, case in enumerate(cases)]
    parts += [svg.word(8, 42, "front", "start"), svg.word(svg.WIDTH - 8, 42, "rear", "end")]
    text = f"At {speed(car.reference_speed_m_s, units)}, against the bare car; tilt exaggerated."
    height, title = 4.0 + step * len(cases), "Balance if one part is lost"
    return svg.figure("see_saw", parts, height, title, text, "Balance")


def _plank(case, y: float) -> str:
    tilt = np.radians(np.clip(case.shift_percent * TILT_PER_PERCENT_DEG, -MOST_TILT_DEG, MOST_TILT_DEG))
    middle, half = 0.5 * svg.WIDTH, 108.0
    dx, dy = half * np.cos(tilt), half * np.sin(tilt)
    name, much = case_name(case.lost_part), f"{abs(case.shift_percent):.1f}"
    more = f"{much} % more on the {'front' if case.shift_percent > 0.0 else 'rear'}"
    return "".join(
        [
            svg.shape([middle, middle - 11, middle + 11], [y + 3, y + 20, y + 20], "body"),
            svg.segment(middle - dx, y + dy, middle + dx, y - dy, "plank"),
            *(svg.circle(middle + side * dx, y - side * dy - 9, 8, "solid") for side in (-1, 1)),
            svg.word(8, y - 25, name, "start", "strong"),
            svg.word(svg.WIDTH - 8, y - 25, "as the bare car" if much == "0.0" else more, "end"),
        ]
    )


def lap_trace(lap: Any, units: DisplayUnits) -> svg.Figure:
    """Speeds and time gained over the lap; corners shaded."""
    x, gain = lap.fitted.difference.distance_m, lap.fitted.difference.gain_s
    unit, scale = distance_unit(units)
    x = x / scale
    keep = np.unique(np.linspace(0, len(x) - 1, 240).astype(int))
    pair = (lap.fitted.without, "three"), (lap.fitted.with_parts, "one")
    speeds = [(kind, one.speed_m_s[0] / speed_scale(units)) for one, kind in pair]
    upper = svg.Frame((0.0, float(x[-1])), (0.0, 1.05 * max(v.max() for _, v in speeds)), top=22, height=62)
    low, high = min(0.0, float(gain.min())), max(0.0, float(gain.max()))
    room = 0.15 * max(high - low, 0.01)
    frame = svg.Frame((0.0, float(x[-1])), (low - room, high + room), top=138, height=84)
    parts = [
        *_corners(lap, upper, scale),
        svg.axes(upper, "", f"speed [{units.speed}]: solid with parts, dotted bare car"),
        *(svg.curve(upper, x[keep], v[keep], kind) for kind, v in speeds),
        *_corners(lap, frame, scale),
        svg.axes(frame, f"distance along the lap [{unit}]", "time gained since the start line [s]"),
        svg.curve(frame, x[keep], gain[keep], "one"),
        svg.band(frame, x[keep], np.minimum(gain[keep], 0), np.maximum(gain[keep], 0), "one"),
    ]
    text = "Shaded: corners. Rising: the parts gain time; falling: they lose it."
    return svg.figure("lap", parts, 262, "Where on the lap time is gained and lost", text, LAP)


def _corners(lap: Any, frame: svg.Frame, scale: float) -> list[str]:
    circuit, parts = lap.circuit, []
    edges = np.flatnonzero(np.diff(circuit.part)) + 1
    for first, last in zip(np.r_[0, edges], np.r_[edges, len(circuit.part)], strict=True):
        if np.median(circuit.curvature_1_m[first:last]) > 1.0 / 1000.0:
            left, _ = frame.at(first * circuit.step_m / scale, 0.0)
            right, _ = frame.at(last * circuit.step_m / scale, 0.0)
            parts.append(svg.box(left, frame.top, right - left, frame.height, "margin"))
    return parts


def lap_over_angle(lap: Any) -> svg.Figure:
    """Lap time over the angle for each front end or set-up and for the bare cars; a ring on the best."""
    bare = [pair.without.lap_time_s[:1] for pair in (lap.fitted, lap.retuned)]
    times = np.concatenate([best.lap_time_s for best in lap.best] + bare)
    angles = np.concatenate([best.wing_angle_deg for best in lap.best])
    low, high = float(np.nanmin(times)), float(np.nanmax(times))
    room = 0.08 * max(high - low, 0.1)
    frame = svg.Frame(
        (float(angles.min()), float(angles.max())), (low - room, high + room), top=22, height=120
    )
    parts = [svg.axes(frame, "wing angle [degrees]", "estimated lap time [s]")]
    for (time,), text in zip(bare, ("bare car as fitted", "bare car retuned"), strict=True):
        _, y = frame.at(frame.x[0], float(time))
        line = svg.segment(frame.left, y, frame.left + frame.width, y, "thin")
        parts += [line, svg.word(frame.left + 0.45 * frame.width, y - 4, text)]
    for kind, best in zip(svg.KINDS, lap.best, strict=False):
        parts.append(svg.curve(frame, best.wing_angle_deg, best.lap_time_s, kind))
        if np.isfinite(best.best_deg):
            x, y = frame.at(best.best_deg, best.best_time_s)
            parts.append(svg.circle(x, y, 6, f"line {kind}"))
    short = (best.name.removeprefix("with ").removesuffix(" to each angle") for best in lap.best)
    names = list(zip(svg.KINDS, short, strict=False))
    parts.append(svg.legend(names, frame.left, frame.top + frame.height + 46))
    height = frame.top + frame.height + 46 + 15 * len(names)
    text = "Ring: best angle that keeps the margin to the stall. Where the line is flat, run less angle."
    title = "The lap over the wing's angle"
    return svg.figure("lap_over_angle", parts, height, title, text, LAP)


def bags_along_span(
    proof: ProofRecipe, beam: BeamLoads, mounts: MountLoads, units: DisplayUnits
) -> svg.Figure:
    """The proof load: sandbags along the span seen from behind, with the stands below."""
    half = float(np.max(np.abs(beam.y_m)))
    scale = (svg.WIDTH - 40.0) / (2.0 * half)
    unit, _ = mass_unit(units)
    bags = proof_bags(proof, mounts, units)
    parts = [svg.box(20.0, 92.0, 2.0 * half * scale, 5.0, "section")]
    step = 2.0 * half * scale / max(len(proof.bag_kg), 1)
    last, lift = -np.inf, 4.0
    for y, mass in zip(proof.station_y_m, bags, strict=True):
        x, size = 0.5 * svg.WIDTH + float(y) * scale, 56.0 * mass / max(bags)
        lift = 18.0 if x - last < 36.0 and lift == 4.0 else 4.0  # a mass beside its neighbour's stands higher
        last = x
        parts.append(svg.box(x - 0.4 * step, 92.0 - size, 0.8 * step, size, "body"))
        parts.append(svg.word(x, 92.0 - size - lift, f"{mass:g}"))
    for y in beam.support_y_m:
        x = 0.5 * svg.WIDTH + float(y) * scale
        parts += [svg.segment(x, 97.0, x, 128.0, "plank"), svg.word(x, 142.0, "stand")]
    parts.append(svg.word(4, 14, f"{unit} of sand", "start"))
    text = "Seen from behind. Lower the bags gently, nobody under or beside the wing."
    return svg.figure("proof_load", parts, 150, "Proof-load the mounts first", text, "Mounts")
