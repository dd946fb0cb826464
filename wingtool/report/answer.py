"""The answer of a study on the terminal: one screen of 24 lines and 80 columns, or all of it."""

from __future__ import annotations

import math
from textwrap import wrap
from typing import TYPE_CHECKING

import numpy as np

from wingtool.report.degree_sum import degree_sum, gauge_words
from wingtool.report.page.car import car_content
from wingtool.report.text import (
    degrees,
    figures,
    force,
    force_band,
    own_force,
    own_speed,
    seconds,
    sentence,
    speed,
    speed_scale,
)
from wingtool.report.top_cautions import top_cautions
from wingtool.report.trace.text import traced_lines
from wingtool.study import RAISE_BY_DEG

if TYPE_CHECKING:
    from wingtool.study import CarResult, ForcesAtSpeed, StudyResult
    from wingtool.units import DisplayUnits

COLUMNS = 80
MOST_CAUTIONS = 3
MOST_LINES = 23  # of 24; the last names the page


def answer_lines(result: StudyResult) -> list[str]:
    """The first screen: angles, forces, balance, time, loads, rules, the cautions that matter most."""
    units = result.study.units
    lines = [result.study.title[:COLUMNS], *_angles(result)]
    if result.advice.forces:
        lines += _forces(result, units)
    if result.car:
        lines += _car(result, result.car, units)
    if result.rules:
        failed = [check.measure.replace("_", " ") for check in result.rules if check.verdict == "fail"]
        told = f"FAILED: {', '.join(failed)}" if failed else f"none of your {len(result.rules)} limits broken"
        lines += _labelled("RULES", f"{told} at any advised angle; no other is checked.")
    lines += _labelled("NOT TRUSTWORTHY", "; ".join(result.doubts)) if result.doubts else []
    for text in top_cautions(result)[:MOST_CAUTIONS]:
        rows = wrap(text, COLUMNS, initial_indent="! ", subsequent_indent="  ")[:2]
        lines += rows if len(lines) + len(rows) <= MOST_LINES else []
    return lines


def _angles(result: StudyResult) -> list[str]:
    advice = result.advice
    if not math.isfinite(advice.start_deg):
        return _labelled("ANGLE", "none can be advised")
    if advice.start_deg == advice.high_deg:
        first = f"{degrees(advice.start_deg)} and no other: never beyond it."
    else:
        first = (
            f"start at {degrees(advice.start_deg)}, raise it {degrees(RAISE_BY_DEG)} at a time, never beyond"
            f" {degrees(advice.high_deg)}."
        )
    lines = _labelled("ANGLE", first)
    lines += _labelled("", f"Start: {advice.starts_because}.")
    lines += _labelled("", f"End: {degree_sum(advice)}.")
    told = gauge_words(result)
    return lines + (_labelled("", sentence(told)) if told else [])


def _forces(result: StudyResult, units: DisplayUnits) -> list[str]:
    """Downforce at both ends of the advice and drag at the start, at three speeds."""
    advice, wing = result.advice, result.wing
    end = int(np.argmin(np.abs(wing.wing_angle_deg - advice.high_deg)))
    rows = [
        (
            "FORCES",
            f"down at {degrees(advice.start_deg)}",
            "band",
            "drag",
            f"down at {degrees(advice.high_deg)}",
            "band",
        )
    ]
    for one in advice.forces:
        k = int(np.argmin(np.abs(wing.speed_m_s - one.speed_m_s)))
        low, high = float(wing.downforce.low_n[k, end]), float(wing.downforce.high_n[k, end])
        rows.append(
            (
                own_speed(one.speed_m_s, units),
                own_force(one.downforce.n, units),
                force_band(one.downforce.low_n, one.downforce.high_n, units),
                own_force(one.drag.n, units),
                own_force(float(wing.downforce.n[k, end]), units),
                force_band(low, high, units),
            )
        )
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    return ["  ".join(text.rjust(width) for text, width in zip(row, widths, strict=True)) for row in rows]


