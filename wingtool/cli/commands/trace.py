"""`wingtool trace`: a real wing's section from a photo, a pen trace or calipers, with its band."""

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from typer import Option

from wingtool.errors import TraceError

if TYPE_CHECKING:
    from wingtool.study import TraceRequest


File = Path | None
Words = str | None


def trace(
    photo: Annotated[File, Option(help="Photo or scan of the section on the printed sheet.")] = None,
    points: Annotated[File, Option(help="Pen trace: x_mm,y_mm, any order.")] = None,
    stations: Annotated[File, Option(help="Calipers: x_mm,upper_mm,lower_mm.")] = None,
    wing: Annotated[File, Option(help="List of sections measured along the span, FILE.toml.")] = None,
    error: Annotated[Words, Option(help="A reading is as good as this, two in three times; 0.3 mm.")] = None,
    chord: Annotated[Words, Option(help='Measured over nose and tail, "250 mm".')] = None,
    tail: Annotated[Words, Option(help="Thickness of the tail edge, by calipers.")] = None,
    nose_radius: Annotated[Words, Option(help="Half the width of the drill shank that fits.")] = None,
    thickness: Annotated[Words, Option(help="Greatest, by calipers: shows a shadow, a moved zero.")] = None,
    rib: Annotated[Words, Option(help="Thickness of the rib in the photo; 0 mm: card, drawn.")] = None,
    distance: Annotated[Words, Option(help="Distance from camera to sheet, by tape.")] = None,
    scale_line: Annotated[Words, Option(help="Measured length of the sheet's 100 mm line.")] = None,
    dark_sheet: Annotated[bool, Option(help="Bright section on the dark sheet.")] = False,
    pen_diameter: Annotated[Words, Option(help="Where the pen touches the wing; photo: its line.")] = None,
    suction_side: Annotated[Words, Option(help="up or down, as measured; on the car: road side.")] = None,
    nose: Annotated[str, Option(help="left or right; found if left out.")] = "find",
    paper: Annotated[str, Option(help="Of the printed sheet: A4, A3, letter, tabloid.")] = "A4",
    marks: Annotated[File, Option(help="Clicked marks: photo_x,photo_y,x_mm,y_mm; two: a ruler.")] = None,
    clicked: Annotated[File, Option(help="Outline clicked in the photo: photo_x,photo_y.")] = None,
    click: Annotated[bool, Option(help="Write a page, FILE.html, to click ruler and outline in.")] = False,
    reynolds: Annotated[float, Option(help="Of the chord: 68000 x m/s x m.")] = 7e5,
    angle: Annotated[float, Option(help="For the list of what to measure next, or set for --force.")] = 4.0,
    surface: Annotated[str, Option(help="smooth, race or dirty.")] = "race",
    method: Annotated[Words, Option(help="For the middle value: corrected, coupled or surrogate.")] = None,
    study: Annotated[File, Option(help="Study with a traced section, to check by a measured force.")] = None,
    force: Annotated[Words, Option(help='Downforce measured on the wing, "310 N".')] = None,
    force_error: Annotated[str, Option(help="The force is as good as this, two in three times.")] = "20 N",
    speed: Annotated[Words, Option(help='At which it was measured, "90 km/h"; give --angle too.')] = None,
    sheet: Annotated[Words, Option(help="Print one: photo, photo-dark, trace, stations or roof.")] = None,
    out: Annotated[File, Option(help="NAME.dat with band, table, pictures; sheet: FILE.pdf.")] = None,
) -> None:
    """A real wing's section from a photo, a pen trace or calipers.

    It comes with its band; --sheet prints how to measure.

    Example: wingtool trace --photo wing.jpg --chord "250 mm" --suction-side up --out wing.dat
    """
    from wingtool.cli.screen import echo_written
    from wingtool.study import DEFAULT_METHOD, TraceRequest

    if sheet is not None:
        echo_written([_sheet(sheet, out, paper, chord)])
    elif study is not None:
        _force(study, force, force_error, speed, angle, out)
    elif wing is not None:
        _span(wing, out)
    elif click:
        echo_written([_click(photo, out)])
    else:
        request = TraceRequest(
            name=out.stem if out else "traced", photo=photo, paper=paper, marks=marks, clicked=clicked,
            points=points, pen_diameter=pen_diameter, stations=stations, error=error, chord=chord, tail=tail,
            nose_radius=nose_radius, thickness=thickness, rib=rib, distance=distance, scale_line=scale_line,
            dark_sheet=dark_sheet, nose=nose, suction_side=suction_side, reynolds=reynolds, angle_deg=angle,
            surface=surface, method=method or DEFAULT_METHOD,
        )  # fmt: skip
        _section(request, out)


