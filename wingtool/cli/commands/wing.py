"""`wingtool wing`: the finite wing alone."""

from typing import Annotated

from typer import Exit, Option

from wingtool import report, study
from wingtool.cli.options import StudyFile, TableFile, Text
from wingtool.cli.progress import progress_bar
from wingtool.cli.screen import NOT_TRUSTWORTHY, echo_wrapped, echo_written, leave, show


def wing(
    path: StudyFile,
    angles: Annotated[Text, Option(help="FROM:TO:STEP in degrees, in place of the study's.")] = None,
    out: TableFile = None,
) -> None:
    """Downforce and drag of the wing over angle and speed.

    Example: wingtool wing studies/green_hatch.toml --angles 0:12:2 --out wing.csv
    """
    if out:
        report.check_table_path(out)
    checked = study.read_study(path, {"sweep": {"angles": angles}} if angles else None)
    with progress_bar(3) as progress:
        study.compute_ahead(checked, progress)
        found = study.wing_at_asked_angles(checked, progress)
    table = report.wing_table(found)
    off_deg = study.off_for_roof_deg(study.roof_band_deg(checked))
    unknown = study.section_unknown(checked)
    for doubt in unknown:
        echo_wrapped(f"NOT TRUSTWORTHY: {doubt}.")
    show(*report.wing_rows(found, checked.units, off_deg))
    off = f"; {off_deg:g} are taken off, because nobody measured the roof's air" if off_deg else ""
    echo_wrapped(
        f"Degrees to stall: of the wing's angle, at the row's own speed{off}; run's end line takes the least."
    )
    echo_wrapped(f"Moment point: {table.facts['moment_point']}. Band: {table.facts['band_origin']}.")
    for caution in (*study.BESIDE_FORCES, *study.of_sections(found)):
        echo_wrapped(f"  ! {caution.text}")
    if out:
        echo_written(report.write_table(table, out))
    leave(table.column("status"))
    if unknown:
        raise Exit(NOT_TRUSTWORTHY)
