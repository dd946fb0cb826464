"""`wingtool verify`: the track's answer against the estimate, and the corrected estimate."""

from pathlib import Path
from typing import Annotated

import typer


def verify(
    study: Annotated[Path | None, typer.Argument(help="Study file (TOML) with [car].")] = None,
    log: Annotated[Path | None, typer.Argument(help="Log from the track: CSV or GPX.")] = None,
    test: Annotated[
        str | None,
        typer.Option(
            help="coast-down, suspension, load-cells or corners; if left out, by the log's columns."
        ),
    ] = None,
    angle: Annotated[float | None, typer.Option(help="Wing angle on the day, degrees; required.")] = None,
    parts: Annotated[str, typer.Option(help="Parts that were changed: wing, or all.")] = "wing",
    runs: Annotated[Path | None, typer.Option(help="Run sheet: run,start,end,parts,direction.")] = None,
    unit: Annotated[
        list[str] | None, typer.Option(help="Unit missing from a heading, speed=km/h; may be repeated.")
    ] = None,
    sheet: Annotated[str | None, typer.Option(help="Print the sheet of a test and stop.")] = None,
    write: Annotated[
        Path | None, typer.Option(help="Write the study with the corrected estimate to this file.")
    ] = None,
    out: Annotated[Path | None, typer.Option(help="Folder for a table and a picture.")] = None,
) -> None:
    """Hold a log from the track against the estimate.

    Closed course, an observer, the event's rules first.

    Example: wingtool verify studies/green_hatch.toml studies/harrow_down_coasts.csv --angle 4
    """
    if sheet is not None:
        _print_sheet(sheet)
        return
    if study is None or log is None:
        raise typer.BadParameter("give a study and a log, or --sheet coast-down for how to make one")
    if angle is None:
        raise typer.BadParameter("--angle: say at which wing angle the log was driven, for example --angle 4")
    if parts not in ("wing", "all"):
        raise typer.BadParameter("--parts is wing or all")
    _verify(study, log, test, angle, parts, runs, unit or [], write, out)


def _print_sheet(test: str) -> None:
    from wingtool.report import SHEETS, sheet_lines

    if test not in SHEETS:
        raise typer.BadParameter(f"no sheet {test!r}; there are {', '.join(SHEETS)}")
    for line in sheet_lines(test):
        typer.echo(line)


def _units(pairs: list[str]) -> dict[str, str]:
    for pair in pairs:
        if pair.count("=") != 1:
            raise typer.BadParameter(f"--unit {pair}: write column=unit, for example speed=km/h")
    return {name.strip(): unit.strip() for name, unit in (pair.split("=") for pair in pairs)}


def _verify(study, log, test, angle, parts, runs, unit, write, out) -> None:
    from wingtool.cli.progress import progress_bar
    from wingtool.cli.screen import NOT_TRUSTWORTHY, echo_wrapped, echo_written
    from wingtool.report import verify_lines, writable_folder, write_verification
    from wingtool.study import read_study, verify_study

    if out:
        writable_folder(out)
    with progress_bar() as progress:
        progress("the study's wing and car")
        answer = verify_study(read_study(study), log, test, angle, parts, runs, _units(unit))
    for line in verify_lines(answer):
        echo_wrapped(line)
    _correct(answer, study, write)
    if out:
        echo_written(write_verification(answer, out))
    if not answer.conclusive:
        raise typer.Exit(NOT_TRUSTWORTHY)


def _correct(answer, study: Path, write: Path | None) -> None:
    from wingtool.cli.screen import echo_wrapped
    from wingtool.study import write_corrected

    if answer.correction is None:
        if write is not None:
            typer.echo(f"\n{write} not written: this log corrects nothing.")
        return
    typer.echo("\nThe corrected estimate, for the study file:")
    for line in answer.correction.lines():
        typer.echo(f"  {line}")
    if expected := answer.correction.drag_expected:
        value, low, high = (f"{factor:.2f}" for factor in expected)
        echo_wrapped(
            "  (drag_factor is on the drag of the bare wing and holds what stands, body and wake add: the"
            f" estimate with its usual installation expected {value}, {low} to {high})"
        )
    if write is None:
        typer.echo("  (--write FILE writes the study with it)")
        return
    typer.echo(f"wrote {write_corrected(study, answer.correction, write)}")
