"""`wingtool sweep`: a section over an angle range."""

from pathlib import Path
from typing import Annotated

import typer


def sweep(
    section: Annotated[
        str, typer.Argument(help="Coordinate file, four- or five-digit designation, or name.")
    ],
    reynolds: Annotated[str, typer.Option(help="Of the chord, 68000 x m/s x m; or several.")] = "5e5",
    angles: Annotated[str, typer.Option(help="FROM:TO:STEP in degrees, or one angle.")] = "-4:16:1",
    method: Annotated[
        str | None,
        typer.Option(help="corrected (the default), coupled, surrogate or inviscid."),
    ] = None,
    surface: Annotated[str, typer.Option(help="smooth, race or dirty.")] = "race",
    trip: Annotated[float | None, typer.Option(help="Boundary-layer trip on both sides at this x/c.")] = None,
    tab: Annotated[float, typer.Option(help="Height of a trailing-edge tab, per cent of chord.")] = 0.0,
    ground: Annotated[
        float | None,
        typer.Option(help="Lowest point above the ground, in chords; turns the section over."),
    ] = None,
    jobs: Annotated[int, typer.Option(help="Number of processes.")] = 1,
    keep: Annotated[
        Path | None,
        typer.Option(help="Folder for partial results; a restart continues from them."),
    ] = None,
    out: Annotated[Path | None, typer.Option(help="Also write FILE.csv, .json, .nc, .xlsx or .xml.")] = None,
) -> None:
    """Lift, drag and moment of a section over angle.

    Example: wingtool sweep 4412 --reynolds 6e5 --angles 0:14:2 --out 4412.csv
    """
    from wingtool.cli.progress import progress_bar
    from wingtool.cli.screen import echo_wrapped, echo_written, figures, leave, show
    from wingtool.report import check_table_path, second_words, section_table, writable_folder, write_table
    from wingtool.study import DEFAULT_METHOD, second_polar, sweep_section

    if out:
        check_table_path(out)
    if keep:
        writable_folder(keep)
    words = (section, reynolds, angles, method or DEFAULT_METHOD, surface, trip, tab, ground)
    with progress_bar() as progress:
        progress(f"section {section}")
        polar = sweep_section(*words, jobs=jobs, keep_in=keep, progress=progress)
        second = second_polar(polar)
    table = section_table(polar)
    other = [""] * polar.cl.size if second is None else [figures(cl) for cl in second.cl.ravel()]
    bands = ("cl", "cl_low", "cl_high", "cd", "cd_low", "cd_high")
    wanted = ("alpha_deg", "reynolds", *bands, "cm", "lift_to_drag", "status")
    columns = [table.column(name) for name in wanted]
    rows = zip(*columns, other, strict=True)
    shown = ("cl", "low", "high", "cd", "low", "high", "cm", "cl/cd")
    headings = ("angle deg", "Reynolds", *shown, "second cl", "status")
    show(
        headings,
        [(f"{a:g}", f"{r:.3g}", *map(figures, row), told_cl, status) for a, r, *row, status, told_cl in rows],
    )
    echo_wrapped(f"low, high: {polar.band_origin or 'no band'}.")
    if second is not None:
        echo_wrapped(second_words(polar, second))
    for note in polar.notes:
        echo_wrapped(f"Note: {note}.")
    if out:
        echo_written(write_table(table, out))
    leave(table.column("status"))
