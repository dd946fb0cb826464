"""`wingtool trust`: this build against published values."""

from typing import Annotated

from typer import Option, echo

from wingtool import report, study
from wingtool.cli.options import File
from wingtool.cli.progress import progress_bar
from wingtool.cli.screen import echo_wrapped, echo_written, show

AHEAD = "Computing the whole measured record anew: some minutes on two quiet cores."


def trust(
    out: Annotated[File, Option(help="Folder for page and table; the screen alone if left out.")] = None,
    full: Annotated[bool, Option("--full", help="Every published value as well.")] = False,
) -> None:
    """This build against published measurements, by source.

    Recomputes them, which takes minutes, and shows the error of each.

    Example: wingtool trust --out trust
    """
    if out:
        report.writable_folder(out)
    echo(AHEAD, err=True)
    with progress_bar() as progress:
        result = study.run_trust(progress)
    for text, headings, rows in report.record_screen(result.record) if result.record else ():
        echo_wrapped(text)
        show(headings, rows)
    more = "." if full else "; --full lists them."
    echo(f"{result.agreeing} of {len(result.checks)} published, exact and second values agree{more}")
    if full:
        echo_wrapped("", *report.trust_lines(result))
    if out:
        table = report.write_table(report.trust_table(result), out / "trust.csv")
        echo_written([report.write_trust(result, out), *table])
