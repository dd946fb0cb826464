"""Pictures of the car on a study's page: balance with each part lost, time gained over the lap."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.report.page.car import case_name
from wingtool.report.page.svg import WIDTH, Frame, axes, band, box, curve, picture, segment, shape, word
from wingtool.report.text import seconds, speed

if TYPE_CHECKING:
    from wingtool.study import CarResult

TILT_PER_PERCENT_DEG = 2.2  # drawn steeper than it is, so that 1 % is seen
MOST_TILT_DEG = 13.0


def see_saw(car: CarResult) -> str:
    """One plank for each case: it dips at the axle that has grown heavier against the bare car."""
    cases = [case for case in car.left if case.lost_part != "all parts"]
    parts, step = [], 84.0
    for k, case in enumerate(cases):
        parts.append(_plank(case, 50.0 + k * step))
    told = "; ".join(f"{case_name(c.lost_part)}: {_towards(c.shift_percent, ' per cent')}" for c in cases)
    return picture(parts, 6.0 + step * len(cases), "The see-saw of the car", told)


def _towards(shift_percent: float, unit: str) -> str:
    axle = "front" if shift_percent >= 0.0 else "rear"
    return f"{abs(shift_percent):.1f}{unit} to the {axle}"


def _plank(case, y: float) -> str:
    tilt = np.radians(np.clip(case.shift_percent * TILT_PER_PERCENT_DEG, -MOST_TILT_DEG, MOST_TILT_DEG))
    middle, half = 0.5 * WIDTH, 108.0
    dx, dy = half * np.cos(tilt), half * np.sin(tilt)
    name = case_name(case.lost_part)
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
    x, gain = lap.fitted.difference.distance_m, lap.fitted.difference.gain_s
    keep = np.unique(np.linspace(0, len(x) - 1, 240).astype(int))
    low, high = min(0.0, float(gain.min())), max(0.0, float(gain.max()))
    room = 0.15 * max(high - low, 0.01)
    frame = Frame((0.0, float(x[-1])), (low - room, high + room), top=22, height=150)
    parts = _corners(lap, frame)
    parts.append(axes(frame, "distance along the lap [m]", "seconds gained since the line"))
    parts.append(curve(frame, x[keep], gain[keep], "one"))
    parts.append(band(frame, x[keep], np.minimum(gain[keep], 0), np.maximum(gain[keep], 0), "one"))
    biggest = sorted(lap.fitted.difference.parts, key=lambda part: -abs(part.gain_s))[:3]
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
