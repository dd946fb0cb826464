"""The ten best sections drawn to one scale, with their numbers."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.report.choose.text import percent, short_name, value_text
from wingtool.report.plots.style import STYLES, save
from wingtool.report.text import degrees, own_force, own_length, speed

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from wingtool.study import Choice

MOST_DRAWN = 10


def write_choice_picture(choice: Choice, path: Path) -> Path:
    """Draw the best sections into FILE.png or .svg; returns the path."""
    count = min(MOST_DRAWN, len(choice.ranked))
    size = (7.0, 1.0 + 0.74 * max(count, 1))
    return save(lambda figure: draw_choice(figure, choice), path.with_suffix(""), size, (path.suffix,))[0]


def draw_choice(figure: Figure, choice: Choice) -> None:
    """Sections one below the other at one scale, suction side down as on the car, numbers beside them."""
    found = choice.ranked[:MOST_DRAWN]
    group = [k for k, one in enumerate(choice.groups, start=1) for _ in one]
    chord_mm, units = 1000.0 * choice.study.wing.chord_m, choice.study.units
    ax = figure.subplots()
    step = 0.27 * chord_mm
    for k, one in enumerate(found):
        x, y = np.asarray(one.section.xy).T * chord_mm
        style = STYLES[(group[k] - 1) % len(STYLES)]
        base = -k * step
        ax.fill(x, base - y, facecolor="#eef2f6", edgecolor=style["color"], linewidth=1.4)
        what = {"lap": "gained", "downforce": "down", "spare": "to spare"}[choice.aim.kind]
        gain = f"{value_text(choice, one.value)} ± {value_text(choice, one.half_width)} {what}"
        first = f"{k + 1}. {short_name(one)}" + (" (yours)" if one.origin == "own" else "")
        down = "" if choice.aim.kind == "downforce" else f"{own_force(one.downforce_n[1], units)} down, "
        told = (
            f"{gain} at {degrees(one.wing_angle_deg)}; {down}{own_force(one.drag_n[1], units)} drag\n"
            f"{own_length(float(np.ptp(y)) / 1000.0, units)} deep; past stall {percent(one.stall_drop)},"
            f" dirt {percent(one.dirt_loss)}, errors {percent(one.error_loss)}"
        )
        ax.text(1.06 * chord_mm, base + 0.07 * step, f"{first}, group {group[k]}", fontsize=10, weight="bold")
        ax.text(1.06 * chord_mm, base - 0.04 * step, told, fontsize=8, va="top")
    ax.set_aspect("equal")
    ax.set_xlim(-0.03 * chord_mm, 2.6 * chord_mm)
    ax.set_ylim(-(len(found) - 0.4) * step, 0.75 * step)
    ax.set_yticks([])
    ax.grid(False)
    ax.set_xticks(np.linspace(0.0, chord_mm, 6).round())
    ax.set_xlabel("mm along the chord, as mounted: suction side down", loc="left")
    ax.set_title(f"{choice.study.title}: best sections, {speed(choice.speed_m_s, units)}", loc="left")
    for side in ("left", "right", "top"):
        ax.spines[side].set_visible(False)
