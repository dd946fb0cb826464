"""Pictures of a study: pressure around the section, forces over angle, downforce over speed."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.report.page.write import write_figures
from wingtool.report.plots.car import car_pictures
from wingtool.report.plots.style import STYLES, save
from wingtool.report.tables.choices import draw_places, has_contours

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from wingtool.study import StudyResult


def write_plots(result: StudyResult, folder: Path | str, endings: tuple[str, ...] = (".svg",)) -> list[Path]:
    """Write the page's pictures as SVG, further ones as SVG, or as PNG too; returns the paths."""
    folder = Path(folder)
    pictures: list[tuple[str, Callable[[Figure], None], tuple[float, float]]] = [
        ("pressure", partial(draw_pressure, result=result), (7.0, 5.6))
    ]
    places, roof = result.places, result.study.roof
    if places and roof and has_contours(places):
        here = (roof.wing_behind_m, result.study.wing.height_m)
        pictures.append(("force_over_place", partial(draw_places, places=places, here=here), (9.0, 4.8)))
    pictures += car_pictures(result.car) if result.car else []
    drawn = [path for name, draw, size in pictures for path in save(draw, folder / name, size, endings)]
    return write_figures(result, folder) + drawn


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
