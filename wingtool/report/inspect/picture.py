"""A section looked at: outline with its points, nose and tail enlarged, and how the sides bend."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wingtool.geometry import polyline
from wingtool.report.plots.style import STYLES

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
