"""What is written about one inspected section: lines on the screen, picture or table, full-size template.

The picture shows the outline with its points, nose and tail enlarged, and how the sides bend.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.errors import OutputError
from wingtool.geometry import polyline
from wingtool.report.formats.table_files import write_table
from wingtool.report.plots.style import METADATA, STYLES, save
from wingtool.report.tables.section import shape_rows, shape_table
from wingtool.study import Inspection
from wingtool.units import METRE_PER_INCH, quantity

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from wingtool.study import Inspection


UPPER = {"color": STYLES[0]["color"], "linestyle": "-", "linewidth": 1.6}
LOWER = {"color": STYLES[1]["color"], "linestyle": "--", "linewidth": 1.6}


def draw_section(figure: Figure, inspection: Inspection) -> None:
    """The section as drawn (lifting upwards), its nose and tail, and its curvature."""
    axes = figure.subplot_mosaic(
        [["whole", "whole"], ["nose", "tail"], ["bend", "bend"]], height_ratios=(3, 3, 3)
    )
    _whole(axes["whole"], inspection)
    _enlarged(axes["nose"], inspection, (-0.02, 0.14), "nose")
    _enlarged(axes["tail"], inspection, (0.90, 1.012), "tail")
    _bend(axes["bend"], inspection)


def _outline(ax: Axes, inspection: Inspection) -> int:
    smooth, given = inspection.smooth.xy, inspection.section.xy
    nose = int(np.argmin(smooth[:, 0]))
    ax.fill(*smooth.T, color="#eef2f6", zorder=0)
    ax.plot(*smooth[: nose + 1].T, label="upper side", **UPPER)
    ax.plot(*smooth[nose:].T, label="lower side", **LOWER)
    ax.plot(*smooth[[0, -1]].T, color="#222222", linewidth=1.6)
    ax.plot(*given.T, ".", color="#222222", markersize=3.5, label="points given")
    return nose


def _whole(ax: Axes, inspection: Inspection) -> None:
    m = inspection.measures
    _outline(ax, inspection)
    stations = np.linspace(0.0, 1.0, 201)
    upper, lower = polyline.sides(inspection.smooth.xy, stations)
    ax.plot(stations, 0.5 * (upper + lower), color=STYLES[2]["color"], linestyle="-.", label="mean line")
    at = np.interp(m.thickness_x, stations, upper), np.interp(m.thickness_x, stations, lower)
    ax.annotate(
        "", (m.thickness_x, at[0]), (m.thickness_x, at[1]), arrowprops={"arrowstyle": "<->", "color": "#555"}
    )
    text = f"{100 * m.thickness:.1f} % thick at {100 * m.thickness_x:.0f} %"
    ax.annotate(text, (m.thickness_x, np.mean(at)), xytext=(6, -18), textcoords="offset points", fontsize=9)
    camber = f"; {100 * m.camber:.1f} % camber at {100 * m.camber_x:.0f} %" if np.isfinite(m.camber_x) else ""
    ax.set_title(f"{inspection.section.name}: {len(inspection.section.xy)} points{camber}")
    ax.set_aspect("equal", adjustable="datalim")
    ax.set_xlabel("along the chord; drawn lifting up, on the car it is turned over")
    ax.legend(loc="upper right", fontsize=8, ncols=2)


def _enlarged(ax: Axes, inspection: Inspection, reach: tuple[float, float], name: str) -> None:
    _outline(ax, inspection)
    smooth, m = inspection.smooth.xy, inspection.measures
    middle = smooth[np.argmin(smooth[:, 0]), 1] if name == "nose" else smooth[[0, -1], 1].mean()
    half = 0.26 * (reach[1] - reach[0])  # as wide as the frame is for its height
    ax.set_xlim(*reach)
    ax.set_ylim(middle - half, middle + half)
    ax.set_aspect("equal", adjustable="box")
    if name == "nose":
        ax.set_title(f"nose: radius {100 * m.nose_radius:.1f} % of the chord", fontsize=10)
    else:
        ax.set_title(f"tail: gap {100 * m.tail_gap:.2f} %, angle {m.tail_angle_deg:.0f}°", fontsize=10)


def _bend(ax: Axes, inspection: Inspection) -> None:
    """Curvature of each side behind the nose: a fair side is one smooth sweep, waves show as zigzag."""
    smooth = inspection.smooth.xy
    a, b = np.diff(smooth, axis=0)[:-1], np.diff(smooth, axis=0)[1:]
    sides = np.linalg.norm(a, axis=1) * np.linalg.norm(b, axis=1) * np.linalg.norm(a + b, axis=1)
    curvature = 2.0 * (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / sides
    x = smooth[1:-1, 0]
    nose = int(np.argmin(x))
    behind = (x > 0.05) & (x < 0.99)
    for part, style, name in (
        (slice(0, nose), UPPER, "upper side"),
        (slice(nose, None), LOWER, "lower side"),
    ):
        keep = behind[part]
        ax.plot(x[part][keep], curvature[part][keep], label=name, **style)
    ax.axhline(0.0, color="#888888", linewidth=0.8)
    ax.set_xlim(-0.02, 1.02)
    ax.set_xlabel("along the chord")
    ax.set_ylabel("bend: chord / radius,\nhollow below 0")
    waves = [warning for warning in inspection.measures.warnings if "wave" in warning]
    verdict = "waves that would trip the flow" if waves else "no wave that would trip the flow"
    ax.set_title(f"how the sides bend: {verdict}", fontsize=10)
    ax.legend(loc="upper right", fontsize=8)


def inspection_lines(inspection: Inspection) -> list[str]:
    """Repairs and warnings, then measures to few figures, in per cent of the chord and at the chord told."""
    section, chord_m = inspection.section, inspection.chord_m
    lines = [f"{section.name}: {len(section.xy)} points"]
    lines += [f"repaired: {repair}" for repair in section.repairs] or ["repaired: nothing"]
    if section.rounding > 1e-6:
        lines.append(f"rounding of the file ({2 * section.rounding:.1g} of the chord) smoothed")
    lines += [f"check: {doubt}" for doubt in section.doubts]
    warned = [f"warning: {warning}" for warning in inspection.measures.warnings]
    lines += warned or ([] if section.doubts else ["warnings: none"])
    for name, value, unit, place in shape_rows(inspection):
        at = f" at {place:.0f} % chord" if place is not None and place == place else ""
        size = ""
        if chord_m and unit == "%":
            length_m = value / 100.0 * chord_m
            size = f"  {1000 * length_m:6.1f} mm  {length_m / METRE_PER_INCH:6.2f} in"
        figures = f"{value:.2f}" if abs(value) < 1.0 else f"{value:#.3g}"
        lines.append(f"  {name:<26}{figures:>6} {unit:<4}{size}{at}".rstrip())
    return [*lines, f"origin: {section.origin}"]


def write_inspection(inspection: Inspection, path: Path | str) -> list[Path]:
    """Write the picture or, for .json and .csv, the table; the ending chooses. Returns what was written."""
    path = Path(path)
    if path.suffix.lower() in (".json", ".csv"):
        return write_table(shape_table(inspection), path)
    if path.suffix.lower() not in METADATA:
        known = ", ".join([*METADATA, ".json", ".csv"])
        raise OutputError(f"{path}: unknown format {path.suffix!r}; end the name in {known}")
    draw = partial(draw_section, inspection=inspection)
    return save(draw, path.with_suffix(""), (9.0, 7.6), (path.suffix,))


def write_template(inspection: Inspection, path: Path | str, skin: str = "0 mm", wire: str = "0 mm") -> Path:
    """Write the outline at full size in millimetres, with a scale to measure after printing.

    Parameters
    ----------
    path : Path
        FILE.svg, .dxf, or .pdf (tiled over A4 sheets).
    skin, wire : str
        Skin thickness taken off, and width that a hot wire melts, with their units.

    Raises
    ------
    WingtoolError
        No chord was told; a skin or wire that cannot be; an unknown ending; a place that cannot be written.
    """
    from wingtool.report.inspect.drawing_files import write_outline
    from wingtool.report.inspect.outline import cutting_outline

    if inspection.chord_m is None:
        raise OutputError(f'{path}: a full-size template needs the chord; add for example --chord "250 mm"')
    skin_mm, wire_mm = (
        1000.0 * quantity(text, "length", key) for text, key in ((skin, "--skin"), (wire, "--wire"))
    )
    return write_outline(cutting_outline(inspection.smooth, inspection.chord_m, skin_mm, wire_mm), path)
