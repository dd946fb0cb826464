"""`wingtool inspect` and `wingtool match`: what a section measures, and which known ones are like it."""

from typing import Annotated

from typer import Option, echo

from wingtool import report, study
from wingtool.cli.options import File, SectionName, Text
from wingtool.cli.screen import echo_wrapped, echo_written


def inspect(
    section: SectionName,
    out: Annotated[File, Option(help="Picture FILE.png, .svg or .pdf, or table FILE.json or .csv.")] = None,
    write: Annotated[File, Option(help="Write the repaired coordinates to FILE.dat, unit chord.")] = None,
    template: Annotated[File, Option(help="Full-size template FILE.svg, .pdf, .dxf; needs --chord.")] = None,
    chord: Annotated[Text, Option(help='Chord with its unit, for example "250 mm".')] = None,
    skin: Annotated[str, Option(help="Thickness of the skin, taken off the template.")] = "0 mm",
    wire: Annotated[str, Option(help="Kerf of the hot wire; its path is offset outwards.")] = "0 mm",
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


def match(
    section: SectionName,
    count: Annotated[int, Option(help="How many to show.")] = 8,
    chord: Annotated[Text, Option(help='Show millimetres on this chord, "250 mm".')] = None,
) -> None:
    """Known sections most like yours.

    They are compared after chord, turn, tail thickness and scale are aligned.

    Example: wingtool match wing.dat --chord "250 mm"
    """
    chord_mm = study.length_mm(chord, "--chord") if chord else None
    echo("\n".join(report.match_lines(study.match_section(section, count), chord_mm)))
