"""Pictures of a study as files: the page's, and those that the page has no room for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.report.page.write import figures_of, write_figures
from wingtool.report.plots.car import car_pictures
from wingtool.report.plots.places import force_over_place

if TYPE_CHECKING:
    from wingtool.study import StudyResult

FEWEST_PLACES = 8  # with a number, for a picture


def write_plots(result: StudyResult, folder: Path | str) -> list[Path]:
    """Write the pictures as SVG files that stand alone; returns their paths."""
    more = []
    if result.places and np.isfinite(result.places.downforce.n).sum() > FEWEST_PLACES:
        more.append(force_over_place(result))
    more += car_pictures(result.car, result.study.units) if result.car else []
    return write_figures([*figures_of(result), *more], folder)
