"""`wingtool trace`: from what the person measured to a section with its band, and what that will do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.errors import TraceError
from wingtool.section import DEFAULT_METHOD, SectionPolar, polar
from wingtool.study.advice import SOUND
from wingtool.study.progress import no_progress
from wingtool.study.trace.rank import Ranking, rank
from wingtool.study.trace.shape_band import ShapeBand, shape_band, widened
from wingtool.units import quantity

if TYPE_CHECKING:
    from wingtool.tracing import Datum, Fitted, FoundOutline, Match, Plane, Readings, TracedSection

BAND_ANGLES_DEG = np.arange(-4.0, 17.0, 2.0)
CHORD_ERROR_MM, TAIL_ERROR_MM, RADIUS_ERROR_MM = (
    0.5,
    0.1,
    0.3,
)  # ruler, calipers, drill shanks: common practice
MM = 1000.0


@dataclass(frozen=True)
class TraceRequest:
    """What the person has: one of `photo`, `points`, `stations`, and words with units.

    `suction_side` is ``up``, ``down`` or None; without it nothing is turned over. `nose` is ``left``,
    ``right`` or ``find``.
    """

    name: str = "traced"
    photo: Path | None = None
    paper: str = "A4"
    marks: Path | None = None
    clicked: Path | None = None
    points: Path | None = None
    pen_diameter: str | None = None
    stations: Path | None = None
    error: str = "0.3 mm"
    chord: str | None = None
    tail: str | None = None
    nose_radius: str | None = None
    nose: str = "find"
    suction_side: str | None = None
    reynolds: float = 7e5
    angle_deg: float = 4.0
    surface: str = "race"
    method: str = DEFAULT_METHOD


@dataclass(frozen=True, eq=False)
class TraceResult:
    """The traced section and all that was made of it; what only a photo gives is None without one."""

    request: TraceRequest
    found: TracedSection
    fitted: Fitted
    datums: tuple[Datum, ...]
    matches: tuple[Match, ...]
    polar: SectionPolar
    band: ShapeBand
    ranking: Ranking
    checks: tuple[str, ...]
    notes: tuple[str, ...]
    plane: Plane | None = None
    outline: FoundOutline | None = None
    doubts: tuple[str, ...] = field(default=())


def trace_wing(request: TraceRequest, progress: Callable[[str], None] = no_progress) -> TraceResult:
    """Everything that `wingtool trace` computes.

    Parameters
    ----------
    request : TraceRequest
    progress : callable
        Takes a line on what is being done.

    Raises
    ------
    WingtoolError
        What was measured gives no outline, or words that cannot be meant; the message says what to do.
    """
    from wingtool.tracing import find_datums, fit_outline, load_index, nearest, traced

    check_words(request)
    error_mm = length_mm(request.error, "--error")
    progress("outline")
    readings, plane, outline = readings_of(request, error_mm)
    upright, notes = as_stored(readings, request)
    fitted = fit_outline(upright)
    found = traced(fitted, request.name, error_mm)
    found = replace(found, notes=found.notes + notes)
    progress("nearest known sections")
    matches = nearest(found.section, load_index())
    progress(f"coefficients by {request.method}, draws by the surrogate")
    centre = polar(
        found.section, request.reynolds, BAND_ANGLES_DEG, method=request.method, surface=request.surface
    )
    return TraceResult(
        request,
        found,
        fitted,
        find_datums(found.shape, found.covariance),
        matches,
        widened(centre, found),
        shape_band(found, request.reynolds, BAND_ANGLES_DEG, request.surface),
        rank(found, request.reynolds, request.angle_deg, request.surface),
        checks_of(found, request),
        found.notes,
        plane,
        outline,
        doubts_of(fitted, centre),
    )


def check_words(request: TraceRequest) -> None:
    """One way of measuring, and words out of their lists.

    Raises
    ------
    TraceError
        None or several of photo, points, stations; an unknown word.
    """
    ways = [way for way in ("photo", "points", "stations") if getattr(request, way) is not None]
    if len(ways) != 1:
        raise TraceError(
            f"{len(ways)} ways of measuring were given; give one of --photo FILE, --points FILE.csv, "
            "--stations FILE.csv (wingtool trace --sheet photo --out sheet.pdf prints how to measure)"
        )
    if request.suction_side not in (None, "up", "down"):
        raise TraceError(
            f"--suction-side: {request.suction_side!r} is not up or down, as the section lies before you"
        )
    if request.nose not in ("find", "left", "right"):
        raise TraceError(f"--nose: {request.nose!r} is not left or right, as the section lies before you")
    if not 1e4 <= request.reynolds <= 1e8:
        raise TraceError(f"--reynolds: {request.reynolds:g} is outside 1e4 to 1e8; correct it")
    if not -10.0 <= request.angle_deg <= 20.0:
        raise TraceError(f"--angle: {request.angle_deg:g} is outside -10 to 20 deg; correct it")


def length_mm(text: str, key: str) -> float:
    """A length with its unit, in mm, above zero."""
    value = MM * quantity(text, "length", key)
    if value <= 0.0:
        raise TraceError(f"{key}: {text!r} is not above zero; correct it")
    return value


def _measured(text: str | None, key: str, error_mm: float) -> tuple[float, float] | None:
    """Value and error [mm] of a single measurement; only a tail may be zero (sharp)."""
    if text is None:
        return None
    value = MM * quantity(text, "length", key) if key == "--tail" else length_mm(text, key)
    if value < 0.0:
        raise TraceError(f"{key}: {text!r} is below zero; correct it")
    return value, error_mm


def _with_singles(readings: Readings, request: TraceRequest) -> Readings:
    """What was measured on its own: chord, tail, nose."""
    return replace(
        readings,
        chord_mm=_measured(request.chord, "--chord", CHORD_ERROR_MM),
        tail_mm=_measured(request.tail, "--tail", TAIL_ERROR_MM),
        nose_radius_mm=_measured(request.nose_radius, "--nose-radius", RADIUS_ERROR_MM),
    )


def readings_of(request: TraceRequest, error_mm: float) -> tuple[Readings, Plane | None, FoundOutline | None]:
    """Readings by the one way that was given."""
    from wingtool.tracing import points_readings, read_columns, station_readings

    if request.photo is not None:
        readings, plane, outline = _from_photo(request, request.photo, error_mm)
        return _with_singles(readings, request), plane, outline
    if request.points is not None:
        pen_mm = length_mm(request.pen_diameter, "--pen-diameter") if request.pen_diameter else 0.0
        points = read_columns(request.points, ("x_mm", "y_mm"))
        return _with_singles(points_readings(points, error_mm, pen_mm), request), None, None
    if request.chord is None or request.stations is None:
        raise TraceError(
            '--stations needs --chord as well: measure it over nose and tail, for example "250 mm"'
        )
    table = read_columns(request.stations, ("x_mm", "upper_mm", "lower_mm"))
    x_mm, upper_mm, lower_mm = table.T
    readings = station_readings(x_mm, upper_mm, lower_mm, error_mm)
    return _with_singles(readings, request), None, None


def _from_photo(request: TraceRequest, path: Path, error_mm: float):
    from wingtool.tracing import (
        clicked_readings,
        find_outline,
        outline_readings,
        plane_from_marks,
        plane_from_sheet,
        read_columns,
        read_photo,
        sheet,
    )

    photo = read_photo(path)
    paper = None
    if request.marks is not None:
        table = read_columns(request.marks, ("photo_x", "photo_y", "x_mm", "y_mm"))
        plane = plane_from_marks(table[:, :2] / photo.reduced, table[:, 2:], photo.light.shape)
    else:
        paper = sheet(request.paper)
        plane = plane_from_sheet(photo.light, paper)
    if request.clicked is not None:
        points = read_columns(request.clicked, ("photo_x", "photo_y")) / photo.reduced
        return clicked_readings(points, error_mm, plane), plane, None
    outline = find_outline(photo, plane, paper)
    return outline_readings(outline, error_mm, plane), plane, outline


def as_stored(readings: Readings, request: TraceRequest) -> tuple[Readings, tuple[str, ...]]:
    """Nose to the left, lifting side up if the person said which it is; and what to tell them."""
    from wingtool.tracing import as_drawn, nose_end

    nose = request.nose
    if nose == "find":
        nose = "left" if readings.way == "stations" else nose_end(readings.points_mm)
    notes: tuple[str, ...] = ()
    if nose == "right":
        notes += ("the nose was at the right: mirrored, the view of the wing's other end; up stays up",)
    if request.suction_side is None:
        notes += (
            "the section is kept as it lies: say --suction-side up or down (the side that faces the road)",
        )
    if request.suction_side == "down":
        notes += ("turned over on your word: the side that lay down is the suction side",)
    return as_drawn(readings, nose, request.suction_side == "down"), notes


def checks_of(found: TracedSection, request: TraceRequest) -> tuple[str, ...]:
    """The section method itself on the draws nearest the ends of the band, beside what the surrogate said."""
    from wingtool.geometry import Section
    from wingtool.tracing import draws, kulfan_outline

    if request.method == "surrogate":
        return ("centre and draws by the surrogate alone; no second method was asked",)
    shapes = draws(found.shape, found.covariance, 60)
    alpha = np.array([request.angle_deg])
    cl = shape_band(found, request.reynolds, alpha, request.surface, count=60).cl[:, 0]
    order = np.argsort(cl)
    picked = [order[2], order[-3]]
    answers = [_one_cl(found.section, request)]
    answers += [_one_cl(Section("draw", kulfan_outline(shapes[k]), "draw"), request) for k in picked]
    spread, said = answers[2] - answers[1], cl[picked[1]] - cl[picked[0]]
    if not np.isfinite(spread):
        return (
            f"{request.method} gave no number for a draw at {request.angle_deg:g} deg; the band is unchecked",
        )
    return (
        f"between two draws near the band's ends {request.method} finds a difference in cl of "
        f"{spread:.3f}, the surrogate "
        f"{said:.3f}, at {request.angle_deg:g} deg",
    )


def _one_cl(section, request: TraceRequest) -> float:
    angles = request.angle_deg + np.array([-1.0, 0.0])
    answer = polar(section, request.reynolds, angles, method=request.method, surface=request.surface)
    return float(answer.cl[0, 1])


def doubts_of(fitted: Fitted, centre: SectionPolar) -> tuple[str, ...]:
    """Why outline or coefficients are not to be trusted; empty if they are."""
    unsound = int(np.count_nonzero(~np.isin(centre.status, SOUND)))
    if unsound <= centre.status.size // 2:
        return fitted.doubts
    return (*fitted.doubts, f"{unsound} of {centre.status.size} angles did not converge soundly")
