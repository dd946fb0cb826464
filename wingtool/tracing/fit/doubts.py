"""What a person must know about a fit: doubts, for which it is not to be trusted, and notes."""

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import words_beside
from wingtool.geometry import kulfan, polyline
from wingtool.tracing.fit.curve import GAP, ORDER, Distances, Placed, thickness_columns
from wingtool.tracing.readings import LOWER, UPPER, Readings

WORDS, CALIPERS_OFF = words_beside(__file__, "doubts"), words_beside(__file__, "calipers_off")
# own choices; ZERO_MOVED and CLUE set on the simulated readings of tracing/README.md; a fresh seed there
FAR_BELOW, FAR_ABOVE = 0.3, 1.5  # rms residual over the stated error
UNSETTLED_MM = 0.1  # left by the last step
IN_A_ROW = 3  # points
THICKEST = 0.25  # over the chord; beyond it something else was traced, or half a section
SHORT_MM = 3.0  # a tail thinner than the blur is lost over about this length
THINNEST = 0.05  # over the chord; a thicker section in another unit comes out thinner
BLUNT_TAIL = 0.02  # of the chord: thicker without calipers' word is doubted
THICKNESS_ERROR_MM = 0.2  # of the fit: common practice, no source
ZERO_MOVED, APART, CLUE = 2.5, 2.0, 1.5  # standard deviations: doubted in heights, else; worth saying
AT_TAIL = 0.015  # of the chord: a last station this close to the tail edge shows its thickness
NOSE_PART, TAIL_PART = 0.05, 0.97  # of the chord: before and aft of it lie nose and tail
WITHIN = 0.5  # what a doubt leaves open is two standard deviations
ANOTHER = 0.15  # of what was measured: farther off another thing was found in the photo than the section
TAIL_APART_MM = 0.8  # from the edge in a photo: four standard deviations of it


def doubts(
    readings: Readings,
    placed: Placed,
    found: Distances,
    outlier: np.ndarray,
    misfit: float,
    free: float,
    unsettled_mm: float,
    covariance: np.ndarray,
) -> tuple[tuple[str, ...], np.ndarray]:
    """Why a fit is not to be trusted, empty if it is; and what that leaves open of the points (n, k): errors
    common to nose, tail and either side, standard deviations [mm].

    `misfit` is the rms residual over the stated error with `free` degrees of freedom,
    `unsettled_mm` the last step [mm], `covariance` that of the shape parameters.

    Raises
    ------
    TraceError
        Calipers say that another thing was found in a photo than the section.
    """
    row = _longest_row(outlier[np.argsort(found.arc, kind="stable")])
    thickest, thickest_error = _thickest(placed, covariance)
    way, blunt_mm = readings.way, placed.shape[GAP] * placed.chord_mm
    blunt_mm += 2.0 * max(float(np.median(found.distance_mm)) - readings.offset_mm, 0.0)  # a pen's width
    no_pen = ": is a pen's width in it? give --pen-diameter" if readings.offset_mm == 0.0 else ""
    stations = way == "stations" and readings.thickness_mm is None
    blunt = way == "points" and readings.tail_mm is None and blunt_mm > BLUNT_TAIL * placed.chord_mm
    checks = (
        (misfit < FAR_BELOW and way != "photo", "too_near", misfit),
        (misfit**2 > FAR_ABOVE**2 * (1.0 + 2.0 * np.sqrt(2.0 / free)), "too_far", misfit),
        (unsettled_mm > UNSETTLED_MM, "unsettled", unsettled_mm),
        (row >= IN_A_ROW, "in_a_row", row),
        (thickest > THICKEST, "too_thick", thickest),
        (stations and thickest < THINNEST, "too_thin", thickest),
        ((thickness_columns() @ placed.shape).min() < 0.0, "sides_cross"),
        (blunt, "blunt_tail", blunt_mm, no_pen),
    )
    thick, thick_mm = _caliper_doubt(readings, placed, outlier, misfit, (thickest, thickest_error))
    span, span_mm = _scale_doubt(readings, placed, outlier)
    tail, tail_mm = _tail_doubt(readings, placed)
    texts = (WORDS[name].format(*values) for holds, name, *values in checks if holds)
    nose_part, tail_part = found.x < NOSE_PART, found.x > TAIL_PART
    sides = [(found.side == side) & ~nose_part & ~tail_part for side in (UPPER, LOWER)]
    parts = np.column_stack([nose_part, tail_part, *sides])
    left_out_mm = (row >= IN_A_ROW) * outlier * np.abs(found.distance_mm - readings.offset_mm)
    ends_mm = [span_mm, np.hypot(span_mm, tail_mm), 0.5 * span_mm, 0.5 * span_mm]
    each_mm = np.hypot(ends_mm, (left_out_mm[:, None] * parts).max(axis=0))
    point_mm = np.broadcast_to(np.hypot(readings.open_mm, thick_mm), found.x.shape)[:, None]
    modes_mm = parts * np.hypot(point_mm, each_mm)
    return (*readings.doubts, *thick, *span, *tail, *texts), WITHIN * modes_mm


def _thickest(placed: Placed, covariance: np.ndarray) -> tuple[float, float]:
    """Greatest thickness as calipers find it, across the camber line, and its standard deviation, over the
    chord."""
    x = np.linspace(0.1, 0.9, 33)
    upper, lower = kulfan.side_rows(x, ORDER)
    slope = np.gradient(0.5 * (upper + lower) @ placed.shape, x)
    rows = (upper - lower) * np.cos(np.arctan(slope))[:, None]
    row = rows[(rows @ placed.shape).argmax()]
    return float(row @ placed.shape), float(np.sqrt(row @ covariance @ row))


