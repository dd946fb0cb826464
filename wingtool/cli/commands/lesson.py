"""`wingtool lesson`: pages that teach the crew, computed on the person's own wing."""

from pathlib import Path
from typing import Annotated

from typer import Argument, Option

from wingtool import report, study
from wingtool.cli.options import File, Text
from wingtool.cli.progress import STEPS_OF_A_STUDY, progress_bar
from wingtool.cli.screen import echo_wrapped, echo_written

TOPICS = "pressure, stall, speed, plates, ground, tab, drag, balance or myths; all if left out."


def lesson(
    topic: Annotated[Text, Argument(help=TOPICS)] = None,
    path: Annotated[File, Option("--study", help="Study with the wing; the bundled one if left out.")] = None,
    out: Annotated[Path, Option(help="Folder for the pages.")] = Path("lessons"),
) -> None:
    """Pages that teach the crew, and a quiz sheet.

    Each has one picture, three sentences, one number to guess, one thing to try by hand, and prints as a
    poster on one A4 sheet.

    Example: wingtool lesson stall --study studies/green_hatch.toml --out lessons
    """
    report.writable_folder(out)
    chosen = study.read_study(path or study.bundled_study())
    with progress_bar(STEPS_OF_A_STUDY + 9) as progress:
        study.compute_ahead(chosen, progress)
        found = study.run_lessons(chosen, [topic] if topic else None, progress)
    for one in found:
        echo_wrapped(one.title, f"  {one.question}", f"  {one.answer}")
    echo_written(report.write_lessons(found, out))
