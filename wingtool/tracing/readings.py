"""What was measured on the real wing, before anything is fitted."""

from dataclasses import dataclass, field, replace

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import words_beside

WORDS = words_beside(__file__, "readings")
# own choices; a fresh seed of simulated readings in tracing/README.md
FEWEST_POINTS = 16
WORST_ERROR = 0.02  # of the span of the points
MOST_POINTS = 400
PEN_ERROR_MM = 0.1  # how well a pen's diameter is known: own choice
FAR_OFF = 0.4  # of the length: no section is as thick, no table as tilted
MISSING = 0.25  # of the chord: a longer stretch without stations is named
CROSSED, NEVER = np.sqrt(2.0) * np.array([1.0, 3.0])  # times the error of one height: doubted, refused
COPIED = 3.5  # times the error: rows alike are doubted if they should differ by more
UPPER, LOWER, EITHER = 1, -1, 0


@dataclass(frozen=True, eq=False)
class Readings:
    """Points on or beside a real outline, with their errors.

    Every error is a standard deviation.

    Parameters
    ----------
    way : str
        ``photo``, ``points`` or ``stations``.
    points_mm : ndarray, shape (n, 2)
        Any frame, y upwards as the person sees the section.
    error_mm : ndarray, shape (n,)
        Standard deviation of each point across the outline [mm].
    side : ndarray of int, shape (n,)
        `UPPER`, `LOWER` or `EITHER` (not known; the fit decides).
    offset_mm, offset_error_mm : float
        How far outside the surface the points lie (a pen's radius), and how well that is known [mm].
    shared_error_mm : float
        Standard deviation of what all points of one side have in common: the zero of a height gauge, the
        level at which a photo's edge is taken [mm].
    tail_blur_mm : float
        Length over which a tail thinner than the blur is lost [mm].
    chord_mm, tail_mm, nose_radius_mm, thickness_mm : tuple (value, error), optional
        Measured on their own, with their standard deviation [mm]. The greatest thickness is not fitted: it is
        held against the fit.
    lay : tuple (x, y)
        Signs that turn the points back to how they were read.
    photo_px : ndarray, shape (n, 2), optional
        The same points in the photo, for the picture.
    notes : tuple of str
        What the person should know.
    doubts : tuple of str
        Why the outline itself may be wrong; `unless_thickness` those that a measured thickness can settle.
    open_mm, shadow_mm : ndarray, shape (n,), or 0
        How far these two may put the edge wrong at each point, common along a side [mm].
    """

    way: str
    points_mm: np.ndarray
    error_mm: np.ndarray
    side: np.ndarray
    offset_mm: float = 0.0
    offset_error_mm: float = 0.0
    shared_error_mm: float = 0.0
    tail_blur_mm: float = 0.0
    chord_mm: tuple[float, float] | None = None
    tail_mm: tuple[float, float] | None = None
    nose_radius_mm: tuple[float, float] | None = None
    thickness_mm: tuple[float, float] | None = None
    lay: tuple[float, float] = (1.0, 1.0)
    photo_px: np.ndarray | None = None
    notes: tuple[str, ...] = field(default=())
    doubts: tuple[str, ...] = field(default=())
    unless_thickness: tuple[str, ...] = field(default=())
    open_mm: np.ndarray | float = 0.0
    shadow_mm: np.ndarray | float = 0.0

    def __post_init__(self) -> None:
        if len(self.points_mm) < FEWEST_POINTS:
            n = len(self.points_mm)
            raise TraceError(f"{self.way}: {n} points are too few; take {FEWEST_POINTS}, close at the nose")
        if not np.all(np.isfinite(self.points_mm)):
            raise TraceError(f"{self.way}: a point is not a number; mend the file")
        size, error = float(np.ptp(self.points_mm, axis=0).max()), float(np.median(self.error_mm))
        if error > WORST_ERROR * size:
            raise TraceError(WORDS["too_coarse"].format(self.way, size, error))
        if np.any(self.error_mm <= 0.0):
            raise TraceError(f"{self.way}: the error must be above zero; nobody measures exactly")


def as_drawn(readings: Readings, nose: str, turned_over: bool) -> Readings:
    """The same readings with the nose at the left, turned over when the person said so.

    A nose at the right is mirrored, not rotated: that is the view of the wing's other end, and it leaves the
    upper side up.
    """
    lay = (-1.0 if nose == "right" else 1.0, -1.0 if turned_over else 1.0)
    return replace(readings, points_mm=readings.points_mm * lay, side=readings.side * int(lay[1]), lay=lay)


