"""`wingtool trust`: this build against published values."""

from pathlib import Path
from typing import Annotated

import typer


def trust(
    out: Annotated[
        Path | None, typer.Option(help="Folder for the page and the table; the screen alone if left out.")
    ] = None,
    full: Annotated[bool, typer.Option("--full", help="Every value and the errors by regime.")] = False,
) -> None:
    """This build against measured and published values, source by source.

    It computes them again, some minutes, and shows by how much it is off, where.

    Example: wingtool trust --out trust
    """
    from wingtool.cli.progress import progress_bar
    from wingtool.cli.screen import echo_wrapped, echo_written, show
    from wingtool.report import (
        record_summary,
        trust_lines,
        trust_rows,
        trust_table,
        writable_folder,
        write_table,
        write_trust,
    )
    from wingtool.study import AGREES, run_trust

    if out:
        writable_folder(out)
    with progress_bar() as progress:
        result = run_trust(progress)
    if result.record is not None:
        caption, headings, rows = record_summary(result.record)
        echo_wrapped(caption)
        show(headings, rows)
        typer.echo("")
    headings, rows = trust_rows(result)
    differing = [row for row, check in zip(rows, result.checks, strict=True) if check.verdict != AGREES]
    typer.echo(f"{len(rows) - len(differing)} of {len(rows)} published, exact and second values agree")
    if full or differing:
        typer.echo("")
        show(headings, rows if full else differing)
    if full:
        typer.echo("")
        for line in trust_lines(result):
            typer.echo(line)
    if out:
        echo_written([write_trust(result, out), *write_table(trust_table(result), out / "trust.csv")])
