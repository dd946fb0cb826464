"""`wingtool lesson`: pages that teach the crew, computed on the person's own wing."""

from pathlib import Path
from typing import Annotated

import typer


def lesson(
    topic: Annotated[
        str | None,
        typer.Argument(
            help="pressure, stall, speed, plates, ground, tab, drag, balance or myths; all if left out."
        ),
    ] = None,
    study: Annotated[
        Path | None, typer.Option(help="Study whose wing is shown; the bundled one if left out.")
    ] = None,
    out: Annotated[Path, typer.Option(help="Folder for the pages.")] = Path("lessons"),
) -> None:
    """Pages that teach the crew, and a quiz sheet.

    Each has one picture, three sentences, one number to guess, one thing to try by hand, and prints as a
    poster on one A4 sheet.

    Example: wingtool lesson stall --study studies/green_hatch.toml --out lessons
    """
    from wingtool.cli.progress import STEPS_OF_A_STUDY, progress_bar
    from wingtool.cli.screen import echo_written
    from wingtool.report import writable_folder, write_lessons
    from wingtool.study import bundled_study, compute_ahead, read_study, run_lessons

    writable_folder(out)
    chosen = read_study(study or bundled_study())
    with progress_bar(STEPS_OF_A_STUDY + 9) as progress:
        compute_ahead(chosen, progress)
        found = run_lessons(chosen, [topic] if topic else None, progress)
    for one in found:
        typer.echo(f"{one.title}\n  {one.question}\n  {one.answer}")
    echo_written(write_lessons(found, out))