def points_readings(points_mm: np.ndarray, error_mm: float, pen_diameter_mm: float = 0.0) -> Readings:
    """A pen trace or contour gauge: points in any order, beside the surface by half the pen.

    Parameters
    ----------
    points_mm : ndarray, shape (n, 2)
        [mm].
    error_mm : float
        Standard deviation of a point [mm].
    pen_diameter_mm : float
        Of the pen's body where it touches the wing (0 for a contour gauge) [mm].

    Raises
    ------
    TraceError
        Too few points, or no error.
    """
    points_mm = np.asarray(points_mm, dtype=float)
    notes: tuple[str, ...] = ()
    if len(points_mm) > MOST_POINTS:
        notes = (f"{MOST_POINTS} of {len(points_mm)} points used, evenly through the file",)
        points_mm = points_mm[np.linspace(0, len(points_mm) - 1, MOST_POINTS).astype(int)]
    n = len(points_mm)
    return Readings(
        "points",
        points_mm,
        np.full(n, float(error_mm)),
        np.full(n, EITHER),
        offset_mm=pen_diameter_mm / 2.0,
        offset_error_mm=PEN_ERROR_MM / 2.0 if pen_diameter_mm else 0.0,
        shared_error_mm=0.3 * error_mm,
        notes=notes,
    )


def station_readings(
    x_mm: np.ndarray, upper_mm: np.ndarray, lower_mm: np.ndarray, error_mm: float
) -> Readings:
    """Heights of the upper and lower side at stations, by calipers or height gauge.

    Parameters
    ----------
    x_mm, upper_mm, lower_mm : ndarray, shape (n,)
        Station from the nose and heights above one table or straightedge [mm]; nan where not measured.
    error_mm : float
        Standard deviation of a height [mm].

    Raises
    ------
    TraceError
        Lower above upper, a height that can be none, too few points, or no error.
    """
    x, upper, lower = (np.asarray(v, dtype=float) for v in (x_mm, upper_mm, lower_mm))
    doubts = _checked_rows(x, upper, lower, error_mm)
    points = np.vstack([np.column_stack([x, upper]), np.column_stack([x, lower])])
    side = np.repeat([UPPER, LOWER], len(x))
    keep = np.all(np.isfinite(points), axis=1)
    return Readings(
        "stations",
        points[keep],
        np.full(int(keep.sum()), float(error_mm)),
        side[keep],
        shared_error_mm=0.3 * error_mm,
        doubts=doubts,
    )


def missing_parts(x_mm: np.ndarray, upper_mm: np.ndarray, lower_mm: np.ndarray, chord_mm: float):
    """Stretches of more than a quarter of the chord without a height, a text for each.

    Raises
    ------
    TraceError
        Too few heights are left for an outline.
    """
    found: dict[tuple[float, float], list[str]] = {}
    for name, height in (("upper", upper_mm), ("lower", lower_mm)):
        x = np.unique(np.append(x_mm[np.isfinite(height)], [0.0, chord_mm]))
        for k in np.flatnonzero(np.diff(x) > MISSING * chord_mm):
            found.setdefault((x[k], x[k + 1]), []).append(name)
    texts = tuple(
        WORDS["no_stations"].format(*ends, "" if len(sides) == 2 else f" on the {sides[0]} side")
        for ends, sides in found.items()
    )
    if texts and np.isfinite([upper_mm, lower_mm]).sum() < FEWEST_POINTS:
        raise TraceError("; ".join(texts))
    return texts


def _checked_rows(x_mm, upper_mm, lower_mm, error_mm: float) -> tuple[str, ...]:
    """Doubts about caliper rows (n,) before anything is fitted.

    Raises
    ------
    TraceError
        Lower above upper, or a height that can be none.
    """
    heights = np.column_stack([upper_mm, lower_mm])
    off = np.abs(heights - np.nanmedian(heights))
    if np.nanmax(off) > FAR_OFF * np.ptp(x_mm):
        row, column = np.unravel_index(np.nanargmax(off), off.shape)
        side = ("upper", "lower")[column]
        raise TraceError(WORDS["far_off"].format(x_mm[row], side, heights[row, column]))
    below = np.nan_to_num(lower_mm - upper_mm, nan=-np.inf) / error_mm
    at = np.minimum(below, NEVER).argmax()  # the first row that is wrong, else the most crossed
    crossed = WORDS["crossed"].format(x_mm[at], upper_mm[at], lower_mm[at])
    if below[at] > NEVER:
        raise TraceError(crossed)
    zero = (f"{crossed}: did its zero move between the sides?",) if below[at] > CROSSED else ()
    place, count = np.unique(x_mm, return_counts=True)
    twice = tuple(WORDS["twice"].format(x) for x in place[count > 1])
    return (
        zero
        + twice
        + tuple(
            WORDS["copied"].format(x_mm[k], x_mm[k + 1])
            for k in np.flatnonzero(np.all(np.diff(heights, axis=0) == 0.0, axis=1))
            if x_mm[k] < x_mm[k + 1] and _differ(x_mm, heights, k) > COPIED * error_mm
        )
    )


def _differ(x_mm, heights, k) -> float:
    """By how much [mm] the heights of rows k and k + 1 should differ, from the rows around them."""
    x, rest = np.delete(x_mm, [k, k + 1]), np.delete(heights, [k, k + 1], axis=0)
    return float(np.hypot(*(np.diff(np.interp(x_mm[[k, k + 1]], x, side))[0] for side in rest.T)))
