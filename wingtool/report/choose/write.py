"""The folder of a choice: page, picture, table, coordinates and template of the section that stands first."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from wingtool.errors import OutputError
from wingtool.files import write_text
from wingtool.geometry import Section, measure, repanel, write_section
from wingtool.report.choose.pictures import write_choice_picture
from wingtool.report.choose.text import (
    LEGEND,
    NO_SPAR,
    choice_table,
    group_lines,
    headings,
    left_out_lines,
    rows,
)
from wingtool.report.formats.write import write_table
from wingtool.report.inspect.write import write_template
from wingtool.report.page.write import own_markup, render
from wingtool.study import Inspection
from wingtool.version import __version__

if TYPE_CHECKING:
    from wingtool.study import Choice

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
    folder = Path(folder)
    picture = write_choice_picture(choice, folder / "best.svg")
    text = render(
        "choose.html",
        title=choice.study.title,
        answer=group_lines(choice),
        caution=NO_SPAR,
        picture=own_markup(_inside(picture)),
        headings=headings(choice),
        rows=rows(choice),
        legend=LEGEND,
        left_out=left_out_lines(choice),
        version=__version__,
        date=date.today().isoformat(),
    )
    build = [(choice.ranked[0].section, "section.dat", "template.pdf")]
    build += [(choice.design.best.section, "designed.dat", "designed.pdf")] if choice.design else []
    return [
        write_text(folder / "page.html", text),
        picture,
        *write_table(choice_table(choice), folder / "choice.csv"),
        *(
            path
            for section, points, template in build
            for path in _to_build(section, choice.study.wing.chord_m, folder / points, folder / template)
        ),
    ]


def _to_build(section: Section, chord_m: float, points: Path, template: Path) -> list[Path]:
    """Coordinates and template of one section."""
    drawn = Inspection(section, repanel(section, DRAWN_PANELS), measure(section), chord_m)
    return [write_section(section, points), write_template(drawn, template)]


def _inside(picture: Path) -> str:
    """The drawing without its XML declaration, as a page takes it."""
    text = picture.read_text(encoding="utf-8")
    return text[text.index("<svg") :]
