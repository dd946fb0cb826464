"""`wingtool choose`: which section to build for a study's wing."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from wingtool.report import Sheet


def choose(
    study: Annotated[Path, typer.Argument(help="Study file (TOML).")],
    aim: Annotated[
        str | None,
        typer.Option(help="lap (the default with a car and circuit), downforce or spare."),
    ] = None,
    drag: Annotated[
        str | None, typer.Option(help='Most drag of the wing at --speed, for example "60 N"; for downforce.')
    ] = None,
    downforce: Annotated[
        str | None, typer.Option(help='Downforce at --speed that must be met, "90 lbf"; for spare.')
    ] = None,
    speed: Annotated[str, typer.Option(help="Speed of the comparison, with its unit.")] = "160 km/h",
    build: Annotated[
        str | None, typer.Option(help="How it is built: wire, ribs or mould; sets what is not given below.")
    ] = None,
    spar: Annotated[
        str | None, typer.Option(help='Smallest thickness at the spar, for example "22 mm".')
    ] = None,
    spar_at: Annotated[float, typer.Option(help="Spar position, x/c.")] = 0.30,
    tail: Annotated[str | None, typer.Option(help="Tails thinner than this are thickened to it.")] = None,
    tail_angle: Annotated[float | None, typer.Option(help="Smallest tail angle allowed, degrees.")] = None,
    hollow: Annotated[str | None, typer.Option(help="Smallest radius of a hollow.")] = None,
    nose: Annotated[str | None, typer.Option(help="Smallest nose radius allowed.")] = None,
    sections: Annotated[Path | None, typer.Option(help="Folder with your own coordinate files.")] = None,
    finalists: Annotated[int, typer.Option(help="Number of finalists for the coupled solver.")] = 30,
    design: Annotated[
        bool, typer.Option("--design", help="Also make a section for this wing; minutes more.")
    ] = False,
    jobs: Annotated[
        int | None, typer.Option(min=1, max=256, help="Number of processes; all cores if left out.")
    ] = None,
    tolerances: Annotated[
        bool,
        typer.Option("--tolerances", help="How true the study's own section must be built; no search."),
    ] = False,
    folder: Annotated[
        Path | None, typer.Option(help="Also write page, picture, table, coordinates and template into it.")
    ] = None,
    out: Annotated[Path | None, typer.Option(help="Also write FILE.csv, .json or .xlsx.")] = None,
) -> None:
    """Rank every known section on a study's wing.

    Or, with --tolerances, tell how true its own must be built.

    Example: wingtool choose studies/green_hatch.toml --build wire --spar "22 mm" --folder choice
    """
    from wingtool.report import check_table_path, writable_folder
    from wingtool.study import filters_for, request_from_flags, speed_from_text

    if out:
        check_table_path(out)
    if folder:
        writable_folder(folder)
    speed_m_s = speed_from_text(speed)
    if tolerances:
        _tolerances(study, speed_m_s, folder, out)
        return
    lengths = {"--spar": spar, "--tail": tail, "--hollow": hollow, "--nose": nose}
    filters = filters_for(build, lengths, spar_at, tail_angle)
    request = request_from_flags(drag, downforce, kind=aim, speed_m_s=speed_m_s, filters=filters,
                    sections=sections, finalists=finalists, design=design)  # fmt: skip
    _search(study, request, jobs, folder, out)


def _search(study: Path, request, jobs: int | None, folder: Path | None, out: Path | None) -> None:
    from wingtool.cli.progress import progress_bar
    from wingtool.cli.screen import NOT_TRUSTWORTHY, echo_written
    from wingtool.report import choice_sheet, choice_table, write_choice, write_table
    from wingtool.study import choose_section, read_study

    with progress_bar() as progress:
        found = choose_section(read_study(study), request, jobs, progress=progress)
    _show(choice_sheet(found))
    if out:
        echo_written(write_table(choice_table(found), out))
    if folder and found.ranked:
        echo_written(write_choice(found, folder))
    if not found.groups:
        raise typer.Exit(NOT_TRUSTWORTHY)


def _tolerances(study: Path, speed_m_s: float, folder: Path | None, out: Path | None) -> None:
    from wingtool.cli.progress import progress_bar
    from wingtool.cli.screen import echo_written
    from wingtool.report import tolerance_sheet, tolerance_table, write_table, write_tolerances
    from wingtool.study import compute_ahead, read_study, tolerances

    checked = read_study(study)
    with progress_bar(4) as progress:
        compute_ahead(checked, progress)
        found = tolerances(checked, speed_m_s, progress)
    _show(tolerance_sheet(found))
    if out:
        echo_written(write_table(tolerance_table(found), out))
    if folder:
        echo_written(write_tolerances(found, folder))


def _show(sheet: "Sheet") -> None:
    from wingtool.cli.screen import echo_wrapped, show

    for line in [*sheet.answer, ""]:
        echo_wrapped(line)
    show(sheet.headings, sheet.rows)
    for line in ["", *sheet.after]:
        echo_wrapped(line)
