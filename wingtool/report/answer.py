"""The answer of a study on the terminal: one screen of 24 lines and 80 columns, or all of it."""

from __future__ import annotations

import math
from textwrap import wrap
from typing import TYPE_CHECKING

import numpy as np

from wingtool.report.degree_sum import ANGLES_ARE, degree_sum, gauge_words
from wingtool.report.page.car import car_content
from wingtool.report.page.content import advised_columns
from wingtool.report.text import (
    between,
    degrees,
    figures,
    force,
    force_band,
    force_scale,
    own_force,
    own_speed,
    seconds,
    speed,
    speed_scale,
)
from wingtool.report.top_cautions import top_cautions
from wingtool.report.trace.text import traced_lines
from wingtool.study import RAISE_BY_DEG

if TYPE_CHECKING:
    from wingtool.study import CarResult, ForcesAtSpeed, PartGain, StudyResult
    from wingtool.units import DisplayUnits

COLUMNS = 80
MOST_LINES = 23  # of 24; the last names the page


def answer_lines(result: StudyResult) -> list[str]:
    """The first screen: angles, forces, balance, time, loads, rules, the cautions that matter most."""
    units = result.study.units
    lines = [result.study.title[:COLUMNS], *_angles(result)]
    if result.advice.forces:
        lines += _forces(result, units)
    if result.car:
        lines += _car(result.car, units)
    if result.rules:
        failed = [check.measure.replace("_", " ") for check in result.rules if check.verdict == "fail"]
        kept = f"within all {len(result.rules)} size limits that you entered"
        sentence = f"FAILED: {', '.join(failed)}" if failed else kept
        lines += _labelled("RULES", f"{sentence}; no other rule is checked.")
    lines += _labelled("NOT TRUSTWORTHY", "; ".join(result.doubts)) if result.doubts else []
    cautions = [
        wrap(text, COLUMNS, initial_indent="! ", subsequent_indent="  ") for text in top_cautions(result)
    ]
    while cautions and len(lines) + sum(map(len, cautions)) > MOST_LINES:
        cautions.pop()
    return lines + [row for rows in cautions for row in rows]


def _angles(result: StudyResult) -> list[str]:
    advice = result.advice
    if not math.isfinite(advice.start_deg):
        return _labelled("ANGLE", "none can be advised")
    start, high = degrees(advice.start_deg), degrees(advice.high_deg)
    if start == high:
        first = f"{start} and no other: never beyond it."
    else:
        minus = " (minus: nose up)" if advice.start_deg < 0.0 else ""
        raised = f"raise it {degrees(RAISE_BY_DEG)} at a time"
        first = f"start at {start}{minus}, {raised}, never beyond {high}."
    texts = (first, f"Start: {advice.starts_because}.", f"End: {degree_sum(advice)}.", gauge_words(result))
    labels = ("ANGLE", "", "", "")
    said = [pair for pair in zip(labels, texts, strict=True) if pair[1]]
    return [line for label, text in said for line in _labelled(label, text)]


def _forces(result: StudyResult, units: DisplayUnits) -> list[str]:
    """Downforce and drag at both ends of the advice, at three speeds."""
    wing, ends = result.wing, advised_columns(result)
    heads = (text for _, a, _ in ends for text in (f"at {degrees(a)}: down", "likely", "drag"))
    rows = [[f"FORCES, {units.force}", *heads]]
    for one in result.advice.forces:
        k = int(np.argmin(np.abs(wing.speed_m_s - one.speed_m_s)))
        row = [own_speed(one.speed_m_s, units)]
        for *_, m in ends:
            both = wing.downforce[k, m], wing.drag[k, m]
            down, drag = (part.each(lambda n: float(n) / force_scale(units)) for part in both)
            row += [figures(down.n), between(down.low_n, down.high_n), figures(drag.n)]
        rows.append(row)
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    return ["  ".join(text.rjust(width) for text, width in zip(row, widths, strict=True)) for row in rows]


def _car(car: CarResult, units: DisplayUnits) -> list[str]:
    parts = "".join(f", without {one.lost_part} {_percent(one.front_share)}" for one in car.left[1:-1])
    likely = f"likely {_percent(car.share.low)} to {_percent(car.share.high)}"
    at = f"{own_speed(car.reference_speed_m_s, units)} and {degrees(car.set_angle_deg)}"
    lines = _labelled(
        "BALANCE",
        f"{_percent(car.share.value)} % of the load in front ({likely}) at {at};"
        f" bare car {_percent(car.left[-1].front_share)}{parts}.",
    )
    lines += _time(car, units)
    if (one := car.mounts) is not None:
        at = f"{own_speed(one.speed_m_s, units)}, any angle, gust and kerb"
        lines += _labelled("LOADS", f"each stand up to {own_force(one.down_n, units)} down ({at}).")
    return lines


def _percent(share: float) -> str:
    return f"{100 * share:.1f}"


def _time(car: CarResult, units: DisplayUnits) -> list[str]:
    top = car.straight.top_with_m_s - car.straight.top_without_m_s
    much, way = figures(abs(top) / speed_scale(units)), "lower" if top < 0.0 else "higher"
    lost = f"top speed {much} {units.speed} {way}"
    if car.lap is None:
        sentence = f"{lost}; {seconds(car.straight.time_lost_s)} s lost on {car.straight.length_m:.0f} m."
        return _labelled("STRAIGHT", sentence)
    gain = car.lap.fitted.gain
    first = (
        f"{car.lap.circuit.name} at {degrees(car.set_angle_deg)}: {_signed(-gain.value)} s"
        f" (likely {_signed(-gain.high)} to {_signed(-gain.low)}), minus is faster; {lost}."
    )
    return _labelled("LAP", first) + _labelled("", _fastest(car.lap.part_gains))


def _fastest(gains: tuple[PartGain, ...]) -> str:
    """Which parts at which advised angle are fastest; front parts alone are told and never chosen."""
    if not gains:
        return ""
    wing, front, both = gains
    best, other = (both, wing) if both.best_s >= wing.best_s else (wing, both)
    sentence = f"{other.name.capitalize()} at best {_signed(-other.best_s)} s, at {degrees(other.best_deg)}"
    fastest = f"{best.name}, wing at {degrees(best.best_deg)}, {_signed(-best.best_s)} s on the bare car"
    return f"Fastest: {fastest}. {sentence}; {front.name} {_signed(-front.best_s)} s."


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
    lines = [result.study.title, "", *_angles(result), *wrap(ANGLES_ARE, COLUMNS)]
    lines += [f"  ! {c.text}" for c in advice.cautions if c.beside == "angle"]
    lines += ["", f"Forces at {degrees(advice.start_deg)}:"] if advice.forces else []
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
