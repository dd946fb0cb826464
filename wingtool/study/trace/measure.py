"""From what a person measured to a section with its band: one request, one outline."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from wingtool import tracing
from wingtool.errors import TraceError
from wingtool.files import words_beside
from wingtool.section import DEFAULT_METHOD
from wingtool.study.flags import check_within
from wingtool.study.section.sweep import HIGHEST_REYNOLDS, LOWEST_REYNOLDS
from wingtool.units import quantity

WORDS = words_beside(__file__, "measure")
# ruler, calipers, drill shanks: standard deviations, common practice
SINGLE_ERROR_MM = {"chord": 0.5, "tail": 0.1, "nose_radius": 0.3, "thickness": 0.2}
DEFAULT_ERROR_MM = 0.3
PHOTO_ERROR_MM = 0.2  # least error of a photo: edge, print, a sheet not quite flat
WORST_PHOTO_ERROR_MM = 0.5
NOSE_REACH, FEWEST_AT_NOSE = 0.01, 4  # of the chord; clicks there: with fewer the chord line turns by 0.3 deg
UNEVEN = 1.2  # of the least error
SHORT_STATIONS, ENDS_OFF = 0.03, 0.01  # of the chord: refused, doubted
OTHER_UNIT = 2.0  # of thickness over heights: no slip of calipers, another unit is 2.5 and more
CAMBERED_AWAY = -0.005  # of the chord
UNCHECKED_ZERO_MM = 0.5  # of a gauge's zero, of points beside the surface: common practice, no source
PEN_RADIUS_MM = 4.0  # of a carpenter's pencil, two standard deviations
MM = 1000.0


@dataclass(frozen=True)
class TraceRequest:
    """What the person has: one of `photo`, `points`, `stations`, and words with units.

    `rib` is the thickness of what was photographed, `distance` from camera to sheet, `scale_line` the
    measured length of the sheet's 100 mm line; without `error` a photo's error follows its residuals.
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
    error: str | None = None
    chord: str | None = None
    tail: str | None = None
    nose_radius: str | None = None
    thickness: str | None = None
    rib: str | None = None
    distance: str | None = None
    scale_line: str | None = None
    dark_sheet: bool = False
    nose: str = "find"
    suction_side: str | None = None
    reynolds: float = 7e5
    angle_deg: float = 4.0
    surface: str = "race"
    method: str = DEFAULT_METHOD


def check_words(request: TraceRequest) -> None:
    """One way of measuring, and words out of their lists.

    Raises
    ------
    WingtoolError
        None or several of photo, points, stations; an unknown word, a number out of range.
    """
    ways = [way for way in ("photo", "points", "stations") if getattr(request, way) is not None]
    if len(ways) != 1:
        raise TraceError(WORDS["one_way"].format(len(ways)))
    for key, known in (("suction_side", (None, "up", "down")), ("nose", ("find", "left", "right"))):
        word, option = getattr(request, key), key.replace("_", "-")
        if word not in known:
            raise TraceError(f"--{option}: {word!r} is not {known[1]} or {known[2]}, as the section lies")
    check_within(request.reynolds, LOWEST_REYNOLDS, HIGHEST_REYNOLDS, "--reynolds")
    check_within(request.angle_deg, -10.0, 20.0, "--angle", "deg")


def length_mm(text: str, key: str, zero: bool = False) -> float:
    """A length with its unit, in mm, above zero, or not below it."""
    value = MM * quantity(text, "length", key)
    if value < 0.0 or (value == 0.0 and not zero):
        raise TraceError(f"{key}: {text!r} is not above zero; correct it")
    return value


def _given_mm(text: str | None, key: str, zero: bool = False) -> float | None:
    return None if text is None else length_mm(text, key, zero)


def _with_singles(readings: tracing.Readings, request: TraceRequest) -> tracing.Readings:
    """What was measured on its own: chord, tail, nose, thickness."""
    given: dict[str, Any] = {}
    for name, error_mm in SINGLE_ERROR_MM.items():
        value = _given_mm(getattr(request, name), f"--{name.replace('_', '-')}", name == "tail")
        given[f"{name}_mm"] = None if value is None else (value, error_mm)
    if readings.way == "stations" and request.tail is None and request.thickness is None:
        given |= {"offset_error_mm": UNCHECKED_ZERO_MM, "notes": (*readings.notes, WORDS["unchecked_zero"])}
    if readings.way == "points" and request.pen_diameter is None:
        given |= {"offset_error_mm": UNCHECKED_ZERO_MM, "notes": (*readings.notes, WORDS["unstated_pen"])}
        if request.chord is None and request.tail is None:
            doubts = (*readings.doubts, WORDS["unchecked_pen"])
            given |= {"offset_error_mm": 0.5 * PEN_RADIUS_MM, "doubts": doubts}
    return replace(readings, **given)


