"""The answer of a study in a few lines of text, cautions included."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wingtool.report.page import two_figures as two
from wingtool.units import M_S_PER_KM_H, M_S_PER_MPH, NEWTON_PER_KGF, NEWTON_PER_LBF

if TYPE_CHECKING:
    from wingtool.study import StudyResult


def answer_lines(result: StudyResult) -> list[str]:
    """What the screen says at the end of a run, one string a line."""
    advice = result.advice
    lines = [result.study.title, ""]
    if advice.forces:
        stall = "no strip stalls in this table"
        if advice.stall_deg == advice.stall_deg:
            stall = f"it stalls from {advice.stall_deg:.0f} degrees"
        lines.append(
            f"Start at {advice.start_deg:g} degrees, advised up to {advice.high_deg:g}; {stall}, "
            f"{advice.margin_deg:g} are kept as a margin."
        )
    lines += [f"  ! {c.text}" for c in advice.cautions if c.beside == "angle"]
    lines += [_force_line(force) for force in advice.forces]
    lines += [f"  ! {c.text}" for c in advice.cautions if c.beside != "angle"]
    return lines + [f"NOT TRUSTWORTHY: {doubt}." for doubt in result.doubts]


def _force_line(force) -> str:
    return (
        f"  {force.speed_m_s / M_S_PER_KM_H:3.0f} km/h ({force.speed_m_s / M_S_PER_MPH:3.0f} mph): downforce "
        f"{two(force.downforce_n)} N ({two(force.downforce_low_n)} to {two(force.downforce_high_n)}) = "
        f"{two(force.downforce_n / NEWTON_PER_KGF)} kgf = {two(force.downforce_n / NEWTON_PER_LBF)} lbf, "
        f"drag {two(force.drag_n)} N ({two(force.drag_low_n)} to {two(force.drag_high_n)})"
    )
