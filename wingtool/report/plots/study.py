"""Pictures of a study as files: the page's, and those that the page has no room for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.report.page.svg import Figure, Frame, axes, curve, legend, nice_ticks, word
from wingtool.report.page.write import figures_of, write_figures
from wingtool.report.plots.car import car_pictures
from wingtool.report.plots.parts import field, with_text
from wingtool.report.text import degrees, force_scale, speed

if TYPE_CHECKING:
    from wingtool.study import StudyResult

FEWEST_PLACES = 8  # with a number, for a picture


def write_plots(result: StudyResult, folder: Path | str) -> list[Path]:
    """Write the pictures as SVG files that stand alone; returns their paths."""
    more = [pressure(result)]
    if result.places and np.isfinite(result.places.downforce.n).sum() > FEWEST_PLACES:
        more.append(force_over_place(result))
    more += car_pictures(result.car, result.study.units) if result.car else []
    return write_figures([*figures_of(result), *more], folder)


def pressure(result: StudyResult) -> Figure:
    """Pressure coefficient along the chord, over the section as it sits on the car."""
    elements, cp = result.flow.elements, result.flow.cp[0]
    every = np.concatenate(elements)
    ends = (float(every[:, 0].min()), float(every[:, 0].max()))
    upper = Frame(ends, (float(cp.max()), float(cp.min())), top=24, height=190)
    scale = upper.width / (ends[1] - ends[0])
    sides = (-float(every[:, 1].max()), -float(every[:, 1].min()))
    lower = Frame(ends, sides, top=232, height=scale * (sides[1] - sides[0]))
    names = [("one", "underside"), ("two", "top side")]
    parts = [axes(upper, "", "pressure coefficient cp (up: suction)", (), nice_ticks(upper.y[1], upper.y[0]))]
    first = 0
    for xy in elements:
        nose, own = int(np.argmin(xy[:, 0])), cp[first : first + len(xy)]
        for (kind, _), part in zip(names, (slice(0, nose + 1), slice(nose, None)), strict=True):
            parts += [
                curve(upper, xy[part, 0], own[part], kind),
                curve(lower, xy[part, 0], -xy[part, 1], kind),
            ]
        first += len(xy)
    parts.append(legend(names, 210, upper.top + 10))
    x, y = lower.at(ends[0], sides[0])
    parts.append(
        axes(
            Frame(ends, (0.0, 1.0), top=y, height=8),
            "along the chord, nose 0, air from the left",
            "",
            None,
            (),
        )
    )
    angle = degrees(round(float(result.flow.alpha_deg[0]), 1))
    sentence = f"{result.section.name} at {angle}, without friction."
    return with_text("pressure", parts, y + 42, "Pressure along the chord", sentence)


def force_over_place(result: StudyResult) -> Figure:
    """Downforce and drag over height and distance behind the roof; grey where there is no number."""
    places, roof, units = result.places, result.study.roof, result.study.units
    assert places is not None
    assert roof is not None
    here, parts, top = (roof.wing_behind_m, result.study.wing.height_m), [], 42.0
    sentences = (
        f"Wing at {degrees(places.wing_angle_deg)} and {speed(places.speed_m_s, units)};"
        " ring: as in the study; grey: wake or car.",
        "From the side view alone: wide band, tufts decide.",
    )
    for name in ("downforce", "drag"):
        value = getattr(places, name).n / force_scale(units)
        parts.append(word(8, top - 22, f"{name} [{units.force}]", "start", "strong"))
        titles = ("quarter chord behind the roof edge [m]", "lowest point above the ground [m]")
        more, floor = field(places.behind_roof_m, places.height_m, value, here, top, *titles, 3)
        parts += more
        top = floor + 42.0
    return with_text("force_over_place", parts, top - 42.0, "Force over the wing's place", *sentences)
