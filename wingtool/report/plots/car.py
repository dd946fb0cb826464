"""Pictures of the car: see-saw, matched settings, corners, place of the wing, the wing as a beam."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from wingtool.report.plots.style import ADVISED_SHADE, STYLES
from wingtool.report.text import degrees, figures, speed
from wingtool.units import M_S_PER_KM_H, M_S_PER_MPH, NEWTON_PER_KGF, NEWTON_PER_LBF

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from wingtool.study import CarResult


def car_pictures(car: CarResult) -> list[tuple[str, Callable[[Figure], None], tuple[float, float]]]:
    """Name, function and size [in] of each picture."""
    pictures = [
        ("matched_settings", draw_matched, (7.0, 4.6)),
        ("corner_speed", draw_corners, (7.0, 5.6)),
        ("wing_place", draw_place, (7.0, 5.0)),
    ]
    if car.lap is not None:
        pictures.append(("sideways_load", draw_sideways, (7.0, 6.0)))
    if car.beam is not None:
        pictures.append(("wing_beam", draw_beam, (7.0, 7.0)))
    return [(name, partial(draw, car=car), size) for name, draw, size in pictures]


def draw_matched(figure: Figure, car: CarResult) -> None:
    """Front downforce that keeps the balance for each wing angle; what the fitted front end may give."""
    ax = figure.subplots()
    m = car.matched
    ax.plot(m.wing_angle_deg, m.front_force_n, label="front needed to keep the balance", **STYLES[0])
    ax.plot(m.wing_angle_deg, m.wing_downforce_n, label="wing", **STYLES[1])
    if m.fitted_high_n > 0.0:
        ax.axhspan(m.fitted_low_n, m.fitted_high_n, **ADVISED_SHADE)
        box = {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1.5}
        origin = (car.splitter if car.splitter.name != "none" else car.air_dam).origin
        text = f"fitted front end: estimate ({origin})"
        ax.text(0.98, m.fitted_low_n, text, transform=ax.get_yaxis_transform(), ha="right", va="bottom",
                fontsize=8, bbox=box)  # fmt: skip
    ax.set_xlabel("wing angle, chord line against the horizontal [degrees]")
    ax.set_ylabel("downforce [N]")
    _lbf(ax)
    ax.set_title(f"Matched settings at {speed(m.speed_m_s)}, from low to high downforce")
    ax.legend(loc="upper left")


def draw_corners(figure: Figure, car: CarResult) -> None:
    """Gain of corner speed over radius, and the speeds themselves."""
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(3, 2))
    c = car.corners
    rows = (
        (c.without_m_s, c.without_m_s, "bare car, as fitted", STYLES[3]),
        (c.with_m_s, c.without_m_s, "with the parts, as fitted", STYLES[0]),
        (
            c.retuned_m_s,
            c.retuned_without_m_s,
            "with the parts, retuned (gain: over the retuned bare car)",
            STYLES[2],
        ),
    )
    for value, _, label, style in rows:
        upper.plot(c.radius_m, value / M_S_PER_KM_H, label=label, **style)
    for value, bare, _, style in rows[1:]:
        lower.plot(c.radius_m, (value - bare) / M_S_PER_KM_H, **style)
    lower.axhline(0.0, color="#222222", linewidth=0.8)
    upper.set_ylabel("corner speed [km/h]")
    mph = upper.secondary_yaxis("right", functions=_times(M_S_PER_KM_H / M_S_PER_MPH))
    mph.set_ylabel("mph")
    upper.legend(loc="upper left")
    lower.set_ylabel("gained [km/h]")
    lower.set_xlabel("radius of the driven line [m]")
    lower.set_xscale("log")
    ticks = [12, 25, 50, 100, 200, 400]
    lower.set_xticks(ticks, [str(t) for t in ticks])
    lower.minorticks_off()
    levels = ((car.felt_fitted.value, "as fitted"), (car.felt_retuned.value, "retuned"))
    felt = [f"{speed(value)} {word}" for value, word in levels if np.isfinite(value)]
    upper.set_title(
        "Corners; felt above " + " and ".join(felt) if felt else "Corners; the parts are not felt"
    )


def draw_place(figure: Figure, car: CarResult) -> None:
    """Front share of the load over height, setback of the wing; hatched: against the user's rules."""
    ax = figure.subplots()
    p = car.place
    share = 100.0 * p.front_share
    shown = ax.contour(p.setback_m, p.height_m, share, levels=8, colors=STYLES[0]["color"])
    ax.clabel(shown, fmt="%.4g %%", fontsize=8, inline_spacing=12)
    ax.margins(x=0.0)
    figure.draw_without_rendering()
    for text in shown.labelTexts:  # a short line in a corner has its number cut off by the frame
        box = text.get_window_extent()
        if not all(ax.bbox.contains(x, y) for x, y in box.corners()):
            text.remove()
    if not p.allowed.all():
        forbidden = (~p.allowed).astype(float)
        ax.contourf(p.setback_m, p.height_m, forbidden, levels=[0.5, 1.5], colors=["#bbbbbb"], alpha=0.45,
                    hatches=["//"])  # fmt: skip
    here = car.wing
    m = here.index(car.set_angle_deg)
    ax.plot(here.x_m - car.car.wheelbase_m, here.height_m[m], marker="*", markersize=12,
            color=STYLES[1]["color"], linestyle="none", label="as in the study")  # fmt: skip
    ax.legend(loc="upper right")
    ax.set_xlabel("wing behind the rear axle [m]")
    ax.set_ylabel("wing above the ground [m]")
    hatched = "; hatched: your rules forbid" if not p.allowed.all() else ""
    ax.set_title(f"Front share of the load at {speed(p.speed_m_s)}{hatched}\n{p.note}", fontsize=10)


def draw_beam(figure: Figure, car: CarResult) -> None:
    """Load, shear, bending and sag along the span at the worst case of the table."""
    beam = car.beam
    assert beam is not None
    rows = [("load [N/m]", beam.load_n_m), ("shear [N]", beam.shear_n), ("bending [N m]", beam.bending_nm)]
    if np.any(np.isfinite(beam.sag_m)):
        rows.append(("sag [mm]", 1000.0 * beam.sag_m))
    axes = figure.subplots(len(rows), 1, sharex=True)
    for ax, (label, value), style in zip(axes, rows, STYLES, strict=False):
        ax.plot(beam.y_m, value, color=style["color"], linewidth=1.8)
        ax.fill_between(beam.y_m, 0.0, value, color=style["color"], alpha=0.15, linewidth=0)
        ax.set_ylabel(label)
        ax.axhline(0.0, color="#222222", linewidth=0.8)
        for y in beam.support_y_m:
            ax.axvline(y, color="#777777", linestyle=":", linewidth=1.0)
    if len(rows) == 4:
        axes[3].invert_yaxis()
    axes[-1].set_xlabel("along the span, from the middle [m]; dotted: stands")
    one = car.mounts
    if one is not None:
        bags = f"{figures(one.proof_down_n)} N ({figures(one.proof_down_n / NEWTON_PER_KGF)} kg of sandbags)"
        where = f"{speed(one.speed_m_s)}, wing at {degrees(one.wing_angle_deg)}, high end of the band"
        title = (
            f"Worst case of the table: {where}\nwithout gust and shock; proof-load at {bags} before you drive"
        )
        axes[0].set_title(title, fontsize=10)


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


def _lbf(ax: Axes) -> None:
    ax.secondary_yaxis("right", functions=_times(1.0 / NEWTON_PER_LBF)).set_ylabel("lbf")


def _times(factor: float):
    return (lambda values: values * factor), (lambda values: values / factor)
