"""`wingtool run`: everything that a study names, into one folder."""

import shlex
import sys
from concurrent.futures import Executor
from pathlib import Path
from textwrap import wrap
from typing import Annotated

import typer

NEEDED = ("wingtool.report.tables.study", "wingtool.study.precompute", "scipy.interpolate")


def run(
    study: Annotated[Path | None, typer.Argument(help="Study file (TOML).")] = None,
    out: Annotated[Path, typer.Option(help="Folder for tables, pictures and the page.")] = Path("results"),
    schema: Annotated[
        bool, typer.Option("--schema", help="Print the JSON Schema of a study and stop.")
    ] = False,
    keys: Annotated[
        bool, typer.Option("--keys", help="List every key of a study, with an example, and stop.")
    ] = False,
    full: Annotated[bool, typer.Option("--full", help="Print everything, not one screen.")] = False,
) -> None:
    """Compute a study: the answer, a page, tables and pictures.

    Example: wingtool run studies/green_hatch.toml --out results
    """
    if keys:
        _print_keys()
        return
    if schema:
        _print_schema()
        return
    if study is None:
        raise typer.BadParameter("give a study file, for example: wingtool run my_wing.toml")
    run_into(study, out, full)


def run_into(study: Path, folder: Path, full: bool = False) -> None:
    """Run a study file, write everything into a folder, and print the answer."""
    from wingtool.workers import beside

    with beside(*NEEDED) as pool:
        _run_into(study, folder, full, pool)


def _run_into(study: Path, folder: Path, full: bool, pool: Executor | None) -> None:
    from wingtool.cli.progress import STEPS_OF_A_STUDY, progress_bar
    from wingtool.cli.screen import NOT_TRUSTWORTHY, echo_wrapped
    from wingtool.report import (
        answer_lines,
        claim,
        full_lines,
        settle,
        writable_folder,
        write_page,
        write_plots,
        write_tables,
        write_wing_sheet,
    )
    from wingtool.study import compute_ahead, read_study, run_study
    from wingtool.workers import start

    checked = read_study(study)
    writable_folder(folder)
    with progress_bar(STEPS_OF_A_STUDY + 1) as progress:
        compute_ahead(checked, progress, pool)
        result = run_study(checked, progress, pool)
        progress("page, tables, pictures")
        claim(folder, folder / "tables")
        await_tables = start(pool, write_tables, result, folder / "tables")
        page = write_page(result, folder)
        pictures = write_plots(result, folder / "pictures")
        tables = write_wing_sheet(result, folder / "tables") + await_tables()
        removed, left = settle(folder, [page, *tables, *pictures])
    for line in full_lines(result) if full else answer_lines(result):
        echo_wrapped(line)
    if removed:
        echo_wrapped(f"Removed, from an earlier run: {', '.join(removed)}.")
    if left:
        echo_wrapped(f"Left as they were, not of this run: {', '.join(left)}.")
    again = shlex.join(["wingtool", *sys.argv[1:], "--full"])
    more = "; tables and pictures beside it." if full else f"; all of it as text: {again}"
    echo_wrapped(f"Open {page}{more}")
    if result.doubts:
        raise typer.Exit(NOT_TRUSTWORTHY)


def _print_keys() -> None:
    from wingtool.study import key_lines

    for line in key_lines():
        typer.echo("\n".join(wrap(line, 80, subsequent_indent=" " * 42)))


def _print_schema() -> None:
    import json

    from wingtool.study import study_schema

    typer.echo(json.dumps(study_schema(), indent=2))
