"""One figure for each result object, for notebooks: `plot(result)` or `plot(result, ax)`."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.errors import RangeError
from wingtool.report.plots.style import STYLES
from wingtool.units import M_S_PER_KM_H

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def plot(result: Any, ax: Axes | None = None, **choice) -> Axes:
    """Draw a result object and return the axes.

    Parameters
    ----------
    result : Section, InviscidFlow, SectionPolar, WingPolar, StudyResult, CarResult or SweepGrid
    ax : matplotlib Axes, optional
        Where to draw; new axes if left out.
    **choice
        ``quantity`` for polars and wings, for example ``plot(wing_polar, quantity="drag_n")``.

    Raises
    ------
    RangeError
        An object that has no figure.

    Examples
    --------
    >>> from wingtool import four_digit, plot
    >>> plot(four_digit("4412")).get_title()
    '4412'
    """
    kind = type(result).__name__
    if kind not in FIGURES:
        raise RangeError(f"there is no figure for {kind}; there are {', '.join(FIGURES)}")
    if ax is None:
        from matplotlib.figure import Figure

        ax = Figure(figsize=(7.0, 4.6), layout="constrained").subplots()
    FIGURES[kind](result, ax, **choice)
    return ax


def _section(section, ax: Axes) -> None:
    ax.plot(*section.xy.T, color=STYLES[0]["color"])
    ax.set_aspect("equal")
    ax.set(title=section.name, xlabel="x over chord", ylabel="y over chord, lifting upwards")


def _flow(flow, ax: Axes) -> None:
    first = 0
    for element, style in zip(flow.elements, _styles(), strict=False):
        ax.plot(element[:, 0], flow.cp[0, first : first + len(element)], color=style["color"])
        first += len(element)
    ax.invert_yaxis()
    ax.set(title=f"pressure without friction at {flow.alpha_deg[0]:.1f}°", xlabel="x over chord", ylabel="cp")


def _polar(polar, ax: Axes, quantity: str = "cl") -> None:
    for reynolds, row, style in zip(polar.reynolds, getattr(polar, quantity), _styles(), strict=False):
        ax.plot(polar.alpha_deg, row, label=f"Re {reynolds:.2g}", **style)
    name = polar.section.name if polar.section else "section"
    ax.set(title=f"{name}, {polar.method}", xlabel="angle of attack [degrees]", ylabel=quantity)
    ax.legend()


def _wing(wing, ax: Axes, quantity: str = "downforce_n") -> None:
    for k, style in zip(range(len(wing.speed_m_s)), _styles(), strict=False):
        label = f"{wing.speed_m_s[k] / M_S_PER_KM_H:.0f} km/h"
        force = {"downforce_n": wing.downforce, "drag_n": wing.drag}.get(quantity)
        column = getattr(wing, quantity) if force is None else force.n
        ax.plot(wing.wing_angle_deg, column[k], label=label, **style)
        if force is not None:
            low_n, high_n = force.low_n[k], force.high_n[k]
            ax.fill_between(wing.wing_angle_deg, low_n, high_n, color=style["color"], alpha=0.12, linewidth=0)
    ax.set(title="wing", xlabel="wing angle [degrees]", ylabel=quantity)
    ax.legend()


def _study(result, ax: Axes, quantity: str = "downforce_n") -> None:
    _wing(result.wing, ax, quantity)
    if np.isfinite(result.advice.start_deg):
        ax.axvspan(result.advice.start_deg, result.advice.high_deg, alpha=0.15, color=STYLES[2]["color"])
    ax.set_title(result.study.title)


def _car(car, ax: Axes) -> None:
    names = [
        "all parts on" if case.lost_part == "nothing" else f"without {case.lost_part}" for case in car.left
    ]
    ax.barh(names, [case.shift_percent for case in car.left], color=STYLES[0]["color"])
    ax.axvline(0.0, color="black", linewidth=0.8)
    ax.invert_yaxis()
    speed = car.reference_speed_m_s / M_S_PER_KM_H
    ax.set(title=f"balance at {speed:.0f} km/h", xlabel="load moved to the front axle [per cent]")


def _sweep(grid, ax: Axes, quantity: str = "cl") -> None:
    sets = np.column_stack([grid.section, grid.height_chord.astype(str), grid.reynolds.astype(str)])
    for one, style in zip(np.unique(sets, axis=0), _styles(), strict=False):
        rows = (sets == one).all(axis=1)
        label = f"{one[0]}, Re {float(one[2]):.2g}" + ("" if one[1] == "inf" else f", h/c {one[1]}")
        ax.plot(grid.alpha_deg[rows], getattr(grid, quantity)[rows], label=label, **style)
    ax.set(title=f"{grid.method} sweep", xlabel="angle of attack [degrees]", ylabel=quantity)
    ax.legend()


def _styles():
    """The four styles with ever more transparent copies."""
    return ({**style, "alpha": alpha} for alpha in (1.0, 0.6, 0.35) for style in STYLES)


FIGURES: dict[str, Callable[..., None]] = {
    "Section": _section,
    "InviscidFlow": _flow,
    "SectionPolar": _polar,
    "WingPolar": _wing,
    "StudyResult": _study,
    "CarResult": _car,
    "SweepGrid": _sweep,
}