def _caliper_doubt(
    readings: Readings, placed: Placed, outlier: np.ndarray, misfit: float, thickest: tuple[float, float]
) -> tuple[tuple[str, ...], np.ndarray | float]:
    """Greatest thickness by calipers against the outline, and the tail edge against heights; and how far
    either side may be off [mm].

    A zero that moved between the sides moves both alike, so heights are weighed together. Their error grows
    to the misfit; that zero's own share in the error of `thickest` (value, error over the chord) is left out.
    """
    thickest_mm, error_mm = placed.chord_mm * np.array(thickest)
    heights, clues = readings.way == "stations", []
    tail = _at_tail(readings, placed, outlier) if heights else None
    if tail is not None and readings.tail_mm is not None:
        (apart, closing), (stated, error) = tail, readings.tail_mm
        off = apart - stated
        text = f"at the tail the heights are {apart:.1f} mm apart, the tail measures {stated:.1f} mm"
        own = max(misfit, 1.0) * float(np.median(readings.error_mm))
        clues.append((off - np.clip(off, 0.0, closing), np.hypot(error, np.sqrt(2.0) * own), text))
    if readings.thickness_mm is not None:
        stated, error = readings.thickness_mm
        without_zero = np.sqrt(max(error_mm**2 - (2.0 * readings.shared_error_mm) ** 2, 0.0))
        fitted = without_zero if heights else max(THICKNESS_ERROR_MM, error_mm)
        text = f"the outline is {thickest_mm:.1f} mm thick, the calipers say {stated:.1f} mm"
        clues.append((thickest_mm - stated, np.hypot(error, fitted), text))
    if not clues:
        return readings.unless_thickness, readings.shadow_mm
    off, error = np.array([clue[:2] for clue in clues]).T
    if readings.way == "photo" and abs(off[0]) > ANOTHER * thickest_mm:
        raise TraceError(f"{clues[0][2]}: {CALIPERS_OFF['photo']}")
    together = (off / error**2).sum() / np.sqrt((1.0 / error**2).sum())
    if max(abs(together), *np.abs(off / error)) <= (ZERO_MOVED if heights else APART):
        return (), 0.0
    said = "; ".join(text for away, sigma, text in clues if abs(away) > CLUE * sigma)
    way = "thin_photo" if readings.way == "photo" and off[0] < 0.0 else readings.way
    return (f"{said}: {CALIPERS_OFF[way]}",), float(np.abs(off).max())


def _at_tail(readings: Readings, placed: Placed, outlier: np.ndarray) -> tuple[float, float] | None:
    """Upper less lower height at the last station, and by how much it closes from there to the tail [mm]."""
    x = readings.points_mm[:, 0]
    station = np.unique(x)[-2:]
    before, last = (x == at for at in station)
    if any(row.sum() != 2 or outlier[row].any() for row in (before, last)):
        return None
    short_mm = placed.chord_mm * max(1.0 - placed.to_chord(readings.points_mm[last])[:, 0].mean(), 0.0)
    if short_mm > AT_TAIL * placed.chord_mm:
        return None
    apart = [float((readings.points_mm[:, 1] * readings.side)[row].sum()) for row in (before, last)]
    return apart[1], short_mm * max(apart[0] - apart[1], 0.0) / float(np.diff(station)[0])


def _scale_doubt(readings: Readings, placed: Placed, outlier: np.ndarray) -> tuple[tuple[str, ...], float]:
    """A chord measured by hand against the span of the points: a sheet not printed at 100 %, a wrong unit;
    and how far one end may be off [mm], either side by half of that."""
    if readings.chord_mm is None or readings.way == "stations":
        return (), 0.0
    reach = (readings.points_mm[~outlier] - placed.frame[:2]) @ placed.turn[:, 0]
    span = float(np.ptp(reach)) - 2.0 * readings.offset_mm
    stated, error = readings.chord_mm
    short = SHORT_MM + 0.01 * stated  # a thin tail lost, a gap between points
    long = 3.0 * error + (0.0 if readings.way == "photo" else 0.005 * stated)
    if -short < span - stated < long:
        return (), 0.0
    text = f"the points span {span:.1f} mm but the chord was given as {stated:g} mm: "
    if readings.way == "photo" and abs(span - stated) > ANOTHER * stated:
        raise TraceError(f"{text}part of the section was not found, or the scale is wrong")
    if readings.way == "points" and readings.offset_mm == 0.0 and 2.0 < span - stated < 15.0:
        return (f"{text}is a pen's width in it? give --pen-diameter",), abs(span - stated)
    near = "a rib nearer to the camera than the sheet (--rib, --distance), a shadow at nose or tail"
    shadow = f"; {near}" if readings.way == "photo" else ""
    text += f"look for a slip in the chord, in the sheet's 100 mm line, in the unit{shadow}"
    return (text,), abs(span - stated)


def _tail_doubt(readings: Readings, placed: Placed) -> tuple[tuple[str, ...], float]:
    """A tail that the smooth section runs past: a bead or a round end has no place in its form, and blurred
    points count too little to show in the residuals. Only a found edge is closed round the tail."""
    if readings.tail_blur_mm == 0.0:
        return (), 0.0
    loop = placed.loop_mm()
    tail = loop[placed.to_chord(loop)[:, 0] > TAIL_PART]
    apart = float(np.hypot(*polyline.feet(polyline.closed(readings.points_mm), tail)[2].T).max())
    if apart <= TAIL_APART_MM:
        return (), 0.0
    return (WORDS["tail_off"].format(apart),), apart


def _longest_row(flags: np.ndarray) -> int:
    """Length of the longest run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]])))
    return int(np.max(edges[1::2] - edges[::2], initial=0))
