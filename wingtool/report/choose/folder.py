"""The folders of a choice and of building errors: page, picture, table; what the best section is cut from."""

from datetime import date
from pathlib import Path

from wingtool.errors import OutputError
from wingtool.files import write_text
from wingtool.geometry import Section, measure, repanel, write_section
from wingtool.report.choose.pictures import write_choice_picture, write_tolerance_picture
from wingtool.report.choose.text import Sheet, choice_sheet, choice_table, tolerance_sheet, tolerance_table
from wingtool.report.formats.table_files import write_table
from wingtool.report.inspect.write import write_template
from wingtool.report.page.write import own_markup, render
from wingtool.study import Choice, Inspection, Tolerances
from wingtool.version import __version__

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
    picture = write_choice_picture(choice, folder / "best.svg")
    written = [_write_page(choice_sheet(choice), picture, folder / "page.html"), picture]
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
    picture = write_tolerance_picture(found, folder / "tolerances.svg")
    page = _write_page(tolerance_sheet(found), picture, folder / "page.html")
    return [page, picture, *write_table(tolerance_table(found), folder / "tolerances.csv")]


def _write_page(sheet: Sheet, picture: Path, path: Path) -> Path:
    """The page of an answer, with the picture in it."""
    svg = picture.read_text(encoding="utf-8")
    drawing = own_markup(svg[svg.index("<svg") :])  # without the XML declaration
    text = render("choose.html", sheet=sheet, picture=drawing, version=__version__, date=f"{date.today()}")
    return write_text(path, text)
