"""Pictures of a trace: the outline over the photo, the fit with its points and band, residuals."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.errors import TraceError
from wingtool.geometry import polyline
from wingtool.report.plots.style import STYLES, save, write_figure

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from wingtool.study import TraceResult
    from wingtool.tracing import Fitted

UPPER, LOWER, OUTLIER = STYLES[0]["color"], STYLES[1]["color"], "#000000"
FOUND = "#ff2d00"
WRITTEN: dict[str, Any] = {"dpi": 120, "pil_kwargs": {"compress_level": 1}}  # photos hardly shrink by more
BAND_DRAWN = 5.0  # times its width, so that it can be seen


def _shown(axes, rgb: np.ndarray, low=(0, 0), high=None, step: int = 1) -> None:
    """A photo, or its part from column and row `low` to `high`, every `step`-th pixel drawn."""
    (left, top), (right, bottom) = low, rgb.shape[1::-1] if high is None else high
    extent = (left - 0.5, right - 0.5, bottom - 0.5, top - 0.5)
    part = rgb[top:bottom:step, left:right:step]
    axes.imshow(part, cmap="gray", vmin=0, vmax=255, extent=extent, interpolation="nearest")
    axes.set_axis_off()


def write_photo_picture(result: TraceResult, path: Path) -> Path | None:
    """Found outline and fit over the photo in colour, with crops in its own pixels; None without a photo."""
    from matplotlib.figure import Figure

    readings = result.fitted.readings
    if result.plane is None or result.photo is None or readings.photo_px is None:
        return None
    rgb = result.photo.rgb
    fit = result.plane.to_px(result.fitted.placed.loop_mm() * readings.lay)
    rows, columns = rgb.shape[:2]
    tall = 11.0 * rows / columns
    figure = Figure(figsize=(11.0, tall + 3.5))
    edges = {"left": 0.01, "right": 0.99, "bottom": 0.01, "top": 1.0 - 0.3 / (tall + 3.5)}
    grid = figure.add_gridspec(2, 4, height_ratios=(tall, 2.7), hspace=0.06, wspace=0.03, **edges)
    axes = figure.add_subplot(grid[0, :])
    _shown(axes, rgb, step=max(1, columns // 1300))
    axes.plot(*result.plane.marks_px.T, "o", markersize=12, markerfacecolor="none", markeredgecolor=FOUND)
    title = "Found edge (red), fitted section (blue dashes), less sure (yellow), marks (circles)"
    axes.set_title(title, fontsize=9, loc="left")
    unsure = readings.error_mm > 1.5 * np.median(readings.error_mm)
    places = _crop_places(result.fitted, readings.photo_px)
    half = max(60.0, 0.035 * float(np.ptp(readings.photo_px, axis=0).max()))
    for k, (name, centre) in enumerate(places.items()):
        small = figure.add_subplot(grid[1, k])
        low, high = np.clip([centre - half, centre + half], 0, [columns, rows]).astype(int)
        _shown(small, rgb, low, high)
        small.set_title(name, fontsize=9)
        _lines(small, readings.photo_px, unsure, fit, 1.4)
    _lines(axes, readings.photo_px, unsure, fit, 0.8)
    return write_figure(figure, path, **WRITTEN)


def _lines(axes, edge: np.ndarray, unsure: np.ndarray, fit: np.ndarray, width: float) -> None:
    """Found edge, fit, and the points that count less, over a photo whose limits stay."""
    axes.autoscale(False)
    axes.plot(*polyline.closed(edge).T, color=FOUND, linewidth=width)
    axes.plot(*fit.T, color="#2fa8ff", linewidth=width, linestyle="--")
    axes.plot(*edge[unsure].T, ".", color="#ffd000", markersize=3)


def _crop_places(fitted: Fitted, photo_px: np.ndarray) -> dict[str, np.ndarray]:
    """Nose, tail and the middle of both sides in the photo's pixels."""
    x, side = fitted.foot_x, fitted.foot_side
    return {
        "nose": photo_px[x.argmin()],
        "tail": photo_px[x.argmax()],
        "upper side": photo_px[(np.abs(x - 0.4) + 9.0 * (side != 1)).argmin()],
        "lower side": photo_px[(np.abs(x - 0.4) + 9.0 * (side != -1)).argmin()],
    }


