"""`wingtool trust`: this build against published values."""

from pathlib import Path
from typing import Annotated

import typer


def trust(
    out: Annotated[
        Path | None, typer.Option(help="Folder for the page and the table; the screen alone if left out.")
    ] = None,
) -> None:
    """This build against published values, source by source, and the spread that the bands come from.

    Example: wingtool trust --out trust
    """
    from wingtool.cli.progress import progress_bar
    from wingtool.cli.screen import show, told
    from wingtool.report import record_rows, trust_lines, trust_rows, trust_table, write_table, write_trust
    from wingtool.study import run_trust

    with progress_bar() as progress:
        result = run_trust(progress)
    if result.record is not None:
        show(*record_rows(result.record))
        typer.echo("")
    show(*trust_rows(result))
    typer.echo("")
    for line in trust_lines(result):
        typer.echo(line)
    if out:
        told([write_trust(result, out), *write_table(trust_table(result), out / "trust.csv")])
