"""Pictures of a trace: the outline over the photo, the fit with its points and band, residuals."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import whole_file
from wingtool.report.plots.style import SETTINGS, STYLES

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from wingtool.study import TraceResult
    from wingtool.tracing import Fitted, Plane

UPPER, LOWER, OUTLIER = STYLES[0]["color"], STYLES[1]["color"], "#000000"
FOUND = "#ff2d00"
BAND_DRAWN = 5.0  # times its width, so that it can be seen


def _written(figure: Figure, path: Path) -> Path:
    with whole_file(path) as beside:
        figure.savefig(beside, dpi=150, metadata={"Software": "wingtool"})
    return path


def _photo_axes(light: np.ndarray, title: str):
    """A figure of the photo in grey, reduced to what a page shows."""
    from matplotlib.figure import Figure

    step = max(1, max(light.shape) // 1600)
    rows, columns = light.shape
    figure = Figure(figsize=(9.0, 9.0 * rows / columns + 0.7), layout="constrained")
    axes = figure.add_subplot()
    axes.imshow(
        light[::step, ::step] ** (1 / 2.2), cmap="gray", vmin=0.0, vmax=1.0, extent=(0, columns, rows, 0)
    )
    axes.set_axis_off()
    axes.set_title(title, fontsize=9, loc="left", wrap=True)
    return figure, axes


def write_photo_picture(result: TraceResult, path: Path) -> Path | None:
    """The outline that was found, over the photo; None when there was no photo."""
    from wingtool.tracing import read_photo

    readings = result.fitted.readings
    if result.plane is None or result.request.photo is None or readings.photo_px is None:
        return None
    figure, axes = _photo_axes(
        read_photo(result.request.photo).light,
        "Found outline (red), fitted section (blue dashes), marks (circles)",
    )
    axes.plot(*np.vstack([readings.photo_px, readings.photo_px[:1]]).T, color=FOUND, linewidth=0.8)
    axes.plot(
        *fitted_px(result.fitted, readings.photo_px, result.plane).T,
        color="#2fa8ff",
        linewidth=0.9,
        linestyle="--",
    )
    soft = readings.error_mm > 1.5 * np.median(readings.error_mm)
    axes.plot(*readings.photo_px[soft].T, ".", color="#ffd000", markersize=3)
    axes.plot(*result.plane.marks_px.T, "o", markersize=12, markerfacecolor="none", markeredgecolor=FOUND)
    return _written(figure, path)


def fitted_px(fitted: Fitted, photo_px: np.ndarray, plane: Plane) -> np.ndarray:
    """The fitted loop in the photo's pixels: out of the stored frame, through the sheet."""
    mirrored = (fitted.readings.points_mm * plane.to_mm(photo_px)).sum(axis=0) < 0.0
    return plane.to_px(fitted.placed.loop_mm() * np.where(mirrored, -1.0, 1.0))


def write_refusal_picture(error: TraceError, path: Path) -> Path | None:
    """What was seen in a photo that was refused; None when the error carries no picture."""
    light = getattr(error, "light", None)
    if light is None:
        return None
    figure, axes = _photo_axes(light, f"Refused: {error}")
    for number, loop in enumerate(getattr(error, "loops_px", ())):
        axes.plot(*loop.T, color=FOUND if number == 0 else "#ffd000", linewidth=1.0)
    return _written(figure, path)


def write_fit_picture(result: TraceResult, path: Path) -> Path:
    """Points, fitted outline with its band drawn five times wider, and residuals in mm."""
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(SETTINGS):
        figure = Figure(figsize=(9.0, 6.4), layout="constrained")
        whole, rest = figure.subplots(2, 1, height_ratios=(3, 2), sharex=True)
        _fit(whole, result)
        _residuals(rest, result)
        return _written(figure, path)


def _fit(axes, result: TraceResult) -> None:
    found, fitted = result.found, result.fitted
    xy = found.section.xy
    step = np.gradient(xy, axis=0)
    outward = np.column_stack([step[:, 1], -step[:, 0]]) / np.maximum(np.hypot(*step.T), 1e-12)[:, None]
    wide = (BAND_DRAWN * found.band_mm / found.chord_mm)[:, None] * outward
    ring = np.vstack([xy + wide, (xy - wide)[::-1]])
    axes.fill(
        *ring.T, color="#00467f", alpha=0.18, linewidth=0, label=f"95 % band, {BAND_DRAWN:g} times as wide"
    )
    axes.plot(*xy.T, color=UPPER, linewidth=1.2, label="fitted section")
    points = fitted.placed.to_chord(fitted.readings.points_mm)
    label = "measured points" + (" (pen line)" if fitted.readings.offset_mm else "")
    axes.plot(*points[~fitted.outlier].T, ".", color="#222222", markersize=3, label=label)
    if fitted.outlier.any():
        axes.plot(*points[fitted.outlier].T, "x", color=FOUND, label="left out")
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_ylabel("y / chord")
    axes.set_title(
        f"{found.section.name}: chord {found.chord_mm:.0f} mm, residual rms {found.rms_mm:.2f} mm, worst "
        f"{found.worst_mm:.2f} mm, stated error {found.error_mm:g} mm",
        fontsize=10,
        loc="left",
    )
    axes.legend(fontsize=8, loc="upper right")


def _residuals(axes, result: TraceResult) -> None:
    fitted = result.fitted
    for side, colour, marker, name in ((1, UPPER, "o", "upper"), (-1, LOWER, "s", "lower")):
        use = (fitted.foot_side == side) & ~fitted.outlier
        axes.plot(fitted.foot_x[use], fitted.residual_mm[use], marker, color=colour, markersize=3, label=name)
    error = result.found.error_mm
    axes.axhspan(-2 * error, 2 * error, color="#bbbbbb", alpha=0.4, label="twice the stated error")
    axes.axhline(0.0, color="#666666", linewidth=0.6)
    axes.set_xlabel("x / chord")
    axes.set_ylabel("point outside the fit, mm")
    axes.legend(fontsize=8, ncols=3)
