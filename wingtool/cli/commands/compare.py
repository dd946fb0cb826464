"""`wingtool compare`: studies side by side."""

from pathlib import Path
from typing import Annotated

from typer import Argument, Exit, Option

from wingtool import report, study
from wingtool.cli.options import File, Speed, Text
from wingtool.cli.progress import STEPS_OF_A_STUDY, progress_bar
from wingtool.cli.screen import NOT_TRUSTWORTHY, echo_unknown_section, echo_wrapped, echo_written, show


def compare(
    studies: Annotated[list[Path], Argument(help="Two or more; the others are held against the first.")],
    equal: Annotated[str, Option(help="Held equal: downforce, angle or drag.")] = "downforce",
    at: Annotated[Text, Option(help="Force with unit, or degrees; first study's start if left out.")] = None,
    speed: Speed = "160 km/h",
    out: Annotated[File, Option(help="Also write FILE.csv or FILE.json.")] = None,
) -> None:
    """Studies side by side at equal downforce, angle or drag.

    Example: wingtool compare studies/green_hatch.toml studies/green_hatch_plan_b.toml --equal downforce
    """
    if out:
        report.check_table_path(out)
    target = None if at is None else study.target_from_text(at, equal)
    read = [study.read_study(path) for path in studies]
    with progress_bar(STEPS_OF_A_STUDY * len(read)) as progress:
        for one in read:
            study.compute_ahead(one, progress)
        result = study.compare_studies(read, equal, target, study.speed_from_text(speed), progress)
    unknown = echo_unknown_section(*read)
    headings, rows, lines = report.comparison_lines(result)
    show(headings, rows)
    echo_wrapped(*lines)
    sides = result.sides
    named = [(side.title, one) for side, one in zip(sides, read, strict=True)]
    having = {
        name: tuple(title for title, one in named if getattr(one, name) is not None)
        for name in ("roof", "car")
    }
    for some in dict.fromkeys(some for some in having.values() if 0 < len(some) < len(read)):
        tables = " and ".join(f"[{table}]" for table in having if having[table] == some)
        echo_wrapped(
            f"  ! Only {', '.join(some)} has {tables}, which moves its numbers; give the others the same"
            ' with base = "my_car.toml"'
        )
    if out:
        echo_written(report.write_table(report.comparison_table(result), out))
    doubtful = (one.doubts or one.past_stall or one.wing_angle_deg != one.wing_angle_deg for one in sides)
    if unknown or any(doubtful):
        raise Exit(NOT_TRUSTWORTHY)
