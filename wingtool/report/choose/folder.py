"""The folders of a choice and of building errors: page, picture, table; what the best section is cut from."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from wingtool.errors import OutputError
from wingtool.files import write_text
from wingtool.geometry import Section, measure, repanel, write_section
from wingtool.report.choose.pictures import draw_choice, draw_tolerances
from wingtool.report.choose.text import Sheet, choice_sheet, choice_table, tolerance_sheet, tolerance_table
from wingtool.report.formats.table_files import write_table
from wingtool.report.inspect.write import write_template
from wingtool.report.page.write import own_markup, render
from wingtool.report.plots.style import save
from wingtool.study import Choice, Inspection, Tolerances

if TYPE_CHECKING:
    from matplotlib.figure import Figure

DRAWN_PANELS = 400


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
    written = _page_and_picture(choice_sheet(choice), partial(draw_choice, choice=choice), folder / "best")
    written += write_table(choice_table(choice), folder / "choice.csv")
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
    written = _page_and_picture(tolerance_sheet(found), draw, folder / "tolerances")
    return written + write_table(tolerance_table(found), folder / "tolerances.csv")


def _page_and_picture(sheet: Sheet, draw: Callable[[Figure], None], path: Path) -> list[Path]:
    """``page.html`` with the picture in it, and the picture as SVG; its path comes without ending."""
    (picture,) = save(draw, path, (9.0, 5.0))
    svg = picture.read_text(encoding="utf-8")
    drawing = own_markup(svg[svg.index("<svg") :])  # without the XML declaration
    text = render("choose.html", sheet=sheet, picture=drawing)
    return [write_text(path.with_name("page.html"), text), picture]
