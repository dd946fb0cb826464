"""`wingtool match`: nearest known sections."""

from typing import Annotated

from typer import Option, echo

from wingtool import report, study
from wingtool.cli.options import SectionName, Text


def match(
    section: SectionName,
    count: Annotated[int, Option(help="How many to show.")] = 8,
    chord: Annotated[Text, Option(help='Show millimetres on this chord, "250 mm".')] = None,
) -> None:
    """Known sections most like one.

    They are compared after chord, turn, tail thickness and scale are aligned.

    Example: wingtool match wing.dat --chord "250 mm"
    """
    chord_mm = study.length_mm(chord, "--chord") if chord else None
    echo("\n".join(report.match_lines(study.match_section(section, count), chord_mm)))
