"""Sheets to print that say how to measure a wing and the air before it, each at full size.

All share a page in millimetres, title, steps, and the line that checks the scale."""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from functools import lru_cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import toml_beside
from wingtool.geometry import four_digit, polyline
from wingtool.report.plots.style import write_pages
from wingtool.study import body_outline_m
from wingtool.tracing import DOT_MM, HOLE_MM, RING_MM, Sheet, sheet
from wingtool.units import MM_PER_INCH

if TYPE_CHECKING:
    from matplotlib.figure import Figure


SCALE_CHECK_MM = 100.0
PLACES = ("middle, 0.0", "0.6 of half span", "tip, 1.0")
REACH_MM, MOST_DEG = 110.0, 20
STATIONS_PER_CENT = (0.5, 1, 2, 3.5, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 85, 90, 95, 98, 100)
SINGLES = ("chord", "tail edge thickness", "greatest thickness", "nose: drill shank diameter", "span", "mass")
ARROW = {"arrowstyle": "<->", "linewidth": 0.7}


def new_page(paper: str, heading: str = ""):
    """A figure of the paper's size, one axes in millimetres from its lower left corner, and the paper."""
    from matplotlib.figure import Figure

    target = sheet(paper)
    figure = Figure(figsize=(target.width_mm / MM_PER_INCH, target.height_mm / MM_PER_INCH))
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_xlim(0.0, target.width_mm)
    axes.set_ylim(0.0, target.height_mm)
    axes.set_axis_off()
    axes.text(20.0, target.height_mm - 20.0, heading, fontsize=14, weight="bold")
    return figure, axes, target


@lru_cache(maxsize=1)
def words() -> dict[str, Any]:
    """What the sheets say: steps by kind of sheet, and the commands."""
    return toml_beside(__file__, "../templates/sheets.toml")


def steps_page(paper: str, heading: str, kind: str, size: float = 11.0):
    """A page with the numbered steps of a sheet, wrapped; also the y below them."""
    figure, axes, target = new_page(paper, heading)
    x, y, leading = 20.0, target.height_mm - 34.0, size * 0.46
    steps = words()[kind] + ([] if kind == "roof" else [words()["road"]])
    for number, step in enumerate(steps, start=1):
        for k, line in enumerate(textwrap.wrap(step, 105)):
            axes.text(x, y, f"{number}." if k == 0 else "", fontsize=size, va="top")
            axes.text(x + 5.0, y, line, fontsize=size, va="top")
            y -= leading
        y -= 0.25 * leading
    return figure, axes, target, y


def draw_command(axes, x: float, y: float, kind: str, size: float, paper: str = "") -> None:
    """The command that reads what the sheet asks for, from y downwards."""
    text = words()["command"][kind].format(paper)
    axes.text(x, y, text, fontsize=size, family="monospace", va="top")


def scale_line(axes, x: float, y: float, ink: str = "black") -> None:
    axes.plot([x, x + SCALE_CHECK_MM], [y, y], color=ink, linewidth=0.6)
    for mm in range(0, int(SCALE_CHECK_MM) + 1, 10):
        axes.plot([x + mm, x + mm], [y, y + (3.0 if mm % 50 == 0 else 1.5)], color=ink, linewidth=0.6)
    axes.text(x + SCALE_CHECK_MM + 2.0, y, "100 mm", fontsize=7, va="bottom", color=ink)


def roof_pages(paper: str, _chord_mm: float | None):
    """Steps on one page; form and protractor on the next."""
    figure, axes, _, bottom = steps_page(paper, "Roof sheet: how the air comes to the wing", "roof", 10.0)
    axes.text(20.0, bottom - 8.0, words()["roof_keys"], fontsize=9, family="monospace", va="top")
    _roof_sketch(axes, 175.0, 18.0)
    form, axes, target = new_page(paper, "Readings [degrees], down towards the rear positive")
    _roof_form(axes, target.height_mm - 40.0)
    _protractor(axes, 30.0, 0.5 * (target.height_mm - 75.0))
    scale_line(axes, 30.0, 12.0)
    return figure, form


def _roof_sketch(axes, x: float, y: float, mm_per_m: float = 25.0) -> None:
    """A hatchback's side with mast and tufts; drawn for explanation, no car's measures."""
    outline = body_outline_m("hatchback", 4.0, 1.42) * mm_per_m + (x, y)
    axes.fill(*outline.T, facecolor="0.94", edgecolor="black", linewidth=0.8)
    mast = x + 3.75 * mm_per_m
    axes.plot([mast, mast], [y + 0.9 * mm_per_m, y + 1.55 * mm_per_m], color="black", linewidth=1.2)
    tufts = ((2.9, 1.44, -3.0), (3.2, 1.42, -8.0), (3.75, 1.55, -5.0), (3.6, 1.22, 140.0))
    for ahead, above, turn in tufts:
        start = np.array([x + ahead * mm_per_m, y + above * mm_per_m])
        end = start + 6.0 * np.array([np.cos(np.radians(turn)), np.sin(np.radians(turn))])
        axes.plot(*np.array([start, end]).T, color="0.2", linewidth=1.6)
    axes.text(mast + 3.0, y + 1.68 * mm_per_m, "mast and tuft at the wing's place", fontsize=8, ha="right")
    axes.text(x + 1.2 * mm_per_m, y + 1.52 * mm_per_m, "lie still: in the stream", fontsize=8)
    axes.text(x + 2.0 * mm_per_m, y + 1.05 * mm_per_m, "whirl: in the wake", fontsize=8)


def _roof_form(axes, top: float) -> None:
    heads = ("place", *"12345", "mean", "band")
    for row, name in enumerate(("", *PLACES)):
        y = top - 11.0 * row
        for column, head in enumerate(heads):
            x = 20.0 if column == 0 else 50.0 + 17.0 * column
            text = (name if row else head) if column == 0 else (head if row == 0 else "")
            axes.text(x, y, text, fontsize=9, ha="left" if column == 0 else "center")
        axes.plot([20.0, 178.0], [y - 3.0, y - 3.0], color="0.6", linewidth=0.5)


def _protractor(axes, x: float, y: float) -> None:
    """Rays from a corner, a degree apart; it measures angles at any scale of the photo."""
    for degree in range(-MOST_DEG, MOST_DEG + 1):
        turn, long = np.radians(-degree), degree % 5 == 0
        start = 0.0 if degree == 0 else 30.0 if long else 90.0
        ends = np.outer(np.array([start, REACH_MM]), (np.cos(turn), np.sin(turn))) + (x, y)
        axes.plot(*ends.T, color="black" if long else "0.6", linewidth=0.6 if long else 0.3)
        if long:
            axes.text(x + (REACH_MM + 3.0) * np.cos(turn), y + (REACH_MM + 3.0) * np.sin(turn),
                      f"{degree:d}°".replace("-", "−"), fontsize=9, va="center")  # fmt: skip
    axes.text(
        x, y + 48.0, "air goes this way  →    level line along 0°, fork of the tuft at the corner", fontsize=9
    )


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