def _section(request: "TraceRequest", out: Path | None) -> None:
    """One section."""
    from wingtool.cli.progress import progress_bar
    from wingtool.cli.screen import echo_written
    from wingtool.report import trace_files, trace_lines, write_refusal_picture, write_trace
    from wingtool.study import trace_wing

    inputs = (request.photo, request.points, request.stations, request.marks, request.clicked)
    _spare_inputs(trace_files(out) if out else (), inputs)
    _check_ending(out, ".dat")
    try:
        with progress_bar(3) as progress:
            result = trace_wing(request, progress)
    except TraceError as refused:
        place = out or Path("traced.dat")
        seen = write_refusal_picture(refused, place.with_name(f"{place.stem}-refused.png"))
        if seen is None:
            raise
        raise TraceError(f"{refused}; {seen} shows what was seen") from None
    written = write_trace(result, out) if out else []
    for line in trace_lines(result):
        typer.echo(line)
    echo_written(written)
    _leave(result.doubts)


def _leave(doubts: tuple[str, ...]) -> None:
    from wingtool.cli.screen import NOT_TRUSTWORTHY

    for doubt in doubts:
        typer.echo(f"Not trustworthy: {doubt}" + "." * (not doubt.endswith("?")))
    if doubts:
        raise typer.Exit(NOT_TRUSTWORTHY)


def _span(path: Path, out: Path | None) -> None:
    """Several sections of one wing."""
    from wingtool.cli.progress import progress_bar
    from wingtool.cli.screen import echo_written
    from wingtool.report import span_files, span_lines, write_span
    from wingtool.study import measure_span

    _check_ending(out, ".dat")
    with progress_bar(2) as progress:
        found = measure_span(path, out.stem if out else "section", progress)
    if out:
        _spare_inputs(span_files(out, len(found.sections)), found.inputs)
    written = write_span(found, out) if out else []
    for line in span_lines(found):
        typer.echo(line)
    echo_written(written)
    _leave(found.doubts)


def _force(
    study: Path, force: str | None, error: str, speed: str | None, angle_deg: float, out: Path | None
) -> None:
    """The reverse check."""
    from wingtool.cli.progress import progress_bar
    from wingtool.cli.screen import NOT_TRUSTWORTHY, echo_written
    from wingtool.report import update_lines, write_update
    from wingtool.study import check_trace, force_reading

    with progress_bar(2) as progress:
        update = check_trace(study, force_reading(force, error, speed, angle_deg), progress)
    written = write_update(update, out) if out and update.fits else []
    for line in update_lines(update):
        typer.echo(line)
    echo_written(written)
    if not update.fits:
        raise typer.Exit(NOT_TRUSTWORTHY)


def _click(photo: Path | None, out: Path | None) -> Path:
    from wingtool.report import write_click_page

    _check_ending(out, ".html")
    if photo is None:
        raise TraceError("--click needs --photo FILE, the photo to click in")
    return write_click_page(photo, out or photo.with_suffix(".html"))


def _spare_inputs(planned: Iterable[Path], inputs: Iterable[Path | None]) -> None:
    """Refuse to write over what was measured."""
    places = {path.resolve() for path in planned}
    for given in inputs:
        if given is not None and given.resolve() in places:
            raise TraceError(f"--out would write over {given}, which you measured; choose another name")


def _check_ending(out: Path | None, ending: str) -> None:
    """Refuse a name whose ending says another kind of file."""
    if out is not None and out.suffix != ending:
        raise TraceError(f"--out {out}: this file's name ends in {ending}; write --out {out.stem}{ending}")


def _sheet(kind: str, out: Path | None, paper: str, chord: str | None) -> Path:
    from wingtool.report import write_sheet
    from wingtool.study import length_mm

    _check_ending(out, ".pdf")
    return write_sheet(
        kind, out or Path(f"{kind}-sheet.pdf"), paper, length_mm(chord, "--chord") if chord else None
    )
