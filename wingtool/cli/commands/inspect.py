"""`wingtool inspect`: is this coordinate file sound, and what does the section measure."""

from pathlib import Path
from typing import Annotated

import typer


def inspect(
    section: Annotated[
        str, typer.Argument(help="Coordinate file, four- or five-digit designation, or name.")
    ],
    out: Annotated[
        Path | None, typer.Option(help="Picture FILE.png, .svg or .pdf, or table FILE.json or .csv.")
    ] = None,
    write: Annotated[
        Path | None, typer.Option(help="Write the repaired coordinates to FILE.dat, unit chord.")
    ] = None,
    template: Annotated[
        Path | None, typer.Option(help="Full-size template FILE.svg, .pdf or .dxf; needs --chord.")
    ] = None,
    chord: Annotated[str | None, typer.Option(help='Chord with its unit, for example "250 mm".')] = None,
    skin: Annotated[
        str, typer.Option(help="Thickness of a skin to be laid on, taken off the template.")
    ] = "0 mm",
    wire: Annotated[str, typer.Option(help="Width that a hot wire melts; its path runs outside.")] = "0 mm",
) -> None:
    """Check and measure a section; picture and full-size template.

    Example: wingtool inspect fen-flat --chord "250 mm" --out fen-flat.png --template rib.pdf
    """
    from wingtool.cli.screen import echo_written
    from wingtool.report import inspection_lines, write_inspection, write_template
    from wingtool.study import inspect_section, write_coordinates

    found = inspect_section(section, chord)
    written = []
    if out:
        written += write_inspection(found, out)
    if write:
        written.append(write_coordinates(found, write))
    if template:
        written.append(write_template(found, template, skin, wire))
    for line in inspection_lines(found):
        typer.echo(line)
    echo_written(written)
