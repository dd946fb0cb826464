"""The folders of a choice and of building errors: page, picture, table; what the best section is cut from.

The pictures: the ten best sections to one scale with their numbers; where a section must be built true.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.errors import OutputError
from wingtool.files import words_beside, write_text
from wingtool.geometry import Section, measure, repanel, write_section
from wingtool.report.choose import text
from wingtool.report.formats.table_files import write_table
from wingtool.report.inspect.write import write_template
from wingtool.report.page.write import own_markup, render
from wingtool.report.plots.style import STYLES, save
from wingtool.report.text import degrees, own_force, signed, speed, tenths
from wingtool.study import Choice, Inspection, Tolerances

if TYPE_CHECKING:
    from matplotlib.figure import Figure


WORDS = words_beside(__file__, "folder")
MOST_DRAWN = 10
COLOURS = ("#b3261e", "#d97706", "#2f6f4f")  # most to least harm, of three thirds of the list
WIDTHS = (5.0, 3.5, 2.2)
DRAWN_PANELS = 400


def draw_choice(figure: Figure, choice: Choice) -> None:
    """Sections one below the other at one scale, suction side down as on the car, numbers beside them."""
    found = choice.ranked[:MOST_DRAWN]
    figure.set_size_inches(7.0, 1.0 + 0.74 * len(found))
    number = [k for k, group in enumerate(choice.groups, start=1) for _ in group]
    terms = choice.terms
    chord_mm, units, aim = 1000.0 * terms.study.wing.chord_m, terms.study.units, terms.aim.kind
    what = {"lap": "gained", "downforce": "down", "spare": "to spare"}[aim]
    ax = figure.subplots()
    step = 0.27 * chord_mm
    for k, finalist in enumerate(found):
        x, y = np.asarray(finalist.section.xy).T * chord_mm
        base, beside = -k * step, 1.06 * chord_mm
        colour = STYLES[(number[k] - 1) % len(STYLES)]["color"]
        ax.fill(x, base - y, facecolor="#eef2f6", edgecolor=colour, linewidth=1.4)
        down = "" if aim == "downforce" else f"{own_force(finalist.point.downforce.n, units)} down, "
        drag, thick = own_force(finalist.point.drag.n, units), text.thickness_text(choice, finalist)
        value = (text.value_text(choice, one) for one in (finalist.value, finalist.half_width))
        lost = map(text.percent, (finalist.stall_drop, finalist.dirt_loss, finalist.error_loss))
        at = degrees(finalist.point.angle_deg)
        sentence = WORDS["drawn"].format(*value, what, at, down, drag, thick, *lost)
        name = f"{k + 1}. {text.marked_name(finalist)}, group {number[k]}"
        ax.text(beside, base + 0.07 * step, name, fontsize=10, weight="bold")
        ax.text(beside, base - 0.04 * step, sentence, fontsize=8, va="top")
    ax.set_aspect("equal")
    ax.set_xlim(-0.03 * chord_mm, 2.6 * chord_mm)
    ax.set_ylim(-(len(found) - 0.4) * step, 0.75 * step)
    ax.set_yticks([])
    ax.grid(False)
    ax.set_xticks(np.linspace(0.0, chord_mm, 6).round())
    ax.set_xlabel("mm along the chord, as mounted: suction side down", loc="left")
    ax.set_title(f"{terms.study.title}: best sections, {speed(terms.reference_m_s, units)}", loc="left")
    ax.spines[["left", "right", "top"]].set_visible(False)


def draw_tolerances(figure: Figure, found: Tolerances) -> None:
    """The section as mounted; stretches coloured and as wide as their errors harm."""
    ax = figure.subplots()
    chord_mm, units = 1000.0 * found.study.wing.chord_m, found.study.units
    xy = np.asarray(found.section.xy) * [chord_mm, -chord_mm]
    nose = int(np.argmin(xy[:, 0]))
    ax.fill(*xy.T, facecolor="#eef2f6", edgecolor=STYLES[0]["color"], linewidth=0.8)
    shaped = [error for error in found.errors if error.stretch is not None]
    for place, error in enumerate(shaped):
        third = 3 * place // len(shaped)
        first, last, side = error.stretch  # type: ignore[misc]
        lift = 2.2 * (len(shaped) - place)
        style: dict[str, Any] = {
            "color": COLOURS[third],
            "linewidth": WIDTHS[third],
            "solid_capstyle": "round",
        }
        down, stall = text.force_change(error.downforce_n, units), signed(error.stall_deg, tenths)
        ax.plot([], [], **style, label=f"{error.name}, {error.size}: {down} {units.force}, {stall}° stall")
        for part, sign, name in ((xy[: nose + 1], -1.0, "upper"), (xy[nose:], 1.0, "lower")):
            if side in (name, "both"):
                x, y = part[(part[:, 0] >= first * chord_mm) & (part[:, 0] <= last * chord_mm)].T
                ax.plot(x, y + sign * lift, **style, zorder=3.0 - 0.1 * place)
    ax.set_aspect("equal")
    ax.grid(False)
    ax.set_yticks([])
    ax.set_xlabel("mm along the chord, as mounted: suction side down")
    ax.set_title(f"{found.section.name}: where it must be built true (red most, green least)", loc="left")
    ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.25), ncols=1, fontsize=8)


def write_choice(choice: Choice, folder: Path | str) -> list[Path]:
    """Write ``page.html``, ``best.svg``, ``choice.csv``, ``section.dat`` and ``template.pdf``.

    With a section made for the study also ``designed.dat`` and ``designed.pdf``.

    Returns
    -------
    list of Path
        What was written, the page first.

    Raises
    ------
    OutputError
        No section to write, or a folder that cannot be written.
    """
    if not choice.ranked:
        raise OutputError(f"{folder}: no section has a sound answer, so there is nothing to draw")
    folder, chord_m = Path(folder), choice.terms.study.wing.chord_m
    draw = partial(draw_choice, choice=choice)
    written = _page_and_picture(text.choice_sheet(choice), draw, folder / "best")
    written += write_table(text.choice_table(choice), folder / "choice.csv")
    written += _to_build(choice.ranked[0].section, chord_m, folder / "section.dat", folder / "template.pdf")
    if choice.design:
        made = choice.design.best.section
        written += _to_build(made, chord_m, folder / "designed.dat", folder / "designed.pdf")
    return written


def _to_build(section: Section, chord_m: float, points: Path, template: Path) -> list[Path]:
    """Coordinates and template of one section."""
    drawn = Inspection(section, repanel(section, DRAWN_PANELS), measure(section), chord_m)
    return [write_section(section, points), write_template(drawn, template)]


def write_tolerances(found: Tolerances, folder: Path | str) -> list[Path]:
    """Write ``page.html``, ``tolerances.svg`` and ``tolerances.csv``; returns what was written."""
    folder = Path(folder)
    draw = partial(draw_tolerances, found=found)
    written = _page_and_picture(text.tolerance_sheet(found), draw, folder / "tolerances")
    return written + write_table(text.tolerance_table(found), folder / "tolerances.csv")


def _page_and_picture(sheet: text.Sheet, draw: Callable[[Figure], None], path: Path) -> list[Path]:
    """``page.html`` with the picture in it, and the picture as SVG; its path comes without ending."""
    (picture,) = save(draw, path, (9.0, 5.0))
    svg = picture.read_text(encoding="utf-8")
    drawing = own_markup(svg[svg.index("<svg") :])  # without the XML declaration
    page = render("choose.html", sheet=sheet, picture=drawing)
    return [write_text(path.with_name("page.html"), page), picture]
