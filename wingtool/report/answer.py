"""The answer of a study on the terminal: one screen of 24 lines and 80 columns, or all of it."""

from itertools import zip_longest
from textwrap import wrap
from typing import Any

from wingtool.report import answer_text
from wingtool.report.car_text import most_force
from wingtool.report.page.car import car_content
from wingtool.report.page.content import bands, caution_texts, force_block
from wingtool.report.text import (
    between,
    degrees,
    figures,
    force_scale,
    own_speed,
    sentence,
)
from wingtool.report.top_cautions import asked, top_cautions
from wingtool.study import RAISE_BY_DEG, CarResult, StudyResult
from wingtool.units import DisplayUnits

COLUMNS = 80
MOST_LINES = 23  # of 24; the last names the page


def answer_lines(result: StudyResult) -> list[str]:
    """The first screen: angles, forces, balance, time, loads, rules, the cautions that matter most."""
    lines, cautions = _first_screen(result)
    fit = len(cautions)
    while fit > 1 and len(lines) + sum(map(len, cautions[:fit])) + (fit < len(cautions)) > MOST_LINES:
        fit -= 1
    more = [["! More cautions are on the page."]] if fit < len(cautions) else []
    return lines + [row for rows in cautions[:fit] + more for row in rows]


def _first_screen(result: StudyResult) -> tuple[list[str], list[list[str]]]:
    """Lines that always stand; those of each caution."""
    units, sure = result.study.units, f"({answer_text.SURE})"
    lines = [f"{result.study.title[: COLUMNS - len(sure) - 2]:{COLUMNS - len(sure)}}{sure}"]
    lines += _labelled("NOT TRUSTWORTHY", sentence("; ".join(result.doubts))) if result.doubts else []
    lines += _labelled("CHECK", " ".join(asked(result)))
    lines += _angles(result)
    if result.advice.given:
        lines += _forces(result, units)
    if result.car:
        lines += _balance_and_time(result, result.car) if result.advice.given else []
        lines += _loads(result.car, units)
    if result.rules:
        failed = [check.measure.replace("_", " ") for check in result.rules if check.verdict == "fail"]
        kept = f"within all {len(result.rules)} size limits that you entered"
        met = sum(check.verdict == "pass" for check in result.rules)
        others = f" ({met} other{'s' * (met > 1)} met)" if met else ""
        verdict = f"FAILED: {', '.join(failed)}{others}" if failed else kept
        lines += _labelled("RULES", f"{verdict}; no other rule is checked.")
    cautions = [
        wrap(text, COLUMNS, initial_indent="! ", subsequent_indent="  ")
        for text in top_cautions(result)
        if text not in asked(result)
    ]
    return lines, cautions


def _angles(result: StudyResult) -> list[str]:
    advice = result.advice
    if not advice.given:
        return _labelled("ANGLE", "none can be advised.")
    start, high = degrees(advice.start_deg), degrees(advice.high_deg)
    if start == high:
        first = f"{start} and no other: never beyond it."
    else:
        minus = " (nose up)" if advice.start_deg < 0.0 else ""
        fastest = dict(answer_text.advised_angles(result)).get("fastest")
        towards = "" if fastest is None else f" to {degrees(fastest)}"
        raised = f"nose down {degrees(RAISE_BY_DEG)} at a time{towards}"
        first = f"start {start}{minus}, {raised}, never beyond {high}."
    lines = _labelled("ANGLE", first)
    lines += _labelled("", answer_text.start_words(result))
    lines += _labelled("", f"End: {answer_text.degree_sum(advice)}.")
    laid = answer_text.gauge_words(result)
    return lines + (_labelled("GAUGE", f"{laid}.") if laid else [])


