"""The answer of a study in a few lines of text, cautions included."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wingtool.report.page.car import car_content
from wingtool.report.text import between, figures, force, speed
from wingtool.report.trace.text import traced_lines

if TYPE_CHECKING:
    from wingtool.study import Force, StudyResult


def answer_lines(result: StudyResult) -> list[str]:
    """What the screen says at the end of a run, one string a line."""
    advice = result.advice
    lines = [result.study.title, ""]
    if advice.forces:
        lines.append(
            f"Start at {advice.start_deg:g} degrees, advised up to {advice.high_deg:g}: "
            f"{advice.ends_because}."
        )
        known = advice.stall_deg == advice.stall_deg
        stall = f"It stalls from {advice.stall_deg:.1f} at the speed that stalls first."
        lines.append(stall if known else "No strip stalls in this table.")
    lines += [f"  ! {c.text}" for c in advice.cautions if c.beside == "angle"]
    lines += [_force_line(at) for at in advice.forces]
    lines += [f"  ! {c.text}" for c in advice.cautions if c.beside != "angle"]
    for block in car_content(result.car) if result.car else ():
        lines += ["", block["heading"], *(f"  {line}" for line in block["lines"])]
        lines += [f"  ! {caution}" for caution in block["cautions"]]
    lines += ["", *traced_lines(result.traced)] if result.traced else []
    return lines + [f"NOT TRUSTWORTHY: {doubt}." for doubt in result.doubts]


def _force_line(at: Force) -> str:
    return (
        f"  {speed(at.speed_m_s)}: downforce {force(at.downforce_n)}, band "
        f"{between(at.downforce_low_n, at.downforce_high_n)} N; drag {figures(at.drag_n)} N, band "
        f"{between(at.drag_low_n, at.drag_high_n)} N"
    )
