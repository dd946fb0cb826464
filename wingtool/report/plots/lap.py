"""Pictures of the lap: where the time is, lap over wing angle, sideways load."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.report.plots.style import STALL_SHADE, STYLES
from wingtool.report.text import seconds
from wingtool.units import M_S_PER_KM_H

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from wingtool.study import CarResult


def draw_lap(figure: Figure, car: CarResult) -> None:
    """Speeds over the lap and the time gained since the line."""
    lap = car.lap
    assert lap is not None
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(3, 2))
    x = lap.fitted.difference.distance_m
    for speed, label, style in (
        (lap.fitted.without.speed_m_s[0], "bare car", STYLES[3]),
        (lap.fitted.with_parts.speed_m_s[0], "with the parts", STYLES[0]),
    ):
        upper.plot(x, speed / M_S_PER_KM_H, label=label, color=style["color"], linestyle=style["linestyle"])
    for trace, label, style in (
        (lap.fitted.difference, "as fitted", STYLES[0]),
        (lap.retuned.difference, "retuned, over the retuned bare car", STYLES[2]),
    ):
        lower.plot(x, trace.gain_s, label=label, color=style["color"], linestyle=style["linestyle"])
    lower.axhline(0.0, color="#222222", linewidth=0.8)
    for ax in (upper, lower):
        _shade_corners(ax, lap.circuit)
    _name_corners(upper, lap.circuit)
    upper.set_ylabel("speed [km/h]")
    lower.set_ylabel("time gained [s]\n(rising: the parts gain)")
    lower.set_xlabel("distance from the line [m]")
    upper.legend(loc="lower right", fontsize=8)
    lower.legend(loc="upper left", fontsize=8)
    pairs = ((lap.fitted.gain, "as fitted"), (lap.retuned.gain, "retuned"))
    gains = [f"{seconds(g.value)} s {how} ({seconds(g.low)} to {seconds(g.high)})" for g, how in pairs]
    upper.set_title(f"{lap.circuit.name}, gained a lap: {', '.join(gains)}", fontsize=10)


def draw_best(figure: Figure, car: CarResult) -> None:
    """Lap time over wing angle: how flat the optimum is."""
    ax = figure.subplots()
    assert car.lap is not None
    for best, style in zip(car.lap.best, STYLES, strict=False):
        ax.plot(best.wing_angle_deg, best.lap_time_s, label=best.name, **style)
        if np.isfinite(best.best_deg):
            ring: dict[str, Any] = {"marker": "o", "markersize": 11, "fillstyle": "none"}
            ax.plot(best.best_deg, best.best_time_s, color=style["color"], **ring)
    bare = float(car.lap.fitted.without.lap_time_s[0])
    ax.axhline(bare, color="#777777", linewidth=1.0)
    ax.annotate("bare car, as fitted", (0.01, bare), xycoords=("axes fraction", "data"),
                xytext=(0, 3), textcoords="offset points", fontsize=8)  # fmt: skip
    ax.set_xlabel("wing angle, chord line against the horizontal [degrees]")
    ax.set_ylabel("lap time of the estimate [s]")
    ax.set_title(f"{car.lap.circuit.name}: lap over wing angle; circle: best that keeps the stall margin")
    ax.legend(fontsize=8, loc="upper center", bbox_to_anchor=(0.5, -0.15), frameon=False)


def draw_sideways(figure: Figure, car: CarResult) -> None:
    """Seconds of a lap at each sideways load, and the longest spell above each level."""
    assert car.lap is not None
    upper, lower = figure.subplots(2, 1, sharex=True)
    pairs = (
        (car.lap.sustained_without, "bare car", STYLES[3], -1),
        (car.lap.sustained_with, "with, retuned (the harder case)", STYLES[0], 1),
    )
    for one, label, style, side in pairs:
        here = one.level_g >= 0.15
        middle = one.level_g[here] + 0.025 + side * 0.01
        upper.bar(middle, one.seconds[here], width=0.019, color=style["color"], label=label,
                  hatch="" if side > 0 else "//", edgecolor="white")  # fmt: skip
        lower.step(one.level_g, one.longest_s, where="post", label=label, color=style["color"],
                   linestyle=style["linestyle"])  # fmt: skip
    upper.set_ylabel("seconds a lap")
    upper.legend(loc="upper left")
    lower.set_ylabel("longest unbroken\nspell above [s]")
    lower.set_xlabel("sideways acceleration [g]")
    top = max(one.level_g[one.seconds > 0].max() for one, *_ in pairs) + 0.1
    lower.set_xlim(0.15, top)
    high = car.lap.sustained_without.longest_s[car.lap.sustained_without.level_g > 0.15]
    lower.set_ylim(0, 1.15 * max(high.max(initial=1.0), 1.0))
    before, after = car.lap.sustained_without.g_seconds, car.lap.sustained_with.g_seconds
    upper.set_title(
        f"How hard, how long: {before:.1f} g-seconds a lap without, {after:.1f} with", fontsize=10
    )


def _shade_corners(ax: Axes, circuit) -> None:
    turning = np.r_[False, circuit.curvature_1_m > 1e-3, False].astype(int)
    for a, b in zip(
        np.flatnonzero(np.diff(turning) == 1), np.flatnonzero(np.diff(turning) == -1), strict=True
    ):
        ax.axvspan(a * circuit.step_m, b * circuit.step_m, **(STALL_SHADE | {"hatch": "", "alpha": 0.25}))


def _name_corners(ax: Axes, circuit) -> None:
    for index, name in enumerate(circuit.names):
        here = np.flatnonzero(circuit.part == index)
        if here.size and np.median(circuit.curvature_1_m[here]) > 1e-3:
            ax.text(float(here.mean()) * circuit.step_m, 0.99, name, transform=ax.get_xaxis_transform(),
                    ha="center", va="top", fontsize=7)  # fmt: skip
