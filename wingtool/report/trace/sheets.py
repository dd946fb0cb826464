"""Sheets to print that say how to measure a wing and the air before it, each at full size."""

from pathlib import Path

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import whole_file
from wingtool.geometry import four_digit, polyline
from wingtool.report.trace.roof_sheet import roof_pages
from wingtool.report.trace.sheet_parts import SCALE_CHECK_MM, draw_steps, new_page, scale_line, title
from wingtool.tracing import DOT_MM, HOLE_MM, RING_MM, Sheet

STATIONS_PER_CENT = (0.5, 1, 2, 3.5, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 85, 90, 95, 98, 100)
SINGLES = ("chord", "tail edge thickness", "nose: drill shank diameter", "span", "mass")
ARROW = {"arrowstyle": "<->", "linewidth": 0.7}

ROAD = (
    "On the car the suction side faces the road: say whether it lay up or down (--suction-side); nothing is "
    "turned over without your word."
)
PHOTO_STEPS = (
    "Print at 100 % (no fit to page). Measure the 100 mm line: if it is not 100, give it as --scale-line. "
    "Tape the sheet flat.",
    "Lay on it the end rib, or a card template cut to fit the wing, or stand the wing on its end and draw "
    "round it with a fine pen, then blacken the inside (or give --pen-diameter). Blacken a bright face; "
    "leave it flat on the sheet. The upper side as you will call it towards the top.",
    "Nothing over the rings. Light from both sides or an overcast sky, no sun, no flash, no hand in the "
    "picture: a shadow beside the section is taken for section.",
    "Camera square above the middle, 1.5 m or more away, zoomed in; all eight rings in the picture, sharp. "
    "Write down the camera's distance (--distance) and the rib's thickness (--rib, 0 mm for card).",
    "Measure chord, tail and greatest thickness with calipers as well (--chord, --tail, --thickness): they "
    "shrink the band most for the least work, and show a shadow that nobody saw.",
    ROAD,
)
TRACE_STEPS = (
    "Tape card to the wing's end or stand the wing on it. Keep the pen upright; go round once, "
    "nose and tail too.",
    "Measure the pen where it touches the wing (its barrel or its tip): the trace lies half of that outside.",
    "Lay the trace on squared paper or scan it, and write down points: every 10 mm on the sides, every 1 mm "
    "round the first 10 mm of the nose, three on the tail's edge. Any order.",
    "Measure chord and tail thickness with calipers as well: they shrink the band most for the least work.",
    "File: two columns, x_mm,y_mm, one point a line, y upwards.",
    ROAD,
)
STATION_STEPS = (
    "Lay the wing on a flat table, nose against a square, and do not move it.",
    "At each station measure up from the table to the upper and to the lower side (height gauge; below, a "
    "feeler or drill shank). Write what you read, not what you expect.",
    "At 100 % read the two corners of the tail edge. Chord with a ruler over nose and tail. Tail "
    "edge with calipers. Nose: the drill shank or coin edge that "
    "fits it without light; half its diameter is the radius.",
    "File: three columns, x_mm,upper_mm,lower_mm; leave a cell empty that you could not reach.",
    ROAD,
)


def draw_marks(axes, target: Sheet, ink: str = "black", ground: str = "white") -> None:
    """The rings, the first with its dot."""
    from matplotlib.patches import Circle

    for number, (x, y) in enumerate(target.marks_mm):
        axes.add_patch(Circle((x, y), RING_MM / 2, color=ink, linewidth=0))
        axes.add_patch(Circle((x, y), HOLE_MM / 2, color=ground, linewidth=0))
        if number == 0:
            axes.add_patch(Circle((x, y), DOT_MM / 2, color=ink, linewidth=0))


def _dark_pages(paper: str, _chord_mm: float | None):
    """Rings in white on black, for a white or bare metal section."""
    figure, axes, target = new_page(paper)
    figure.set_facecolor("black")
    draw_marks(axes, target, "white", "black")
    scale_line(axes, target.width_mm / 2 - SCALE_CHECK_MM / 2, 4.5, "0.5")
    how = _photo_pages(paper, None)[1]
    return figure, how


def _photo_pages(paper: str, _chord_mm: float | None):
    """The target alone, so that nothing on it is taken for a section; how to use it on a second page."""
    figure, axes, target = new_page(paper)
    draw_marks(axes, target)
    middle = target.width_mm / 2
    axes.text(middle, target.height_mm - 7.0, "this edge up", fontsize=8, ha="center", color="0.5")
    axes.text(
        middle + SCALE_CHECK_MM / 2 + 20.0, 4.5, f"wingtool photo sheet, {paper}", fontsize=6, color="0.6"
    )
    scale_line(axes, middle - SCALE_CHECK_MM / 2, 4.5)
    how, axes, _ = new_page(paper)
    title(axes, target, "Photo sheet: how to take the picture")
    y = draw_steps(axes, 20.0, target.height_mm - 34.0, PHOTO_STEPS, 105, 11.0)
    command = 'wingtool trace --photo wing.jpg --paper {} --chord "250 mm" --tail "1.2 mm"\n  '
    command += '--thickness "30 mm" --rib "4 mm" --distance "1.5 m" --suction-side up --out wing.dat'
    axes.text(20.0, y - 6.0, command.format(paper), fontsize=9, family="monospace")
    return figure, how


def _sketch(axes, x: float, y: float, chord_mm: float) -> np.ndarray:
    """A section drawn for explanation, (n, 2) on the page; not a section of anything."""
    loop = four_digit("4412").xy * chord_mm + np.array([x, y])
    axes.fill(*loop.T, facecolor="0.92", edgecolor="black", linewidth=0.8)
    return loop


