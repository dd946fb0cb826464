"""`wingtool inspect`: is this coordinate file sound, and what does the section measure."""

from typing import Annotated

from typer import Option

from wingtool import report, study
from wingtool.cli.options import File, SectionName, Text
from wingtool.cli.screen import echo_wrapped, echo_written


def inspect(
    section: SectionName,
    out: Annotated[File, Option(help="Picture FILE.png, .svg or .pdf, or table FILE.json or .csv.")] = None,
    write: Annotated[File, Option(help="Write the repaired coordinates to FILE.dat, unit chord.")] = None,
    template: Annotated[File, Option(help="Full-size template FILE.svg, .pdf, .dxf; needs --chord.")] = None,
    chord: Annotated[Text, Option(help='Chord with its unit, for example "250 mm".')] = None,
    skin: Annotated[str, Option(help="Skin to be laid on, taken off the template.")] = "0 mm",
    wire: Annotated[str, Option(help="Width that a hot wire melts; its path runs outside.")] = "0 mm",
) -> None:
    """Check and measure a section; picture and full-size template.

    Example: wingtool inspect fen-flat --chord "250 mm" --out fen-flat.png --template rib.pdf
    """
    found = study.inspect_section(section, chord)
    written = []
    if out:
        written += report.write_inspection(found, out)
    if write:
        written.append(study.write_coordinates(found, write))
    if template:
        written.append(report.write_template(found, template, skin, wire))
    echo_wrapped(*report.inspection_lines(found))
    echo_written(written)
