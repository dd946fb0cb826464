"""Pictures of a study: pressure around the section, forces over angle, downforce over speed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.report.plots.car import write_car_plots
from wingtool.report.plots.style import ADVISED_SHADE, STALL_SHADE, STYLES, save
from wingtool.report.tables.choices import draw_places, has_contours
from wingtool.units import M_S_PER_KM_H, M_S_PER_MPH, NEWTON_PER_KGF, NEWTON_PER_LBF

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from wingtool.study import StudyResult


def write_plots(result: StudyResult, folder: Path | str) -> list[Path]:
    """Write the pictures, each as PNG and SVG; returns the paths."""
    folder = Path(folder)
    written = save(lambda figure: draw_pressure(figure, result), folder / "pressure", (7.0, 5.6))
    written += save(lambda figure: draw_angles(figure, result), folder / "forces_over_angle", (7.0, 6.4))
    written += save(lambda figure: draw_speeds(figure, result), folder / "downforce_over_speed")
    places, roof = result.places, result.study.roof
    if places and roof and has_contours(places):
        here = (roof.wing_behind_m, result.study.wing.height_m)
        written += save(
            lambda figure: draw_places(figure, places, here), folder / "force_over_place", (9.0, 4.8)
        )
    return written + (write_car_plots(result.car, folder) if result.car else [])


def draw_pressure(figure: Figure, result: StudyResult) -> None:
    """Pressure coefficient along the chord, over the section as it sits on the car."""
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(3, 2))
    first = 0
    for xy in result.flow.elements:
        cp = result.flow.cp[0, first : first + len(xy)]
        nose = int(np.argmin(xy[:, 0]))
        sides = (("underside (the suction side)", slice(0, nose + 1)), ("top side", slice(nose, None)))
        for (label, part), style in zip(sides, STYLES, strict=False):
            line = {key: style[key] for key in ("color", "linestyle")}
            upper.plot(xy[part, 0], cp[part], label="_" if first else label, linewidth=1.8, **line)
            lower.plot(xy[part, 0], -xy[part, 1], linewidth=1.8, **line)
        first += len(xy)
    upper.invert_yaxis()
    upper.axhline(0.0, color="#888888", linewidth=0.8)
    upper.set_ylabel("pressure coefficient cp\n(up: suction)")
    upper.legend(loc="upper right")
    alpha = float(result.flow.alpha_deg[0])
    upper.set_title(f"{result.section.name}: pressure without friction, section angle {alpha:.1f}°")
    lower.set_aspect("equal", adjustable="datalim")
    lower.set_xlabel("along the chord, nose 0 to tail 1 (air comes from the left)")
    lower.set_ylabel("as on the car,\nturned over")


def draw_angles(figure: Figure, result: StudyResult) -> None:
    """Downforce and drag over wing angle at three speeds; stall and the advised range shaded."""
    from wingtool.study import three_of

    axes = figure.subplots(2, 1, sharex=True)
    wing = result.wing
    for ax, quantity in zip(axes, ("downforce", "drag"), strict=True):
        for k, style in zip(three_of(len(wing.speed_m_s)), STYLES, strict=False):
            speed = wing.speed_m_s[k]
            label = f"{speed / M_S_PER_KM_H:.0f} km/h ({speed / M_S_PER_MPH:.0f} mph)"
            _with_band(ax, wing.wing_angle_deg, wing, quantity, (k, slice(None)), label, style)
        _shade(ax, result, ax is axes[0])
        _second_scale(ax, NEWTON_PER_LBF, "lbf")
        ax.set_ylabel(f"{quantity} [N]")
    axes[1].legend(loc="upper left", fontsize=9)
    axes[0].set_title("Downforce and drag over wing angle; the tint is the band")
    axes[1].set_xlabel("wing angle, chord line against the horizontal [degrees]")


def draw_speeds(figure: Figure, result: StudyResult) -> None:
    """Downforce over speed at the start angle and the ends of the advised range, in N, kgf and lbf."""
    ax = figure.subplots()
    wing, advice = result.wing, result.advice
    wanted = [a for a in (advice.start_deg, advice.high_deg) if np.isfinite(a)] or [wing.wing_angle_deg[0]]
    for angle, style in zip(dict.fromkeys(wanted), STYLES, strict=False):
        m = int(np.argmin(np.abs(wing.wing_angle_deg - angle)))
        _with_band(
            ax, wing.speed_m_s / M_S_PER_KM_H, wing, "downforce", (slice(None), m), f"{angle:g}°", style
        )
    ax.legend(title="wing angle", loc="upper left")
    ax.set_xlabel("speed [km/h]")
    ax.set_ylabel("downforce [N]")
    ax.set_ylim(bottom=min(0.0, ax.get_ylim()[0]))
    _second_scale(ax, NEWTON_PER_KGF, "kgf")
    _second_scale(ax, NEWTON_PER_LBF, "lbf", 1.14)
    ratio = M_S_PER_MPH / M_S_PER_KM_H
    mph = ax.secondary_xaxis("top", functions=_times(1.0 / ratio))
    mph.set_xlabel("speed [mph]")


def _with_band(ax: Axes, x, wing, quantity: str, index, label: str, style: dict) -> None:
    value, low, high = getattr(wing, quantity)[index]
    ax.fill_between(x, low, high, color=style["color"], alpha=0.15, linewidth=0)
    ax.plot(x, value, label=label, **style)


def _shade(ax: Axes, result: StudyResult, named: bool) -> None:
    advice = result.advice
    last = float(result.wing.wing_angle_deg[-1])
    if np.isfinite(advice.stall_deg) and advice.stall_deg < last:
        _span(ax, advice.stall_deg, last, "stalled" if named else "", STALL_SHADE)
    if np.isfinite(advice.start_deg):
        _span(ax, advice.start_deg, advice.high_deg, "advised" if named else "", ADVISED_SHADE)


def _span(ax: Axes, low: float, high: float, word: str, shade: dict) -> None:
    ax.axvspan(low, high, **shade)
    box = {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1.5}
    if word:
        middle = 0.5 * (low + high)
        ax.text(middle, 0.97, word, bbox=box, transform=ax.get_xaxis_transform(), ha="center", va="top")


def _second_scale(ax: Axes, newton: float, unit: str, place: Any = "right") -> None:
    scale = ax.secondary_yaxis(place, functions=_times(1.0 / newton))
    scale.set_ylabel(unit)


def _times(factor: float) -> tuple[Any, Any]:
    return (lambda values: values * factor), (lambda values: values / factor)
