"""`wingtool sweep`: a section over an angle range."""

from typing import Annotated

from typer import Option

from wingtool import report, study
from wingtool.cli.options import File, SectionName, Surface, TableFile, Text
from wingtool.cli.progress import progress_bar
from wingtool.cli.screen import echo_wrapped, echo_written, figures, leave, show

BANDS = ("cl", "cl_low", "cl_high", "cd", "cd_low", "cd_high")
SHOWN = ("cl", "low", "high", "cd", "low", "high")
FIGURES = (3, 2, 2, 3, 2, 2)


def sweep(
    section: SectionName,
    reynolds: Annotated[str, Option(help="Of the chord: 68000 x m/s x m; several with commas.")] = "5e5",
    angles: Annotated[str, Option(help="FROM:TO:STEP in degrees, or one angle.")] = "-4:16:1",
    method: Annotated[Text, Option(help="corrected (the default), coupled, surrogate or inviscid.")] = None,
    surface: Surface = "race",
    trip: Annotated[float | None, Option(help="Boundary-layer trip on both sides at this x/c.")] = None,
    tab: Annotated[float, Option(help="Height of a trailing-edge tab, per cent of chord.")] = 0.0,
    ground: Annotated[
        float | None, Option(help="Lowest point above the ground, in chords; turns the section over.")
    ] = None,
    jobs: Annotated[int, Option(help="Number of processes.")] = 1,
    keep: Annotated[File, Option(help="Folder for partial results; a restart continues from them.")] = None,
    out: TableFile = None,
) -> None:
    """Lift, drag and moment of a section over angle.

    Example: wingtool sweep 4412 --reynolds 6e5 --angles 0:14:2 --out 4412.csv
    """
    if out:
        report.check_table_path(out)
    if keep:
        report.writable_folder(keep)
    words = (section, reynolds, angles, method or study.DEFAULT_METHOD, surface, trip, tab, ground)
    with progress_bar() as progress:
        progress(f"section {section}")
        polar = study.sweep_section(*words, jobs=jobs, keep_in=keep, progress=progress)
        second = study.second_polar(polar)
    table = report.section_table(polar)
    other = [""] * polar.cl.size if second is None else [figures(cl) for cl in second.cl.ravel()]
    wanted = ("alpha_deg", "reynolds", *BANDS, "status")
    rows = zip(*(table.column(name) for name in wanted), other, strict=True)
    show(
        ("angle", "Re", *SHOWN, "second", "status"),
        [
            (f"{a:g}", f"{r:.3g}", *map(figures, row, FIGURES), told_cl, status)
            for a, r, *row, status, told_cl in rows
        ],
    )
    echo_wrapped(f"low, high: {polar.band_origin or 'no band'}. cm and cl/cd: --out FILE.csv.")
    if second is not None:
        echo_wrapped(report.second_words(polar, second))
    echo_wrapped(*(f"Note: {note}." for note in polar.notes))
    if out:
        echo_written(report.write_table(table, out))
    leave(table.column("status"))
