"""A comparison of studies on the screen and as a table."""

import math
from typing import Any

import numpy as np

from wingtool.report.page.car import cost_line
from wingtool.report.tables.table import Table, table_of
from wingtool.report.text import between, degrees, figures, force_scale, own_force, seconds, sentence, speed
from wingtool.study import Comparison
from wingtool.units import DisplayUnits
from wingtool.wing import Force


def comparison_lines(result: Comparison) -> tuple[tuple[str, ...], list[tuple[str, ...]], list[str]]:
    """Headings and rows for the screen, and the differences as sentences, cautions last."""
    from wingtool.study import BESIDE_FORCES, OTHER_CIRCUIT

    units = result.units
    down, drag = f"downforce {units.force}", f"drag {units.force}"
    headings = ("study", "angle", down, drag, "to stall", "front", "lap s")
    rows = [(f"{k}", *_row(side, force_scale(units))) for k, side in enumerate(result.sides, 1)]
    doubted = [f"NOT TRUSTWORTHY: {s.title}: outline: {text}" for s in result.sides for text in s.doubts]
    held = degrees(result.target) if result.equal == "angle" else own_force(result.target, units)
    lines = [sentence(text) for text in doubted]
    lines += [f"{k}: {side.title}" for k, side in enumerate(result.sides, 1)] + [
        "",
        f"At equal {result.equal}, {held}, and {speed(result.speed_m_s, units)};"
        f" against “{result.sides[0].title}”:",
    ]
    for d in result.differences:
        text = f"{_size(d.value, d.unit, units)} {units.force if d.unit == 'N' else d.unit}"
        text += f" ({_size(d.low, d.unit, units)} to {_size(d.high, d.unit, units)}): {d.words}"
        if np.isfinite(d.value) or d.words == OTHER_CIRCUIT:
            lines.append(f"  {d.title}: {d.quantity} {text if np.isfinite(d.value) else d.words}")
    if any(side.margin_is_least for side in result.sides):
        lines.append("  >: no stall was found, so much or more is left (give or take 0.5)")
    for side in result.sides:
        if (car := side.car) and car.cost:
            least_gain = car.lap.fitted.gain.low if car.lap else math.inf
            lines.append(f"  {side.title}: {cost_line(car.cost, least_gain, units)}")
    unknown = (side for side in result.sides if not np.isfinite(side.wing_angle_deg))
    lines += [f"  {side.title}: {side.status}" for side in unknown]
    past = (side for side in result.sides if side.past_stall or side.past_end)
    lines += [f"  ! {side.title}: {_past(side)}." for side in past]
    return headings, rows, lines + [f"  ! {caution.text}" for caution in BESIDE_FORCES]


def _past(side: Any) -> str:
    """What the setting of a study is past: its stall, the end of its advised angles, or both."""
    end = f"never beyond {degrees(side.end_deg)}" if np.isfinite(side.end_deg) else "no angle is advised"
    if side.past_stall:
        return f"{degrees(side.wing_angle_deg)} is past its stall ({end}): do not trust its numbers"
    return f"{degrees(side.wing_angle_deg)} is past its advised end ({end})"


def _size(value: float, unit: str, units: DisplayUnits) -> str:
    return seconds(value) if unit == "s" else figures(value / force_scale(units))


def _row(side: Any, scale: float) -> tuple[str, ...]:
    car = side.car
    front = lap = "–"
    if car is not None:
        front = f"{100 * car.left[0].front_share:.1f} %"
        lap = f"{car.lap.fitted.with_parts.lap_time_s[0]:.2f}" if car.lap else "–"
    down, drag = (
        f"{figures(force.n / scale)} ({between(force.low_n / scale, force.high_n / scale)})"
        if np.isfinite(force.n)
        else "–"
        for force in (side.downforce, side.drag)
    )
    left = ">" * side.margin_is_least + degrees(side.stall_margin_deg)
    return degrees(side.wing_angle_deg), down, drag, left, front, lap


def comparison_table(result: Comparison) -> Table:
    """One row a study."""
    values: dict[str, Any] = {
        "study": [side.title for side in result.sides],
        "wing_angle_deg": [side.wing_angle_deg for side in result.sides],
        "speed_m_s": [result.speed_m_s for _ in result.sides],
    }
    for name in ("downforce", "drag"):
        sides = np.array([list(getattr(side, name)) for side in result.sides]).T
        values |= Force(*sides).columns(name)
    values["stall_margin_deg"] = [side.stall_margin_deg for side in result.sides]
    values["front_share"] = [side.car.left[0].front_share if side.car else np.nan for side in result.sides]
    values["lap_time_s"] = [
        float(side.car.lap.fitted.with_parts.lap_time_s[0]) if side.car and side.car.lap else np.nan
        for side in result.sides
    ]
    values["cost"] = [side.car.cost.total if side.car and side.car.cost else np.nan for side in result.sides]
    values["status"] = [side.status for side in result.sides]
    facts = {"equal": result.equal, "target": result.target, "measure": result.sides[0].title}
    facts |= {
        f"{d.title}: {d.quantity} [{d.unit}]": f"{d.value:.6g} ({d.low:.6g} to {d.high:.6g}): {d.words}"
        for d in result.differences
    }
    return table_of("comparison", f"Studies at equal {result.equal}", values, facts)