def _forces(result: StudyResult, units: DisplayUnits) -> list[str]:
    """Downforce and drag at both ends of the advice, at the slowest, the reference and the fastest speed."""
    scale, speeds = force_scale(units), answer_text.three_speeds(result)
    rows = [[f"FORCES, {units.force}", *(own_speed(v, units) for v in speeds)]]
    for angle in answer_text.both_ends(result):
        for k, name in enumerate(("down", "drag")):
            forces = [answer_text.forces_at(result, v, angle)[k].each(lambda n: n / scale) for v in speeds]
            cells = (f"{figures(one.n)} ({between(one.low_n, one.high_n)})" for one in forces)
            rows.append([f"at {degrees(angle)} {name}", *cells])
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    rows = [[row[0].ljust(widths[0]), *row[1:]] for row in rows]
    lines = ["  ".join(map(str.rjust, row, widths)) for row in rows]
    return lines + _labelled("", answer_text.drag_words(result))


def _balance_and_time(result: StudyResult, car: CarResult) -> list[str]:
    shares = (car.share.value, car.share.low, car.share.high, car.left[-1].front_share)
    share, low, high, bare = (f"{100 * value:.1f}" for value in shares)
    at = f"{own_speed(car.reference_speed_m_s, result.study.units)}, {degrees(result.advice.start_deg)}"
    in_front = f"At {at}: front axle {share} % ({low} to {high}; bare car {bare})."
    lines = _labelled("BALANCE", f"{in_front} {answer_text.axle_words(result)}")
    time = f"{answer_text.faster_words(result)} {answer_text.fastest_words(car)}"
    return lines + _labelled("LAP" if car.lap else "STRAIGHT", time)


def _loads(car: CarResult, units: DisplayUnits) -> list[str]:
    if (one := car.mounts) is None:
        return []
    loads = one.proof_down_n / one.mounts.proof_factor, one.down_n
    down, stand = (most_force(newton, units) for newton in loads)
    at = f"{own_speed(one.speed_m_s, units)}, kerb, gust to any angle"
    return _labelled("LOADS", f"up to {down} down ({at}), {stand} a stand.")


def _labelled(label: str, text: str) -> list[str]:
    """A line with its label, wrapped to the screen's width."""
    first = f"{label:<8} " if len(label) <= 8 else f"{label}: "
    return wrap(text, COLUMNS, initial_indent=first, subsequent_indent=" " * 9)


def full_lines(result: StudyResult) -> list[str]:
    """The first screen, then the page's blocks on forces and car, each caution where its number stands."""
    first, cautions = _first_screen(result)
    told = caution_texts(result, top_cautions(result))
    lines = [*first, *(row for rows in cautions for row in rows), ""]
    lines += wrap(f"{answer_text.ANGLES_ARE} {answer_text.gauge_doubt(result)}", COLUMNS)
    lines += [f"  ! {text}" for text in told["angle"]]
    forces = force_block(result) if result.advice.given else {}
    forces |= {"heading": "Forces", "lines": []}
    forces["cautions"] = [text for place in ("force", "drag", "height") for text in told[place]]
    for block in [forces, *(car_content(result.car, result.study.units) if result.car else [])]:
        lines += ["", block["heading"], *table_lines(block)]
        lines += [f"  {line}" for line in block["lines"] if line]
        lines += [f"  ! {caution}" for caution in block["cautions"]]
    return [*lines, "", "Where the likely ranges come from", *(f"  {line}" for line in bands(result))]


def table_lines(block: dict[str, Any]) -> list[str]:
    """The table of a block in the screen's width: the widest columns are wrapped."""
    rows = [row for row in (block.get("head", ()), *block.get("rows", ())) if any(row)]
    columns = list(zip_longest(*rows, fillvalue=""))
    widths = [max(map(len, column)) for column in columns]
    while sum(widths) + 2 * len(widths) > COLUMNS:
        widths[widths.index(max(widths))] -= 1
    lines = []
    for row in rows:
        cells = zip_longest(
            *(wrap(cell, wide) for cell, wide in zip(row, widths, strict=False)), fillvalue=""
        )
        lines += ["  " + "  ".join(map(str.ljust, line, widths)).rstrip() for line in cells]
    return lines
