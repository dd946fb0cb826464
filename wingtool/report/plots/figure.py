"""One figure for each result object, for notebooks: `plot(result)` or `plot(result, ax)`."""

from __future__ import annotations

from itertools import cycle
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
    result : Section, InviscidFlow, SectionPolar, WingPolar, StudyResult or CarResult
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
    if kind not in LINES:
        raise RangeError(f"there is no figure for {kind}; there are {', '.join(LINES)}")
    if ax is None:
        from matplotlib.figure import Figure

        ax = Figure(figsize=(7.0, 4.6), layout="constrained").subplots()
    title, across, up, lines = LINES[kind](result, **choice)
    for (x, y, label), style in zip(lines, cycle(STYLES), strict=False):
        ax.plot(x, y, label=label, **style | {"marker": ""})
    ax.set(title=title, xlabel=across, ylabel=up)
    if any(label for *_, label in lines):
        ax.legend()
    if kind == "Section":
        ax.set_aspect("equal")
    return ax


def _section(section):
    return section.name, "x over chord", "y over chord, lifting upwards", [(*section.xy.T, "")]


def _flow(flow):
    edges = np.cumsum([len(xy) for xy in flow.elements])[:-1]
    parts = zip(flow.elements, np.split(-flow.cp[0], edges), strict=True)
    title = f"pressure without friction at {flow.alpha_deg[0]:.1f}°"
    return title, "x over chord", "minus cp", [(xy[:, 0], suction, "") for xy, suction in parts]


def _polar(polar, quantity: str = "cl"):
    rows = zip(polar.reynolds, getattr(polar, quantity), strict=True)
    name = polar.section.name if polar.section else "section"
    lines = [(polar.alpha_deg, row, f"Re {reynolds:.2g}") for reynolds, row in rows]
    return f"{name}, {polar.method}", "angle of attack [degrees]", quantity, lines


def _wing(wing, quantity: str = "downforce_n"):
    forces = {"downforce_n": wing.downforce.n, "drag_n": wing.drag.n}
    values = forces[quantity] if quantity in forces else getattr(wing, quantity)
    rows = zip(wing.speed_m_s / M_S_PER_KM_H, values, strict=True)
    lines = [(wing.wing_angle_deg, row, f"{speed:.0f} km/h") for speed, row in rows]
    return "wing", "wing angle [degrees]", quantity, lines


def _study(result, quantity: str = "downforce_n"):
    return result.study.title, *_wing(result.wing, quantity)[1:]


def _car(car):
    m = car.matched
    title = f"matched settings at {m.speed_m_s / M_S_PER_KM_H:.0f} km/h"
    lines = [(m.matched_front_n, "front that keeps the balance"), (m.wing_downforce_n, "wing")]
    return title, "wing angle [degrees]", "downforce [N]", [(m.wing_angle_deg, *line) for line in lines]


LINES: dict[str, Any] = {
    "Section": _section,
    "InviscidFlow": _flow,
    "SectionPolar": _polar,
    "WingPolar": _wing,
    "StudyResult": _study,
    "CarResult": _car,
}
