"""How true a wing must be built: table in order of harm, the section with its sensitive stretches."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.report.plots.style import STYLES, save
from wingtool.report.tables.names import table_of
from wingtool.report.text import degrees, force, speed
from wingtool.units import NEWTON_PER_LBF

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from wingtool.report.tables.table import Table
    from wingtool.study import Tolerances
    from wingtool.units import DisplayUnits

COLOURS = ("#b3261e", "#d97706", "#2f6f4f")  # most to least harm, of three thirds of the list
WIDTHS = (5.0, 3.5, 2.2)


def tolerance_lines(found: Tolerances) -> tuple[tuple[str, ...], list[tuple[str, ...]], list[str], list[str]]:
    """Headings, rows, the lines before the table, the lines after it."""
    units, lap = found.study.units, np.isfinite(found.lap_s)
    headings = (f"downforce {units.force}", "stall", *(("lap s",) if lap else ()), "size", "error")
    rows: list[tuple[str, ...]] = [
        (_force_change(one.downforce_n, units), signed(one.stall_deg, 1, "°"),
         *((signed(one.lap_s, 2),) if lap else ()), one.size, one.name)
        for one in found.found
    ]  # fmt: skip
    before = [
        f"{found.section.name} at {degrees(found.wing_angle_deg)}: {force(found.downforce_n, units)} at"
        f" {speed(found.speed_m_s, units)}, first stall at {degrees(found.stall_deg)}.",
        "Take most care of: " + "; ".join(f"{one.name} ({one.size})" for one in found.care) + ".",
    ]
    after = [
        "Each row is one error alone; made the other way it changes as much the other way; errors add.",
        f"Order of harm: a tenth of downforce, a degree of stall{' and 0.1 s' if lap else ''} count alike.",
        "! A stall that comes earlier comes without warning: keep the margin, and more if built roughly.",
    ]
    return headings, rows, before, after


def _force_change(newton: float, units: DisplayUnits) -> str:
    return signed(newton / (NEWTON_PER_LBF if units.force == "lbf" else 1.0), 0)


def signed(value: float, decimals: int, unit: str = "") -> str:
    """A change with its sign; a dash where there is no number."""
    if not np.isfinite(value):
        return "–"
    return f"{round(value, decimals) + 0.0:+.{decimals}f}{unit}".replace("-", "−")


def tolerance_table(found: Tolerances) -> Table:
    """One row an error, the most harmful first."""
    values = {
        "error": [one.name for one in found.found],
        "error_size": [one.size for one in found.found],
        "downforce_change_n": [one.downforce_n for one in found.found],
        "stall_change_deg": [one.stall_deg for one in found.found],
        "lap_change_s": [one.lap_s for one in found.found],
        "harm": [one.harm for one in found.found],
    }
    facts = {
        "section": found.section.name,
        "wing_angle_deg": found.wing_angle_deg,
        "speed_m_s": found.speed_m_s,
    }
    return table_of("tolerances", f"Building errors of {found.study.title}", values, facts)


def write_tolerance_picture(found: Tolerances, path: Path) -> Path:
    """Draw the section with its sensitive stretches into FILE.png or .svg; returns the path."""
    return save(
        lambda figure: draw_tolerances(figure, found), path.with_suffix(""), (9.0, 5.0), (path.suffix,)
    )[0]


def draw_tolerances(figure: Figure, found: Tolerances) -> None:
    """The section as mounted; stretches coloured and as wide as their errors harm."""
    ax = figure.subplots()
    chord_mm, units = 1000.0 * found.study.wing.chord_m, found.study.units
    xy = np.asarray(found.section.xy) * [chord_mm, -chord_mm]
    nose = int(np.argmin(xy[:, 0]))
    ax.fill(*xy.T, facecolor="#eef2f6", edgecolor=STYLES[0]["color"], linewidth=0.8)
    shaped = [one for one in found.found if one.stretch is not None]
    for place, one in reversed(list(enumerate(shaped))):
        third = min(3 * place // max(len(shaped), 1), 2)
        first, last, side = one.stretch  # type: ignore[misc]
        lift = 2.2 * (len(shaped) - place)
        for part, sign, name in ((xy[: nose + 1], -1.0, "upper"), (xy[nose:], 1.0, "lower")):
            if side not in (name, "both"):
                continue
            on = (part[:, 0] >= first * chord_mm) & (part[:, 0] <= last * chord_mm)
            change = f"{_force_change(one.downforce_n, units)} {units.force}"
            told = f"{one.name}, {one.size}: {change}, {signed(one.stall_deg, 1)}° stall"
            ax.plot(
                part[on, 0], part[on, 1] + sign * lift, color=COLOURS[third], linewidth=WIDTHS[third],
                label=told if name == "upper" else None, solid_capstyle="round",
            )  # fmt: skip
    ax.set_aspect("equal")
    ax.grid(False)
    ax.set_yticks([])
    ax.set_xlabel("mm along the chord, as mounted: suction side down")
    ax.set_title(f"{found.section.name}: where the knife must be true (red most, green least)", loc="left")
    handles, labels = ax.get_legend_handles_labels()
    order = [
        labels.index(l)
        for l in sorted(labels, key=lambda l: [o.name for o in shaped].index(l.split(", ")[0]))
    ]
    ax.legend([handles[i] for i in order], [labels[i] for i in order], loc="upper center",
              bbox_to_anchor=(0.5, -0.25), ncols=1, fontsize=8)  # fmt: skip