def _car(result: StudyResult, car: CarResult, units: DisplayUnits) -> list[str]:
    low, high = car.share.low, car.share.high
    parts = [f"{100 * case.front_share:.1f} % without {case.lost_part}" for case in car.left[1:-1]]
    at = f"at {own_speed(car.reference_speed_m_s, units)} and {degrees(car.set_angle_deg)}"
    lines = _labelled(
        "BALANCE",
        f"{100 * car.left[0].front_share:.1f} % front ({100 * low:.1f} to {100 * high:.1f}) {at};"
        f" bare car {100 * car.left[-1].front_share:.1f} %; {', '.join(parts)}.",
    )
    lines += _time(result, car, units)
    if car.mounts is not None:
        one = car.mounts
        lines += _labelled(
            "LOADS",
            f"each foot up to {own_force(one.down_n, units)} down at {own_speed(one.speed_m_s, units)} and"
            f" {degrees(one.wing_angle_deg)}, gust and kerb in it; proof load"
            f" {own_force(one.proof_down_n, units)}.",
        )
    return lines


def _time(result: StudyResult, car: CarResult, units: DisplayUnits) -> list[str]:
    top = car.straight.top_with_m_s - car.straight.top_without_m_s
    lost = f"top speed {figures(top / speed_scale(units))} {units.speed}"
    if car.lap is None:
        return _labelled(
            "STRAIGHT",
            f"{lost}; {seconds(car.straight.time_lost_s)} s lost on {car.straight.length_m:.0f} m.",
        )
    lap = car.lap
    fitted, retuned = lap.fitted.gain, lap.retuned.gain
    alone = ", ".join(f"{name} {_signed(-gain)} s" for name, gain in result.part_gains)
    best = next((b for b in lap.best if "matched" in b.name or "retuned" in b.name), lap.best[0])
    told = f"best angle with a matched front {degrees(best.best_deg)}" if math.isfinite(best.best_deg) else ""
    first = f"{lap.circuit.name}: {_signed(-fitted.value)} s a lap ({_signed(-fitted.high)} to"
    first += (
        f" {_signed(-fitted.low)}) of {lap.fitted.without.lap_time_s[0]:.1f} s, {_signed(-retuned.value)}"
    )
    first += f" ({_signed(-retuned.high)} to {_signed(-retuned.low)}) if both are retuned; {lost}."
    if fitted.largest_doubt:
        first += f" Largest doubt: {fitted.largest_doubt}."
    parts = f"By {alone}" if alone else ""
    return _labelled("LAP", first) + _labelled("", sentence("; ".join(t for t in (parts, told) if t)))


def _signed(value: float) -> str:
    text = seconds(value)
    return text if text.startswith("−") or float(text) == 0.0 else f"+{text}"


def _labelled(label: str, text: str) -> list[str]:
    """A line with its label, wrapped to the screen's width."""
    first = f"{label:<8} " if len(label) <= 8 else f"{label}: "
    return wrap(text, COLUMNS, initial_indent=first, subsequent_indent=" " * 9)


def full_lines(result: StudyResult) -> list[str]:
    """Everything that the page says of angles, forces and car, with every caution where its number stands."""
    advice, units = result.advice, result.study.units
    lines = [result.study.title, "", *_angles(result)]
    lines += [f"  ! {c.text}" for c in advice.cautions if c.beside == "angle"]
    lines += [_force_line(at, units) for at in advice.forces]
    lines += [f"  ! {c.text}" for c in advice.cautions if c.beside != "angle"]
    for block in car_content(result.car, units) if result.car else ():
        lines += ["", block["heading"], *(f"  {', '.join(filter(None, row))}" for row in block["rows"])]
        lines += [f"  {line}" for line in block["lines"]]
        lines += [f"  ! {caution}" for caution in block["cautions"]]
    lines += ["", *traced_lines(result.traced)] if result.traced else []
    return lines + [f"NOT TRUSTWORTHY: {doubt}." for doubt in result.doubts]


def _force_line(at: ForcesAtSpeed, units: DisplayUnits) -> str:
    down = f"{force(at.downforce.n, units)}, {force_band(at.downforce.low_n, at.downforce.high_n, units)}"
    drag = f"{own_force(at.drag.n, units)}, {force_band(at.drag.low_n, at.drag.high_n, units)}"
    return f"  {speed(at.speed_m_s, units)}: downforce {down}; drag {drag}"
