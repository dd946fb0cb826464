"""The ten best sections to one scale, with their numbers; where a section must be built true."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.report.choose.text import force_change, marked_name, percent, thickness_text, value_text
from wingtool.report.plots.style import STYLES
from wingtool.report.text import degrees, own_force, signed, speed, tenths
from wingtool.study import Choice, Tolerances

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MOST_DRAWN = 10
COLOURS = ("#b3261e", "#d97706", "#2f6f4f")  # most to least harm, of three thirds of the list
WIDTHS = (5.0, 3.5, 2.2)


def draw_choice(figure: Figure, choice: Choice) -> None:
    """Sections one below the other at one scale, suction side down as on the car, numbers beside them."""
    found = choice.ranked[:MOST_DRAWN]
    figure.set_size_inches(7.0, 1.0 + 0.74 * len(found))
    number = [k for k, group in enumerate(choice.groups, start=1) for _ in group]
    terms = choice.terms
    chord_mm, units, aim = 1000.0 * terms.study.wing.chord_m, terms.study.units, terms.aim.kind
    what = {"lap": "gained", "downforce": "down", "spare": "to spare"}[aim]
    ax = figure.subplots()
    step = 0.27 * chord_mm
    for k, finalist in enumerate(found):
        x, y = np.asarray(finalist.section.xy).T * chord_mm
        base, beside = -k * step, 1.06 * chord_mm
        colour = STYLES[(number[k] - 1) % len(STYLES)]["color"]
        ax.fill(x, base - y, facecolor="#eef2f6", edgecolor=colour, linewidth=1.4)
        down = "" if aim == "downforce" else f"{own_force(finalist.point.downforce.n, units)} down, "
        sentence = (
            f"{value_text(choice, finalist.value)} ± {value_text(choice, finalist.half_width)} {what} at"
            f" {degrees(finalist.point.angle_deg)}; {down}{own_force(finalist.point.drag.n, units)} drag\n"
            f"{thickness_text(choice, finalist)} thick; lift lost: past stall {percent(finalist.stall_drop)},"
            f" dirt {percent(finalist.dirt_loss)}, errors {percent(finalist.error_loss)}"
        )
        name = f"{k + 1}. {marked_name(finalist)}, group {number[k]}"
        ax.text(beside, base + 0.07 * step, name, fontsize=10, weight="bold")
        ax.text(beside, base - 0.04 * step, sentence, fontsize=8, va="top")
    ax.set_aspect("equal")
    ax.set_xlim(-0.03 * chord_mm, 2.6 * chord_mm)
    ax.set_ylim(-(len(found) - 0.4) * step, 0.75 * step)
    ax.set_yticks([])
    ax.grid(False)
    ax.set_xticks(np.linspace(0.0, chord_mm, 6).round())
    ax.set_xlabel("mm along the chord, as mounted: suction side down", loc="left")
    ax.set_title(f"{terms.study.title}: best sections, {speed(terms.reference_m_s, units)}", loc="left")
    ax.spines[["left", "right", "top"]].set_visible(False)


def draw_tolerances(figure: Figure, found: Tolerances) -> None:
    """The section as mounted; stretches coloured and as wide as their errors harm."""
    ax = figure.subplots()
    chord_mm, units = 1000.0 * found.study.wing.chord_m, found.study.units
    xy = np.asarray(found.section.xy) * [chord_mm, -chord_mm]
    nose = int(np.argmin(xy[:, 0]))
    ax.fill(*xy.T, facecolor="#eef2f6", edgecolor=STYLES[0]["color"], linewidth=0.8)
    shaped = [error for error in found.errors if error.stretch is not None]
    for place, error in enumerate(shaped):
        third = 3 * place // len(shaped)
        first, last, side = error.stretch  # type: ignore[misc]
        lift = 2.2 * (len(shaped) - place)
        style: dict[str, Any] = {
            "color": COLOURS[third],
            "linewidth": WIDTHS[third],
            "solid_capstyle": "round",
        }
        change = f"{force_change(error.downforce_n, units)} {units.force}, {signed(error.stall_deg, tenths)}°"
        ax.plot([], [], **style, label=f"{error.name}, {error.size}: {change} stall")
        for part, sign, name in ((xy[: nose + 1], -1.0, "upper"), (xy[nose:], 1.0, "lower")):
            if side in (name, "both"):
                x, y = part[(part[:, 0] >= first * chord_mm) & (part[:, 0] <= last * chord_mm)].T
                ax.plot(x, y + sign * lift, **style, zorder=3.0 - 0.1 * place)
    ax.set_aspect("equal")
    ax.grid(False)
    ax.set_yticks([])
    ax.set_xlabel("mm along the chord, as mounted: suction side down")
    ax.set_title(f"{found.section.name}: where it must be built true (red most, green least)", loc="left")
    ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.25), ncols=1, fontsize=8)
