"""Sheets to print that say how to measure a wing and the air before it, each at full size."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.errors import TraceError
from wingtool.geometry import four_digit, polyline
from wingtool.report.plots.style import write_pages
from wingtool.report.trace.roof_sheet import roof_pages
from wingtool.report.trace.sheet_parts import SCALE_CHECK_MM, draw_command, new_page, scale_line, steps_page
from wingtool.tracing import DOT_MM, HOLE_MM, RING_MM, Sheet

if TYPE_CHECKING:
    from matplotlib.figure import Figure

STATIONS_PER_CENT = (0.5, 1, 2, 3.5, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 85, 90, 95, 98, 100)
SINGLES = ("chord", "tail edge thickness", "greatest thickness", "nose: drill shank diameter", "span", "mass")
ARROW = {"arrowstyle": "<->", "linewidth": 0.7}


def draw_marks(axes, target: Sheet, ink: str = "black", ground: str = "white") -> None:
    """The rings, the first with its dot."""
    from matplotlib.patches import Circle

    for number, (x, y) in enumerate(target.marks_mm):
        axes.add_patch(Circle((x, y), RING_MM / 2, color=ink, linewidth=0))
        axes.add_patch(Circle((x, y), HOLE_MM / 2, color=ground, linewidth=0))
        if number == 0:
            axes.add_patch(Circle((x, y), DOT_MM / 2, color=ink, linewidth=0))


def _photo_pages(paper: str, _chord_mm: float | None, ink: str = "black", ground: str = "white"):
    """The target alone, so that nothing on it is taken for a section; how to use it on a second page.

    In white on black it is for a white or bare metal section.
    """
    figure, axes, target = new_page(paper)
    figure.set_facecolor(ground)
    draw_marks(axes, target, ink, ground)
    middle = target.width_mm / 2
    axes.text(middle, target.height_mm - 7.0, "this edge up", fontsize=8, ha="center", color="0.5")
    axes.text(middle + SCALE_CHECK_MM / 2 + 20.0, 4.5, f"photo sheet, {paper}", fontsize=6, color="0.6")
    scale_line(axes, middle - SCALE_CHECK_MM / 2, 4.5, "0.5" if ink == "white" else ink)
    how, axes, _, y = steps_page(paper, "Photo sheet: how to take the picture", "photo")
    draw_command(axes, 20.0, y - 2.0, "photo", 9.0, paper)
    return figure, how


def _sketch(axes, x: float, y: float, chord_mm: float) -> np.ndarray:
    """A section drawn for explanation, (n, 2) on the page; not a section of anything."""
    loop = four_digit("4412").xy * chord_mm + np.array([x, y])
    axes.fill(*loop.T, facecolor="0.92", edgecolor="black", linewidth=0.8)
    return loop


def _points_pages(paper: str, _chord_mm: float | None):
    """What a pen trace is and how its points are written down."""
    figure, axes, target, y = steps_page(paper, "Pen trace sheet", "trace")
    size = min(200.0, target.width_mm - 90.0)
    loop = _sketch(axes, 30.0, 50.0, size)
    pen = loop + 4.0 * polyline.outward(loop)
    axes.plot(*polyline.closed(pen).T, color="0.3", linestyle=(0, (4, 3)), linewidth=0.8)
    for above, name in (
        (0.1 * size + 9.0, "the pen's line: half the pen outside"),
        (0.03 * size, "the wing"),
    ):
        axes.text(30.0 + size / 2, 50.0 + above, name, ha="center", fontsize=9)
    draw_command(axes, 20.0, min(y - 2.0, 120.0), "trace", 8.0)
    scale_line(axes, 20.0, 12.0)
    return (figure,)


def _station_pages(paper: str, chord_mm: float | None):
    """Steps, a sketch with the names, and a form, with the stations in mm for a known chord."""
    figure, axes, target, y = steps_page(paper, "Caliper sheet", "stations")
    size = min(170.0, target.width_mm - 110.0)
    left, base = 40.0, y - 60.0
    loop = _sketch(axes, left, base + 0.08 * size, size)
    axes.plot([left - 8.0, left + size + 8.0], [base, base], color="black", linewidth=1.2)
    axes.plot([left, left], [base, base + 0.2 * size], color="black", linewidth=1.2)
    at = left + 0.35 * size
    tops = [loop[np.abs(loop[:80, 0] - at).argmin(), 1], loop[80 + np.abs(loop[80:, 0] - at).argmin(), 1]]
    for k, (top, name) in enumerate(zip(tops, ("upper", "lower"), strict=True)):
        x = at + 14.0 * k
        axes.annotate("", (x, top), (x, base), arrowprops=ARROW)
        axes.text(x + 1.5, base + 3.0, name, fontsize=8)
    axes.annotate("", (at, base - 4.0), (left, base - 4.0), arrowprops=ARROW)
    axes.text((left + at) / 2, base - 9.0, "x from the square", fontsize=8, ha="center")
    axes.text(left + size + 10.0, base - 1.0, "table", fontsize=8)
    return figure, _form(paper, chord_mm)


def _form(paper: str, chord_mm: float | None) -> Figure:
    form, axes, target = new_page(paper, "Readings" + (f", chord {chord_mm:.0f} mm" if chord_mm else ""))
    top, step = target.height_mm - 40.0, 6.6
    for column, name in enumerate(("% chord", "x mm", "upper mm", "lower mm")):
        axes.text(24.0 + 32.0 * column, top + 4.0, name, fontsize=9)
    for row, per_cent in enumerate(STATIONS_PER_CENT):
        y = top - step * row
        axes.plot([20.0, 150.0], [y + 2.4, y + 2.4], color="0.7", linewidth=0.4)
        axes.text(24.0, y - 2.4, f"{per_cent:g}", fontsize=9)
        if chord_mm:
            axes.text(56.0, y - 2.4, f"{per_cent * chord_mm / 100:.1f}", fontsize=9)
    for row, name in enumerate(SINGLES):
        axes.text(168.0, top - 14.0 * row, name + ", mm" * (name != "mass"), fontsize=9)
        axes.plot([225.0, 270.0], [top - 14.0 * row] * 2, color="0.5", linewidth=0.5)
    draw_command(axes, 168.0, 50.0, "stations", 7.0)
    return form


PAGES: dict[str, Callable[[str, float | None], tuple[Figure, ...]]] = {
    "photo": _photo_pages,
    "photo-dark": partial(_photo_pages, ink="white", ground="black"),
    "trace": _points_pages,
    "stations": _station_pages,
    "roof": roof_pages,
}


def write_sheet(kind: str, path: Path | str, paper: str = "A4", chord_mm: float | None = None) -> Path:
    """Write a sheet as PDF at full size; returns the path.

    Parameters
    ----------
    kind : str
        ``photo``, ``photo-dark``, ``trace``, ``stations`` or ``roof``.
    paper : str
        A4, A3, letter or tabloid.
    chord_mm : float, optional
        For the stations in millimetres [mm].

    Raises
    ------
    TraceError
        Unknown kind or paper.
    OutputError
        The file cannot be written.
    """
    if kind not in PAGES:
        raise TraceError(f"sheet {kind!r} is not known; choose one of {', '.join(PAGES)}")
    return write_pages(PAGES[kind](paper, chord_mm), Path(path))
