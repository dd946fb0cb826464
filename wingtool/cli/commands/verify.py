"""`wingtool verify`: the track's answer against the estimate, and the corrected estimate."""

from pathlib import Path
from typing import Annotated

from typer import Argument, BadParameter, Exit, Option, echo

from wingtool import report, study
from wingtool.cli.options import File, Text
from wingtool.cli.progress import progress_bar
from wingtool.cli.screen import NOT_TRUSTWORTHY, echo_unknown_section, echo_wrapped, echo_written

TESTS = "coast-down, suspension, load-cells or corners; if left out, by the log's columns."
UNITS = "Unit missing from a heading, speed=km/h; may be repeated."


def verify(
    path: Annotated[File, Argument(metavar="study", help="Study file (TOML) with [car].")] = None,
    log: Annotated[File, Argument(help="Log from the track: CSV or GPX.")] = None,
    test: Annotated[Text, Option(help=TESTS)] = None,
    angle: Annotated[float | None, Option(help="Wing angle on the day, degrees; required.")] = None,
    parts: Annotated[str, Option(help="Parts that were changed: wing, or all.")] = "wing",
    runs: Annotated[File, Option(help="Run sheet: run,start,end,parts,direction.")] = None,
    unit: Annotated[list[str] | None, Option(help=UNITS)] = None,
    sheet: Annotated[Text, Option(help="Print the sheet of a test and stop.")] = None,
    write: Annotated[File, Option(help="Write the study with the corrected estimate to this file.")] = None,
    out: Annotated[File, Option(help="Folder for a table and a picture.")] = None,
) -> None:
    """Check the estimate against a log from the track.

    Closed course, an observer, the event's rules first.

    Example: wingtool verify studies/green_hatch.toml studies/harrow_down_coasts.csv --angle 4
    """
    if sheet is not None:
        if sheet not in report.SHEETS:
            raise BadParameter(f"no sheet {sheet!r}; there are {', '.join(report.SHEETS)}")
        echo_wrapped(*report.sheet_lines(sheet))
        return
    if path is None or log is None:
        raise BadParameter("give a study and a log, or --sheet coast-down for how to make one")
    if angle is None:
        raise BadParameter("--angle: say at which wing angle the log was driven, for example --angle 4")
    if parts not in ("wing", "all"):
        raise BadParameter("--parts is wing or all")
    if out:
        report.writable_folder(out)
    with progress_bar() as progress:
        progress("the study's wing and car")
        checked = study.read_study(path)
        answer = study.verify_study(checked, log, angle, test, parts, runs, _units(unit or []))
    unknown = echo_unknown_section(checked)
    echo_wrapped(*report.verify_lines(answer))
    _correct(answer, path, write)
    if out:
        echo_written(report.write_verification(answer, out))
    if unknown or not answer.conclusive:
        raise Exit(NOT_TRUSTWORTHY)


def _units(pairs: list[str]) -> dict[str, str]:
    for pair in pairs:
        if pair.count("=") != 1:
            raise BadParameter(f"--unit {pair}: write column=unit, for example speed=km/h")
    return {name.strip(): unit.strip() for name, unit in (pair.split("=") for pair in pairs)}


def _correct(answer, path: Path, write: Path | None) -> None:
    if answer.correction is None:
        if write is not None:
            echo(f"\n{write} not written: this log corrects nothing.")
        return
    echo("\nThe corrected estimate, for the study file:")
    for line in answer.correction.lines():
        echo(f"  {line}")
    if expected := answer.correction.drag_expected:
        value, low, high = (f"{factor:.2f}" for factor in expected)
        echo_wrapped(
            "  (drag_factor multiplies the computed drag of the bare wing and holds what stands, body and"
            f" wake add: the estimate with its usual installation expected {value}, {low} to {high})"
        )
    if write is None:
        echo_wrapped("  (put these lines into the study in place of earlier ones, or let --write FILE do it)")
        return
    echo(f"wrote {study.write_corrected(path, answer.correction, write)}")
