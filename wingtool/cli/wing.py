"""`wingtool wing`: the finite wing alone."""

from pathlib import Path
from typing import Annotated

import typer


def wing(
    study: Annotated[Path, typer.Argument(help="Study file (TOML).")],
    angles: Annotated[
        str | None, typer.Option(help="FROM:TO:STEP in degrees, in place of the study's.")
    ] = None,
    out: Annotated[Path | None, typer.Option(help="Also write FILE.csv, .json, .nc, .xlsx or .xml.")] = None,
) -> None:
    """Downforce and drag of the wing over angle and speed.

    Example: wingtool wing studies/green_hatch.toml --angles 0:12:2 --out wing.csv
    """
    from wingtool.cli.screen import figures, leave, progress, show, tenths, told
    from wingtool.report import check_table_path, wing_table, write_table
    from wingtool.study import BESIDE_FORCES, compute_ahead, of_sections, read_study, wing_of_study

    if out:
        check_table_path(out)
    changes = {"sweep": {"angles": angles}} if angles else None
    checked = read_study(study, changes)
    compute_ahead(checked, progress)
    found = wing_of_study(checked, progress)
    table = wing_table(found)
    forces = [f"{name}{end}_n" for name in ("downforce", "drag") for end in ("", "_low", "_high")]
    wanted = ("wing_angle_deg", "speed_m_s", "stall_margin_deg", "status", *forces)
    bands = ("downforce N", "low", "high", "drag N", "low", "high")
    headings = ("angle deg", "km/h", *bands, "deg to stall", "status")
    rows = zip(*(table.column(name) for name in wanted), strict=True)
    show(
        headings,
        [
            (f"{a:g}", f"{v * 3.6:.0f}", *(figures(x, 2) for x in numbers), tenths(margin), status)
            for a, v, margin, status, *numbers in rows
        ],
    )
    typer.echo(f"Moment point: {table.facts['moment_point']}. Band: {table.facts['band_origin']}.")
    for caution in (*BESIDE_FORCES, *of_sections(found)):
        typer.echo(f"  ! {caution.text}")
    if out:
        told(write_table(table, out))
    leave(table.column("status"))