def _points_pages(paper: str, _chord_mm: float | None):
    """What a pen trace is and how its points are written down."""
    figure, axes, target = new_page(paper)
    title(axes, target, "Pen trace sheet")
    y = draw_steps(axes, 20.0, target.height_mm - 34.0, TRACE_STEPS, 105, 11.0)
    size = min(200.0, target.width_mm - 90.0)
    loop = _sketch(axes, 30.0, 50.0, size)
    pen = loop + 4.0 * polyline.outward(loop)
    axes.plot(*polyline.closed(pen).T, color="0.3", linestyle=(0, (4, 3)), linewidth=0.8)
    for above, name in (
        (0.1 * size + 9.0, "the pen's line: half the pen outside"),
        (0.03 * size, "the wing"),
    ):
        axes.text(30.0 + size / 2, 50.0 + above, name, ha="center", fontsize=9)
    command = 'wingtool trace --points trace.csv --pen-diameter "7.8 mm" --chord "250 mm" --tail "1.2 mm"\n  '
    command += '--error "0.4 mm" --suction-side up --out wing.dat'
    axes.text(20.0, min(y - 6.0, 120.0), command, fontsize=8, family="monospace")
    scale_line(axes, 20.0, 12.0)
    return (figure,)


def _station_pages(paper: str, chord_mm: float | None):
    """Steps, a sketch with the names, and a form, with the stations in mm for a known chord."""
    figure, axes, target = new_page(paper)
    title(axes, target, "Caliper sheet")
    y = draw_steps(axes, 20.0, target.height_mm - 34.0, STATION_STEPS, 105, 11.0)
    size = min(170.0, target.width_mm - 110.0)
    left, base = 40.0, y - 60.0
    loop = _sketch(axes, left, base + 0.08 * size, size)
    axes.plot([left - 8.0, left + size + 8.0], [base, base], color="black", linewidth=1.2)
    axes.plot([left, left], [base, base + 0.2 * size], color="black", linewidth=1.2)
    at = left + 0.35 * size
    tops = [loop[np.abs(loop[:80, 0] - at).argmin(), 1], loop[80 + np.abs(loop[80:, 0] - at).argmin(), 1]]
    for k, (top, name) in enumerate(zip(tops, ("upper", "lower"), strict=True)):
        x = at + 14.0 * k
        axes.annotate("", (x, top), (x, base), arrowprops=ARROW)
        axes.text(x + 1.5, base + 3.0, name, fontsize=8)
    axes.annotate("", (at, base - 4.0), (left, base - 4.0), arrowprops=ARROW)
    axes.text((left + at) / 2, base - 9.0, "x from the square", fontsize=8, ha="center")
    axes.text(left + size + 10.0, base - 1.0, "table", fontsize=8)
    form, axes, _ = new_page(paper)
    _form(axes, target, chord_mm)
    return figure, form


def _form(axes, target: Sheet, chord_mm: float | None) -> None:
    title(axes, target, "Readings" + (f", chord {chord_mm:.0f} mm" if chord_mm else ""))
    top, step = target.height_mm - 40.0, 6.6
    for column, name in enumerate(("% chord", "x mm", "upper mm", "lower mm")):
        axes.text(24.0 + 32.0 * column, top + 4.0, name, fontsize=9)
    for row, per_cent in enumerate(STATIONS_PER_CENT):
        y = top - step * row
        axes.plot([20.0, 150.0], [y + 2.4, y + 2.4], color="0.7", linewidth=0.4)
        axes.text(24.0, y - 2.4, f"{per_cent:g}", fontsize=9)
        if chord_mm:
            axes.text(56.0, y - 2.4, f"{per_cent * chord_mm / 100:.1f}", fontsize=9)
    for row, name in enumerate(SINGLES):
        axes.text(168.0, top - 14.0 * row, name + ", mm" * (name != "mass"), fontsize=9)
        axes.plot([225.0, 270.0], [top - 14.0 * row] * 2, color="0.5", linewidth=0.5)
    command = (
        'wingtool trace --stations readings.csv --chord "250 mm"\n  --tail "1.2 mm" --nose-radius "4 mm"'
    )
    command += '\n  --error "0.3 mm" --suction-side up --out wing.dat'
    axes.text(168.0, 40.0, command, fontsize=7, family="monospace")


PAGES = {
    "photo": _photo_pages,
    "photo-dark": _dark_pages,
    "trace": _points_pages,
    "stations": _station_pages,
    "roof": roof_pages,
}


def write_sheet(kind: str, path: Path | str, paper: str = "A4", chord_mm: float | None = None) -> Path:
    """Write a sheet as PDF at full size; returns the path.

    Parameters
    ----------
    kind : str
        ``photo``, ``photo-dark``, ``trace``, ``stations`` or ``roof``.
    paper : str
        A4, A3, letter or tabloid.
    chord_mm : float, optional
        For the stations in millimetres [mm].

    Raises
    ------
    TraceError
        Unknown kind or paper.
    OutputError
        The file cannot be written.
    """
    from matplotlib.backends.backend_pdf import PdfPages

    if kind not in PAGES:
        raise TraceError(f"sheet {kind!r} is not known; choose one of {', '.join(PAGES)}")
    pages = PAGES[kind](paper, chord_mm)
    with whole_file(path) as beside, PdfPages(beside, metadata={"CreationDate": None}) as pdf:
        for page in pages:
            pdf.savefig(page)
    return Path(path)
