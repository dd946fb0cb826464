"""What all sheets to print share: a page in millimetres, title, steps, the line that checks the scale."""

import textwrap
from functools import lru_cache
from typing import Any

from wingtool.files import toml_beside
from wingtool.tracing import sheet
from wingtool.units import MM_PER_INCH

SCALE_CHECK_MM = 100.0


def new_page(paper: str, heading: str = ""):
    """A figure of the paper's size, one axes in millimetres from its lower left corner, and the paper."""
    from matplotlib.figure import Figure

    target = sheet(paper)
    figure = Figure(figsize=(target.width_mm / MM_PER_INCH, target.height_mm / MM_PER_INCH))
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_xlim(0.0, target.width_mm)
    axes.set_ylim(0.0, target.height_mm)
    axes.set_axis_off()
    axes.text(20.0, target.height_mm - 20.0, heading, fontsize=14, weight="bold")
    return figure, axes, target


@lru_cache(maxsize=1)
def words() -> dict[str, Any]:
    """What the sheets say: steps by kind of sheet, and the commands."""
    return toml_beside(__file__, "../templates/sheets.toml")


def steps_page(paper: str, heading: str, kind: str, size: float = 11.0):
    """A page with the numbered steps of a sheet, wrapped; also the y below them."""
    figure, axes, target = new_page(paper, heading)
    x, y, leading = 20.0, target.height_mm - 34.0, size * 0.46
    steps = words()[kind] + ([] if kind == "roof" else [words()["road"]])
    for number, step in enumerate(steps, start=1):
        for k, line in enumerate(textwrap.wrap(step, 105)):
            axes.text(x, y, f"{number}." if k == 0 else "", fontsize=size, va="top")
            axes.text(x + 5.0, y, line, fontsize=size, va="top")
            y -= leading
        y -= 0.25 * leading
    return figure, axes, target, y


def draw_command(axes, x: float, y: float, kind: str, size: float, paper: str = "") -> None:
    """The command that reads what the sheet asks for, from y downwards."""
    text = words()["command"][kind].format(paper)
    axes.text(x, y, text, fontsize=size, family="monospace", va="top")


def scale_line(axes, x: float, y: float, ink: str = "black") -> None:
    axes.plot([x, x + SCALE_CHECK_MM], [y, y], color=ink, linewidth=0.6)
    for mm in range(0, int(SCALE_CHECK_MM) + 1, 10):
        axes.plot([x + mm, x + mm], [y, y + (3.0 if mm % 50 == 0 else 1.5)], color=ink, linewidth=0.6)
    axes.text(x + SCALE_CHECK_MM + 2.0, y, "100 mm", fontsize=7, va="bottom", color=ink)
