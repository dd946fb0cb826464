"""Outlines at full size for a saw, a wire or a machine: SVG, DXF, and PDF tiled over A4 sheets.

Each carries a scale to measure after printing. Lengths are millimetres.
"""

import io
from collections.abc import Iterator
from math import ceil
from pathlib import Path
from typing import Any

import numpy as np

from wingtool.errors import OutputError
from wingtool.files import write_text, write_whole
from wingtool.geometry import polyline
from wingtool.report.inspect.outline import Outline
from wingtool.report.page.write import render
from wingtool.report.plots.style import write_pages
from wingtool.units import MM_PER_INCH

SCALE_MM = 100.0
EDGE_MM = 12.0  # what home printers leave white, and some more
OVERLAP_MM = 10.0
A4_MM = (210.0, 297.0)
TEXT_MM = 3.5


def write_outline(outline: Outline, path: Path | str) -> Path:
    """Write an outline at full size; the ending of the name chooses .svg, .dxf or .pdf. Returns the path.

    Raises
    ------
    OutputError
        Another ending, or a place that cannot be written.
    """
    path = Path(path)
    writers = {".svg": _svg, ".dxf": _dxf, ".pdf": _pdf}
    if path.suffix.lower() not in writers:
        raise OutputError(
            f"{path}: unknown drawing format {path.suffix!r}; end the name in .svg, .dxf or .pdf"
        )
    return writers[path.suffix.lower()](outline, path)


def _bounds(outline: Outline) -> tuple[np.ndarray, np.ndarray]:
    """Lower left and upper right of all that is drawn: outline, section, and the scale below."""
    both = np.vstack([outline.xy_mm, outline.section_mm])
    low, high = both.min(axis=0), both.max(axis=0)
    high[0] = max(high[0], low[0] + SCALE_MM + 20.0)
    return low - np.array([2.0, 26.0]), high + 2.0


def _scale_start(outline: Outline) -> np.ndarray:
    low, _ = _bounds(outline)
    return low + np.array([14.0, 10.0])


def _svg(outline: Outline, path: Path) -> Path:
    low, high = _bounds(outline)

    def points(xy: np.ndarray) -> str:
        return " ".join(f"{x - low[0]:.4f},{high[1] - y:.4f}" for x, y in xy)

    (width, height), (x, up) = (high - low).round(4).tolist(), (_scale_start(outline) - low).tolist()
    lines = {"cut": points(outline.xy_mm), "chord": points(np.array([[0.0, 0.0], [outline.chord_mm, 0.0]]))}
    scale = {"x": f"{x:.4f}", "y": round(height - up, 4), "long": f"{SCALE_MM:g}", "text_mm": TEXT_MM}
    return write_text(path, render("rib.svg", size=(width, height), label=outline.label, **lines, **scale))


def _dxf(outline: Outline, path: Path) -> Path:
    import ezdxf
    from ezdxf import units

    document = ezdxf.new("R2000")
    document.units = units.MM
    for name, colour in (("CUT", 7), ("CHORD", 5), ("SCALE", 3)):
        document.layers.add(name, color=colour)
    space = document.modelspace()
    space.add_lwpolyline(outline.xy_mm.tolist(), close=True, dxfattribs={"layer": "CUT"})
    space.add_line((0.0, 0.0), (outline.chord_mm, 0.0), dxfattribs={"layer": "CHORD"})
    start = _scale_start(outline)
    space.add_line(start, start + np.array([SCALE_MM, 0.0]), dxfattribs={"layer": "SCALE"})
    for text, dy in ((f"This line is {SCALE_MM:g} mm", 2.0), (outline.label, -6.0)):
        note = space.add_text(text, height=TEXT_MM, dxfattribs={"layer": "SCALE"})
        note.set_placement(tuple(start + np.array([0.0, dy])))
    written = io.StringIO()
    document.write(written)
    return write_whole(path, written.getvalue().encode(document.output_encoding, "dxfreplace"))


def tiles(outline: Outline) -> list[tuple[float, float]]:
    """Lower left corner of what each A4 sheet (across) shows, row by row from the bottom."""
    low, high = _bounds(outline)
    sheet = np.array([A4_MM[1], A4_MM[0]]) - 2 * EDGE_MM
    step = sheet - OVERLAP_MM
    columns, rows = (max(1, ceil((high - low - OVERLAP_MM)[k] / step[k])) for k in (0, 1))
    return [(low[0] + c * step[0], low[1] + r * step[1]) for r in range(rows) for c in range(columns)]


def _pdf(outline: Outline, path: Path) -> Path:
    import matplotlib

    places = tiles(outline)
    settings: dict[Any, Any] = {"pdf.fonttype": 42, "path.simplify": False, "text.parse_math": False}
    with matplotlib.rc_context(settings):
        sheets = (_sheet(outline, at, f"sheet {n} of {len(places)}") for n, at in enumerate(places, 1))
        return write_pages(sheets, path, Title=outline.label)


def _sheet(outline: Outline, corner: tuple[float, float], name: str):
    """One A4 sheet, lying across, on which a millimetre of the outline is a millimetre of paper."""
    from matplotlib.figure import Figure

    width, height = A4_MM[1], A4_MM[0]
    figure = Figure(figsize=(width / MM_PER_INCH, height / MM_PER_INCH))
    frame = (EDGE_MM / width, EDGE_MM / height, 1 - 2 * EDGE_MM / width, 1 - 2 * EDGE_MM / height)
    ax = figure.add_axes(frame)
    ax.set_xlim(corner[0], corner[0] + width - 2 * EDGE_MM)
    ax.set_ylim(corner[1], corner[1] + height - 2 * EDGE_MM)
    ax.set_axis_off()
    ax.plot(*polyline.closed(outline.xy_mm).T, color="black", linewidth=0.5)
    ax.plot([0.0, outline.chord_mm], [0.0, 0.0], color="0.4", linewidth=0.4, linestyle="-.")
    ax.plot(*zip(*_marks(corner), strict=True), "+", color="black", markersize=17.0, markeredgewidth=0.4)
    start = _scale_start(outline)
    ax.plot([start[0], start[0] + SCALE_MM], [start[1]] * 2, color="black", linewidth=1.0, marker="|")
    small: dict[str, Any] = {"fontsize": 8, "clip_on": True}
    ax.text(
        start[0], start[1] + 2, f"This line is {SCALE_MM:g} mm. Print at 100 %, then measure it.", **small
    )
    ax.text(start[0], start[1] - 6, outline.label, **small)
    apart = f"along the sheet they stand {A4_MM[1] - 2 * EDGE_MM - OVERLAP_MM:g} mm apart"
    note = f"{name}; lay the crosses over each other; {apart}"
    figure.text(0.5, 0.5 * EDGE_MM / height, note, ha="center", fontsize=8)
    return figure


def _marks(corner: tuple[float, float]) -> Iterator[tuple[float, float]]:
    """Crosses in the overlap of neighbouring sheets, at the same place of the drawing on both."""
    sheet = np.array([A4_MM[1], A4_MM[0]]) - 2 * EDGE_MM
    half = 0.5 * OVERLAP_MM
    for x in (corner[0] + half, corner[0] + sheet[0] - half):
        for y in (corner[1] + half, corner[1] + sheet[1] - half):
            yield x, y
