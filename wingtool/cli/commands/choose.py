"""`wingtool choose`: which section to build for a study's wing."""

from pathlib import Path
from typing import Annotated

from typer import Exit, Option

from wingtool import report, study
from wingtool.cli.options import File, Speed, StudyFile, Text
from wingtool.cli.progress import progress_bar
from wingtool.cli.screen import NOT_TRUSTWORTHY, echo_unknown_section, echo_wrapped, echo_written, show

BUILD = "How it is built: wire, ribs or mould; sets what is not given below."
DRAG = 'Most drag of the wing at --speed, for example "60 N"; for downforce.'
FOLDER = "Also write page, picture, table, coordinates and template into it."
LINES = "Say on the error channel how far it is, where that is no terminal."
TOLERANCES = "How true the study's own section must be built; no search."


def choose(
    path: StudyFile,
    aim: Annotated[Text, Option(help="lap (the default with a car and circuit), downforce or spare.")] = None,
    drag: Annotated[Text, Option(help=DRAG)] = None,
    downforce: Annotated[
        Text, Option(help='Downforce at --speed that must be met, "90 lbf"; for spare.')
    ] = None,
    speed: Speed = "160 km/h",
    build: Annotated[Text, Option(help=BUILD)] = None,
    spar: Annotated[Text, Option(help='Smallest thickness at the spar, for example "22 mm".')] = None,
    spar_at: Annotated[float, Option(help="Spar position, x/c.")] = 0.30,
    tail: Annotated[Text, Option(help="Tails thinner than this are thickened to it.")] = None,
    tail_angle: Annotated[float | None, Option(help="Smallest tail angle allowed, degrees.")] = None,
    hollow: Annotated[Text, Option(help="Smallest radius of a hollow.")] = None,
    nose: Annotated[Text, Option(help="Smallest nose radius allowed.")] = None,
    sections: Annotated[File, Option(help="Folder with your own coordinate files.")] = None,
    finalists: Annotated[int, Option(help="Number of finalists for the coupled solver.")] = 30,
    design: Annotated[bool, Option("--design", help="Also design a section (minutes).")] = False,
    jobs: Annotated[
        int | None, Option(min=1, max=256, help="Number of processes; all cores if left out.")
    ] = None,
    tolerances: Annotated[bool, Option("--tolerances", help=TOLERANCES)] = False,
    lines: Annotated[bool, Option("--progress", help=LINES)] = False,
    folder: Annotated[File, Option(help=FOLDER)] = None,
    out: Annotated[File, Option(help="Also write FILE.csv, .json or .xlsx.")] = None,
) -> None:
    """Rank every known section on a study's wing.

    With --tolerances: how true the study's own section must be built.

    Example: wingtool choose studies/green_hatch.toml --build wire --spar "22 mm" --folder choice
    """
    if out:
        report.check_table_path(out)
    if folder:
        report.writable_folder(folder)
    speed_m_s = study.speed_from_text(speed)
    if tolerances:
        _tolerances(path, speed_m_s, folder, out)
        return
    lengths = {"--spar": spar, "--tail": tail, "--hollow": hollow, "--nose": nose}
    filters = study.filters_for(build, lengths, spar_at, tail_angle)
    request = study.request_from_flags(drag, downforce, kind=aim, speed_m_s=speed_m_s, filters=filters,
                                       sections=sections, finalists=finalists, design=design)  # fmt: skip
    checked = study.read_study(path)
    with progress_bar(lines=lines) as progress:
        found = study.choose_section(checked, request, jobs, progress=progress)
    unknown = echo_unknown_section(checked)
    _show(report.choice_sheet(found))
    if out:
        echo_written(report.write_table(report.choice_table(found), out))
    if folder and found.ranked:
        echo_written(report.write_choice(found, folder))
    if unknown or not found.groups:
        raise Exit(NOT_TRUSTWORTHY)


def _tolerances(path: Path, speed_m_s: float, folder: File, out: File) -> None:
    checked = study.read_study(path)
    with progress_bar(4) as progress:
        study.compute_ahead(checked, progress)
        found = study.tolerances(checked, speed_m_s, progress)
    unknown = echo_unknown_section(checked)
    _show(report.tolerance_sheet(found))
    if out:
        echo_written(report.write_table(report.tolerance_table(found), out))
    if folder:
        echo_written(report.write_tolerances(found, folder))
    if unknown:
        raise Exit(NOT_TRUSTWORTHY)


def _show(sheet: "report.Sheet") -> None:
    echo_wrapped(*sheet.answer, "")
    show(sheet.headings, sheet.rows)
    echo_wrapped("", *sheet.after)
