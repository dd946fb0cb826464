"""`wingtool compare`: studies side by side."""

from pathlib import Path
from typing import Annotated

import typer


def compare(
    studies: Annotated[
        list[Path],
        typer.Argument(help="Two studies or more; the first is what the others are compared with."),
    ],
    equal: Annotated[str, typer.Option(help="Held equal: downforce, angle or drag.")] = "downforce",
    at: Annotated[
        str | None,
        typer.Option(help="Force with its unit, or degrees; the first study's start angle if left out."),
    ] = None,
    speed: Annotated[str, typer.Option(help="Speed of the comparison, with its unit.")] = "160 km/h",
    out: Annotated[Path | None, typer.Option(help="Also write FILE.csv or FILE.json.")] = None,
) -> None:
    """Studies side by side at equal downforce, angle or drag.

    Example: wingtool compare studies/green_hatch.toml studies/green_hatch_plan_b.toml --equal downforce
    """
    from wingtool.cli.progress import STEPS_OF_A_STUDY, progress_bar
    from wingtool.cli.screen import NOT_TRUSTWORTHY, echo_wrapped, echo_written, show
    from wingtool.report import check_table_path, comparison_lines, comparison_table, write_table
    from wingtool.study import compare_studies, compute_ahead, read_study, speed_from_text, target_from_text

    if out:
        check_table_path(out)
    target = None if at is None else target_from_text(at, equal)
    read = [read_study(path) for path in studies]
    with progress_bar(STEPS_OF_A_STUDY * len(read)) as progress:
        for one in read:
            compute_ahead(one, progress)
        result = compare_studies(read, equal, target, speed_from_text(speed), progress)
    headings, rows, lines = comparison_lines(result)
    show(headings, rows)
    for line in lines:
        echo_wrapped(line)
    having = {
        table: [one.title for one in read if getattr(one, table) is not None] for table in ("roof", "car")
    }
    for titles in dict.fromkeys(tuple(titles) for titles in having.values() if 0 < len(titles) < len(read)):
        tables = " and ".join(f"[{table}]" for table in having if tuple(having[table]) == titles)
        echo_wrapped(
            f"  ! Only {', '.join(titles)} has {tables}, so like is not compared with like; share it with"
            ' base = "my_car.toml"'
        )
    if out:
        echo_written(write_table(comparison_table(result), out))
    if any(side.wing_angle_deg != side.wing_angle_deg for side in result.sides):
        raise typer.Exit(NOT_TRUSTWORTHY)
