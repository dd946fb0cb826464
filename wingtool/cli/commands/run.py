"""`wingtool run` and `wingtool demo`: everything that a study names, into one folder."""

import json
import shlex
import sys
from pathlib import Path
from textwrap import wrap
from typing import Annotated

from typer import Argument, BadParameter, Exit, Option, echo

from wingtool import report, study
from wingtool.cli.options import File, Full
from wingtool.cli.progress import STEPS_OF_A_STUDY, progress_bar
from wingtool.cli.screen import NOT_TRUSTWORTHY, echo_wrapped

NEEDED = ("wingtool.report.tables.study", "wingtool.study.precompute", "scipy.interpolate")


def run(
    path: Annotated[File, Argument(metavar="study", help="Study file (TOML).")] = None,
    out: Annotated[Path, Option(help="Folder for tables, pictures and the page.")] = Path("results"),
    schema: Annotated[bool, Option("--schema", help="Print the JSON Schema of a study and stop.")] = False,
    keys: Annotated[bool, Option("--keys", help="List every key of a study with an example.")] = False,
    full: Full = False,
) -> None:
    """Compute a study: the answer, a page, tables and pictures.

    Example: wingtool run studies/green_hatch.toml --out results
    """
    if keys:
        for line in study.key_lines():
            echo("\n".join(wrap(line, 80, subsequent_indent=" " * 42)))
    elif schema:
        echo(json.dumps(study.study_schema(), indent=2))
    elif path is None:
        raise BadParameter("give a study file, for example: wingtool run my_wing.toml")
    else:
        run_into(path, out, full)


def demo(
    folder: Annotated[Path, Argument(help="Folder for tables, pictures and the page.")] = Path("demo"),
    full: Full = False,
) -> None:
    """The bundled study, end to end: tables, pictures, a page.

    Example: wingtool demo first_look
    """
    run_into(study.bundled_study(), folder, full)


def run_into(path: Path, folder: Path, full: bool) -> None:
    """Run a study file, write everything into a folder, and print the answer."""
    from wingtool.workers import beside, start

    with beside(*NEEDED) as pool:
        checked = study.read_study(path)
        report.check_folder(folder)
        with progress_bar(STEPS_OF_A_STUDY + 1) as progress:
            study.compute_ahead(checked, progress, pool)
            result = study.run_study(checked, progress, pool)
            progress("page, tables, pictures")
            report.claim(folder, folder / "tables")
            await_tables = start(pool, report.write_tables, result, folder / "tables")
            page = report.write_page(result, folder)
            pictures = report.write_plots(result, folder / "pictures")
            tables = report.write_wing_sheet(result, folder / "tables") + await_tables()
            removed, left = report.settle(folder, [page, *tables, *pictures])
    echo_wrapped(*(report.full_lines(result) if full else report.answer_lines(result)))
    if removed:
        echo_wrapped(f"Removed, from an earlier run: {', '.join(removed)}.")
    if left:
        echo_wrapped(f"Left as they were, not of this run: {', '.join(left)}.")
    again = shlex.join(["wingtool", *sys.argv[1:], "--full"])
    more = "; tables and pictures beside it." if full else f"; all of it as text: {again}"
    echo_wrapped(f"Open {page}{more}")
    if result.doubts:
        raise Exit(NOT_TRUSTWORTHY)