def write_refusal_picture(error: TraceError, path: Path) -> Path | None:
    """What was seen in a photo that was refused; None when the error carries no picture."""
    from matplotlib.figure import Figure

    light = getattr(error, "light", None)
    if light is None:
        return None
    rows, columns = light.shape
    figure = Figure(figsize=(9.0, 9.0 * rows / columns + 0.9), layout="constrained")
    axes = figure.add_subplot()
    step = max(1, columns // 1600)
    _shown(axes, 255.0 * light ** (1 / 2.2), step=step)
    axes.set_title(f"Refused: {error}", fontsize=9, loc="left", wrap=True)
    axes.autoscale(False)
    for number, loop in enumerate(getattr(error, "loops_px", ())):
        axes.plot(*loop.T, color=FOUND if number == 0 else "#ffd000", linewidth=1.0)
    for mark in getattr(error, "marks_px", ()):
        axes.plot(*mark, "o", markersize=12, markerfacecolor="none", markeredgecolor=FOUND)
    return write_figure(figure, path, **WRITTEN)


def write_fit_picture(result: TraceResult, path: Path) -> Path:
    """Points, fitted outline with its band drawn five times wider, and residuals in mm."""

    def draw(figure: Figure) -> None:
        whole, rest = figure.subplots(2, 1, height_ratios=(3, 2), sharex=True)
        _fit(whole, result)
        _residuals(rest, result)

    return save(draw, path.with_suffix(""), (9.0, 6.4), (".png",))[0]


def _fit(axes, result: TraceResult) -> None:
    found, fitted = result.found, result.fitted
    xy = found.section.xy * found.chord_mm
    wide = (BAND_DRAWN * found.band_mm)[:, None] * polyline.outward(xy)
    ring = np.vstack([xy + wide, (xy - wide)[::-1]])
    label = f"where it lies 19 times in 20, drawn {BAND_DRAWN:g} times as wide"
    axes.fill(*ring.T, color="#00467f", alpha=0.18, linewidth=0, label=label)
    axes.plot(*xy.T, color=UPPER, linewidth=1.2, label="traced section")
    points = fitted.placed.to_chord(fitted.readings.points_mm) * found.chord_mm
    label = "measured points" + (" (pen line)" if fitted.readings.offset_mm else "")
    axes.plot(*points[~fitted.outlier].T, ".", color="#222222", markersize=3, label=label)
    if fitted.outlier.any():
        axes.plot(*points[fitted.outlier].T, "x", color=FOUND, label="left out")
    axes.set_aspect("equal", adjustable="datalim")
    axes.set_ylabel("mm")
    axes.set_title(
        f"{found.section.name}: chord {found.chord_mm:.0f} mm; points {fitted.apart} "
        f"(a reading is taken as good to {found.error_mm:.2g} mm)",
        fontsize=10,
        loc="left",
    )
    axes.legend(fontsize=8, loc="upper right")


def _residuals(axes, result: TraceResult) -> None:
    fitted = result.fitted
    for side, colour, marker, name in ((1, UPPER, "o", "upper"), (-1, LOWER, "s", "lower")):
        use = (fitted.foot_side == side) & ~fitted.outlier
        x_mm = fitted.foot_x[use] * result.found.chord_mm
        axes.plot(x_mm, fitted.residual_mm[use], marker, color=colour, markersize=3, label=name)
    error = result.found.error_mm
    axes.axhspan(-2 * error, 2 * error, color="#bbbbbb", alpha=0.4, label="expected of a good reading")
    axes.axhline(0.0, color="#666666", linewidth=0.6)
    axes.set_xlabel("from the nose, mm")
    axes.set_ylabel("off it, mm (outside +)")
    axes.legend(fontsize=8, ncols=3)