@dataclass(frozen=True, eq=False)
class Measured:
    """The section of one request; `plane` and `photo` only from a photo."""

    found: tracing.TracedSection
    fitted: tracing.Fitted
    plane: tracing.Plane | None
    photo: tracing.Photo | None
    doubts: tuple[str, ...]


def measure_section(request: TraceRequest) -> Measured:
    """Outline, fit and band of one request.

    Raises
    ------
    WingtoolError
        What was measured gives no outline; the message says what to do.
    """
    stated = _given_mm(request.error, "--error")
    error_mm = stated or (PHOTO_ERROR_MM if request.photo is not None else DEFAULT_ERROR_MM)
    readings, plane, photo = readings_of(request, error_mm)
    readings = _with_singles(readings, request)
    try:
        readings, notes = as_stored(readings, request)
        fitted = tracing.fit_outline(readings)
    except TraceError as error:
        if photo is None or readings.photo_px is None:
            raise
        raise tracing.PhotoRefused(str(error), photo.light, (readings.photo_px,)) from None
    at_nose = int((fitted.foot_x < NOSE_REACH).sum())
    if request.clicked is not None and at_nose < FEWEST_AT_NOSE:
        raise TraceError(WORDS["clicked_nose"].format(request.clicked, at_nose))
    if request.photo is not None and stated is None:
        error_mm, fitted = _error_from_residuals(readings, fitted, error_mm)
        notes += (f"the edge is taken as good to {error_mm:.2f} mm, as it runs (--error states another)",)
    left_out, wrong, moved_mm = tracing.slips(fitted)
    fitted = tracing.left_open(fitted, moved_mm)
    found = tracing.traced(fitted, request.name, error_mm)
    wide = tracing.widest(found)
    of_shape = (WORDS["wide_band"].format(wide),) if wide else _camber_doubt(found, request)
    doubts = (*fitted.doubts, *wrong, *of_shape)
    if request.photo is not None and stated is None and error_mm >= UNEVEN * PHOTO_ERROR_MM:
        doubts += (WORDS["uneven_edge"].format(error_mm),)
    return Measured(replace(found, notes=found.notes + left_out + notes), fitted, plane, photo, doubts)


def _error_from_residuals(readings: tracing.Readings, fitted: tracing.Fitted, error_mm: float):
    """A photo's own error: its residuals as a standard deviation [mm], and the fit with it."""
    rms = float(np.sqrt(np.mean(fitted.residual_mm[~fitted.outlier] ** 2)))
    grown = float(np.clip(rms, error_mm, WORST_PHOTO_ERROR_MM))
    if grown < 1.1 * error_mm:
        return error_mm, fitted
    more = np.sqrt(readings.error_mm**2 - error_mm**2 + grown**2)
    return grown, tracing.fit_outline(replace(readings, error_mm=more, shared_error_mm=0.3 * grown))


def _camber_doubt(found: tracing.TracedSection, request: TraceRequest) -> tuple[str, ...]:
    """The side that was called the suction side against the camber that came out."""
    camber = tracing.camber_of(found.shape)
    if request.suction_side is None or camber > CAMBERED_AWAY:
        return ()
    other = {"up": "down", "down": "up"}[request.suction_side]
    return (WORDS["camber"].format(camber, request.suction_side, other),)


def readings_of(request: TraceRequest, error_mm: float):
    """Readings by the one way that was given; from a photo the plane and the photo too, else None."""
    pen_mm = _given_mm(request.pen_diameter, "--pen-diameter", zero=True) or 0.0
    if request.photo is not None:
        return _from_photo(request, request.photo, error_mm, pen_mm)
    if request.points is not None:
        points = tracing.read_columns(request.points, ("x_mm", "y_mm"))
        return tracing.points_readings(points, error_mm, pen_mm), None, None
    return _stations(request, error_mm), None, None


