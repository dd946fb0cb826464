"""`wingtool trace`: a real wing's section from a photo, a pen trace or calipers, with its band."""

from collections.abc import Iterable
from functools import partial
from pathlib import Path
from typing import Annotated

from typer import Exit, Option

from wingtool import report, study
from wingtool.cli.options import File, Text
from wingtool.cli.progress import progress_bar
from wingtool.cli.screen import NOT_TRUSTWORTHY, echo_wrapped, echo_written
from wingtool.errors import TraceError

measured = partial(Option, rich_help_panel="What was measured, one of these")
alone = partial(Option, rich_help_panel="Measured apart, for example 250 mm; each narrows the band")
lay = partial(Option, rich_help_panel="Orientation")
of_photo = partial(Option, rich_help_panel="For a photo")
of_table = partial(Option, rich_help_panel="For the table of lift and drag")
check = partial(Option, rich_help_panel="Check of a traced section by a force, with --angle and --error")
written = partial(Option, rich_help_panel="What is written")


def trace(
    photo: Annotated[File, measured(help="Photo or scan of the section on the printed sheet.")] = None,
    points: Annotated[File, measured(help="Pen trace: x_mm,y_mm, any order.")] = None,
    stations: Annotated[File, measured(help="Calipers: x_mm,upper_mm,lower_mm; --chord too.")] = None,
    wing: Annotated[File, measured(help="List of sections measured along the span, FILE.toml.")] = None,
    error: Annotated[Text, measured(help="Standard deviation: of a reading 0.3 mm, of --force 20 N.")] = None,
    chord: Annotated[Text, alone(help="Over nose and tail, by ruler.")] = None,
    tail: Annotated[Text, alone(help="Thickness of the tail edge, by calipers.")] = None,
    thickness: Annotated[Text, alone(help="Greatest, by calipers: shows a shadow, a moved zero.")] = None,
    nose_radius: Annotated[Text, alone(help="Half the width of the drill shank that fits.")] = None,
    pen_diameter: Annotated[Text, alone(help="Where the pen touches the wing; photo: its line.")] = None,
    suction_side: Annotated[Text, lay(help="up or down, as measured; on the car: road side.")] = None,
    nose: Annotated[str, lay(help="left or right; found if left out.")] = "find",
    paper: Annotated[str, of_photo(help="Of the printed sheet: A4, A3, letter, tabloid.")] = "A4",
    dark_sheet: Annotated[bool, of_photo("--dark-sheet", help="Bright section on the dark sheet.")] = False,
    rib: Annotated[Text, of_photo(help="Thickness of the rib; 0 mm: card, drawn.")] = None,
    distance: Annotated[Text, of_photo(help="From camera to sheet, by tape.")] = None,
    scale_line: Annotated[Text, of_photo(help="Measured length of the sheet's 100 mm line.")] = None,
    click: Annotated[bool, of_photo("--click", help="Write a page to click ruler and outline in.")] = False,
    marks: Annotated[File, of_photo(help="From that page: photo_x,photo_y,x_mm,y_mm; two: a ruler.")] = None,
    clicked: Annotated[File, of_photo(help="From that page, the outline: photo_x,photo_y.")] = None,
    reynolds: Annotated[float, of_table(help="Of the chord: 68000 x m/s x m.")] = 7e5,
    angle: Annotated[float, of_table(help="For the list of what to measure next.")] = 4.0,
    surface: Annotated[str, of_table(help="smooth, race or dirty.")] = "race",
    method: Annotated[Text, of_table(help="Middle value: corrected, coupled or surrogate.")] = None,
    path: Annotated[File, check("--study", help="Study whose section was traced.")] = None,
    force: Annotated[Text, check(help='Downforce measured on the wing, "310 N".')] = None,
    speed: Annotated[Text, check(help='At which it was measured, "90 km/h".')] = None,
    sheet: Annotated[Text, written(help="Print one: photo, photo-dark, trace, stations or roof.")] = None,
    out: Annotated[File, written(help="NAME.dat with band, table, pictures; or PDF, HTML.")] = None,
) -> None:
    """A real wing's section from a photo, a pen trace or calipers.

    It comes with its band; --sheet prints how to measure.

    Example: wingtool trace --photo wing.jpg --chord "250 mm" --suction-side up --out wing.dat
    """
    if sheet is not None:
        echo_written([_sheet(sheet, out, paper, chord)])
    elif path is not None:
        _force(path, study.force_reading(force, error or "20 N", speed, angle), out)
    elif wing is not None:
        _span(wing, out)
    elif click:
        echo_written([_click(photo, out)])
    else:
        request = study.TraceRequest(
            name=out.stem if out else "traced", photo=photo, paper=paper, marks=marks, clicked=clicked,
            points=points, pen_diameter=pen_diameter, stations=stations, error=error, chord=chord, tail=tail,
            nose_radius=nose_radius, thickness=thickness, rib=rib, distance=distance, scale_line=scale_line,
            dark_sheet=dark_sheet, nose=nose, suction_side=suction_side, reynolds=reynolds, angle_deg=angle,
            surface=surface, method=method or study.DEFAULT_METHOD,
        )  # fmt: skip
        _section(request, out)


def _section(request: "study.TraceRequest", out: Path | None) -> None:
    """One section."""
    inputs = (request.photo, request.points, request.stations, request.marks, request.clicked)
    _spare_inputs(report.trace_files(out) if out else (), inputs)
    _check_ending(out, ".dat")
    try:
        with progress_bar(3) as progress:
            result = study.trace_wing(request, progress)
    except TraceError as refused:
        place = out or Path("traced.dat")
        seen = report.write_refusal_picture(refused, place.with_name(f"{place.stem}-refused.png"))
        if seen is None:
            raise
        raise TraceError(f"{refused}; {seen} shows what was seen") from None
    written = report.write_trace(result, out) if out else []
    echo_wrapped(*report.trace_lines(result))
    if written:
        echo_wrapped("wrote " + ", ".join([str(written[0]), *(path.name for path in written[1:])]))
    _leave(result.doubts)


def _leave(doubts: tuple[str, ...]) -> None:
    for doubt in doubts:
        echo_wrapped(f"Not trustworthy: {doubt}" + "." * (not doubt.endswith("?")))
    if doubts:
        raise Exit(NOT_TRUSTWORTHY)


def _span(path: Path, out: Path | None) -> None:
    """Several sections of one wing."""
    _check_ending(out, ".dat")
    with progress_bar(2) as progress:
        found = study.measure_span(path, out.stem if out else "section", progress)
    if out:
        _spare_inputs(report.span_files(out, len(found.sections)), found.inputs)
    written = report.write_span(found, out) if out else []
    echo_wrapped(*report.span_lines(found))
    echo_written(written)
    _leave(found.doubts)


def _force(path: Path, reading: "study.ForceReading", out: Path | None) -> None:
    """The reverse check."""
    with progress_bar(2) as progress:
        update = study.check_trace(path, reading, progress)
    written = report.write_update(update, out) if out and update.fits else []
    echo_wrapped(*report.update_lines(update))
    echo_written(written)
    if not update.fits:
        raise Exit(NOT_TRUSTWORTHY)


def _click(photo: Path | None, out: Path | None) -> Path:
    _check_ending(out, ".html")
    if photo is None:
        raise TraceError("--click needs --photo FILE, the photo to click in")
    return report.write_click_page(photo, out or photo.with_suffix(".html"))


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
    _check_ending(out, ".pdf")
    return report.write_sheet(
        kind, out or Path(f"{kind}-sheet.pdf"), paper, study.length_mm(chord, "--chord") if chord else None
    )
