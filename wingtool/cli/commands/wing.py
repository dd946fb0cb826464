"""`wingtool wing`: the finite wing alone."""

from typing import Annotated

from typer import Option

from wingtool import report, study
from wingtool.cli.options import Full, StudyFile, TableFile, Text
from wingtool.cli.progress import progress_bar
from wingtool.cli.screen import LINES, echo_unknown_section, echo_wrapped, echo_written, leave, show, wrapped


def wing(
    path: StudyFile,
    angles: Annotated[Text, Option(help="FROM:TO:STEP in degrees, in place of the study's.")] = None,
    out: TableFile = None,
    full: Full = False,
) -> None:
    """Downforce and drag of the wing over angle.

    One speed on the screen; --out and --full give every speed.

    Example: wingtool wing studies/green_hatch.toml --angles 0:12:2 --out wing.csv
    """
    if out:
        report.check_table_path(out)
    if angles:
        study.angles_asked(angles, 60.0)
    checked = study.read_study(path, {"sweep": {"angles": angles}} if angles else None)
    with progress_bar(3) as progress:
        study.compute_ahead(checked, progress)
        found = study.wing_at_asked_angles(checked, progress)
    table = report.wing_table(found)
    roof_deg = study.roof_band_deg(checked)
    off_deg = study.off_for_roof_deg(roof_deg)
    unknown = echo_unknown_section(checked)
    off = f"; {off_deg:g} are taken off, because nobody measured the roof's air" if off_deg else ""
    kept = f"roof's ± {roof_deg:.1f} and margin {study.STALL_MARGIN_DEG:g}" if roof_deg else "the margin"
    below = [
        f"To stall: degrees of the wing's angle at the row's own speed{off}; run's end line takes the least."
        f" Keep {study.kept_margin_deg(roof_deg) - off_deg:.3g} of it: {kept}."
    ]
    below += [f"  ! {caution.text}" for caution in (*study.BESIDE_FORCES, *study.of_sections(found))]
    headings, rows = report.wing_rows(found, checked.units, roof_deg)
    if any(">" in row[-2] for row in rows):
        below[0] += " >: no stall was found, so much or more is left (give or take 0.5)."
    if full:
        below.append(f"Moment point: {table.facts['moment_point']}. Band: {table.facts['band_origin']}.")
    else:
        count, speeds, k = len(found.wing_angle_deg), len(found.speed_m_s), found.middle_speed
        below.insert(0, f"One of {speeds} speeds; --full prints all, --out FILE.csv writes all.")
        room = LINES - 3 - sum(len(wrapped(text)) for text in below) - 2 * unknown
        rows = rows[k * count : (k + 1) * count : -(-count // max(room, 4))]
    show(headings, rows)
    echo_wrapped(*below)
    if out:
        echo_written(report.write_table(table, out))
    leave(table.column("status"), unknown)