def _stations(request: TraceRequest, error_mm: float) -> tracing.Readings:
    if request.chord is None or request.stations is None:
        raise TraceError('--stations needs --chord as well: measure it over nose and tail, as "250 mm"')
    chord_mm = length_mm(request.chord, "--chord")
    x_mm, upper_mm, lower_mm = tracing.read_columns(request.stations, ("x_mm", "upper_mm", "lower_mm")).T
    last = float(np.nanmax(x_mm))
    ends = f"the stations end at {last:g} mm, the chord is {chord_mm:g} mm"
    way_out = f"{WORDS['line_skipped']}; or correct --chord" if last < chord_mm else "correct --chord, or x"
    if abs(last - chord_mm) > SHORT_STATIONS * chord_mm + 1.0:
        if abs(last - 100.0) < 2.0:
            way_out = "are they per cent of the chord? write x in mm"
        raise TraceError(f"{request.stations}: {ends}: {way_out}")
    thickness_mm, apart_mm = _given_mm(request.thickness, "--thickness"), np.nanmax(upper_mm - lower_mm)
    if thickness_mm is not None and apart_mm < thickness_mm / OTHER_UNIT:
        raise TraceError(WORDS["other_unit"].format(request.stations, apart_mm, thickness_mm))
    doubts = tracing.missing_parts(x_mm, upper_mm, lower_mm, chord_mm)
    readings = tracing.station_readings(x_mm, upper_mm, lower_mm, error_mm)
    if abs(last - chord_mm) > ENDS_OFF * chord_mm:
        doubts += (f"{ends}: {way_out}",)
    read = float(readings.points_mm[:, 0].max())
    if last > read + ENDS_OFF * chord_mm and not doubts:
        doubts = (f"the heights end at {read:g} mm, the chord is {chord_mm:g} mm: {WORDS['line_skipped']}",)
    return replace(readings, doubts=(*doubts, *readings.doubts))


def _from_photo(request: TraceRequest, path: Path, error_mm: float, pen_mm: float):
    photo = tracing.read_photo(path, request.dark_sheet)
    paper = None
    if request.marks is not None:
        table = tracing.read_columns(request.marks, ("photo_x", "photo_y", "x_mm", "y_mm"))
        plane = tracing.plane_from_marks(table[:, :2] / photo.reduced, table[:, 2:], photo.light.shape)
    else:
        paper = tracing.sheet(request.paper, (_given_mm(request.scale_line, "--scale-line") or 100.0) / 100.0)
        plane = tracing.plane_from_sheet(photo.light, paper)
    if request.clicked is not None:
        points = tracing.read_columns(request.clicked, ("photo_x", "photo_y")) / photo.reduced
        return tracing.clicked_readings(points, error_mm, plane), plane, photo
    pose = tracing.pose_of(plane, photo.focal, _given_mm(request.distance, "--distance"))
    rib_mm = _given_mm(request.rib, "--rib", zero=True)
    outline = tracing.find_outline(photo, plane, paper, pose, rib_mm, pen_mm > 0.0)
    if outline.bright and request.thickness is None:
        raise tracing.PhotoRefused(f"{path}: {outline.doubts[0]}", photo.light, (outline.edge_px,))
    readings = tracing.outline_readings(outline, error_mm, plane, pen_mm)
    if request.chord is None and request.scale_line is None and paper is not None:
        readings = replace(readings, notes=(*readings.notes, WORDS["unscaled"]))
    return readings, plane, photo


def as_stored(readings: tracing.Readings, request: TraceRequest) -> tuple[tracing.Readings, tuple[str, ...]]:
    """Nose to the left, lifting side up if the person said which it is; and what to tell them."""
    nose, blunt = request.nose, "left"
    if readings.way != "stations":
        try:
            blunt = tracing.nose_end(readings.points_mm)
        except TraceError:
            if nose == "find":
                raise
            blunt = nose
    nose = blunt if nose == "find" else nose
    if nose != blunt:
        doubt = f"--nose {nose}, but the {blunt} end is the blunter one: look again, or leave --nose out"
        readings = replace(readings, doubts=(*readings.doubts, doubt))
    notes: tuple[str, ...] = (WORDS["nose_right"],) if nose == "right" else ()
    if request.suction_side != "up":
        notes += (WORDS["as_it_lay"] if request.suction_side is None else WORDS["turned_over"],)
    return tracing.as_drawn(readings, nose, request.suction_side == "down"), notes
