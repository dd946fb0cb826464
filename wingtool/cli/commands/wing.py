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
    from wingtool.cli.progress import progress_bar
    from wingtool.cli.screen import NOT_TRUSTWORTHY, echo_wrapped, echo_written, leave, show
    from wingtool.report import check_table_path, wing_rows, wing_table, write_table
    from wingtool.study import (
        BESIDE_FORCES,
        compute_ahead,
        of_sections,
        off_for_roof_deg,
        read_study,
        roof_band_deg,
        section_unknown,
        wing_at_asked_angles,
    )

    if out:
        check_table_path(out)
    changes = {"sweep": {"angles": angles}} if angles else None
    checked = read_study(study, changes)
    with progress_bar(3) as progress:
        compute_ahead(checked, progress)
        found = wing_at_asked_angles(checked, progress)
    table = wing_table(found)
    off_deg = off_for_roof_deg(roof_band_deg(checked))
    unknown = section_unknown(checked)
    for doubt in unknown:
        echo_wrapped(f"NOT TRUSTWORTHY: {doubt}.")
    show(*wing_rows(found, checked.units, off_deg))
    off = f"; {off_deg:g} are taken off, because nobody measured the roof's air" if off_deg else ""
    echo_wrapped(
        f"Degrees to stall: of the wing's angle, at the row's own speed{off}; run's end line takes the least."
    )
    echo_wrapped(f"Moment point: {table.facts['moment_point']}. Band: {table.facts['band_origin']}.")
    for caution in (*BESIDE_FORCES, *of_sections(found)):
        echo_wrapped(f"  ! {caution.text}")
    if out:
        echo_written(write_table(table, out))
    leave(table.column("status"))
    if unknown:
        raise typer.Exit(NOT_TRUSTWORTHY)
