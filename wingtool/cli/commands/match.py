"""`wingtool match`: nearest known sections."""

from typing import Annotated

import typer


def match(
    section: Annotated[
        str, typer.Argument(help="Coordinate file, four- or five-digit designation, or name.")
    ],
    count: Annotated[int, typer.Option(help="How many to show.")] = 8,
    chord: Annotated[str | None, typer.Option(help='Show millimetres on this chord, "250 mm".')] = None,
) -> None:
    """Known sections most like one.

    They are compared after chord, turn, tail thickness and scale are aligned.

    Example: wingtool match wing.dat --chord "250 mm"
    """
    from wingtool.report import match_lines
    from wingtool.study import length_mm, match_section

    for line in match_lines(match_section(section, count), length_mm(chord, "--chord") if chord else None):
        typer.echo(line)
