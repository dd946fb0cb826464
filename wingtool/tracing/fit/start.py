"""A first outline from bare points: which end is the tail, which side is up, rough weights."""

from dataclasses import replace

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import words_beside
from wingtool.geometry import polyline
from wingtool.tracing.fit.curve import SHAPE, Placed, real_sections
from wingtool.tracing.readings import EITHER, LOWER, UPPER, Readings

WORDS = words_beside(__file__, "start")
SLICES = 24


def _long_axis(points: np.ndarray) -> np.ndarray:
    """Points turned so that the longest direction lies along the first axis, without mirroring."""
    centred = points - points.mean(axis=0)
    axis = np.linalg.eigh(centred.T @ centred)[1][:, -1]
    axis = axis * np.sign(axis[0] or 1.0)
    return centred @ np.array([[axis[0], -axis[1]], [axis[1], axis[0]]])


def nose_end(points_mm: np.ndarray) -> str:
    """``left`` or ``right``: the blunter end of the cloud of points.

    Raises
    ------
    TraceError
        Both ends alike.
    """
    turned = _long_axis(points_mm)
    low, high = turned[:, 0].min(), turned[:, 0].max()
    reach = 0.12 * (high - low)
    ends = [np.sort(turned[np.abs(turned[:, 0] - end) < reach, 1]) for end in (low, high)]
    spread = [np.ptp(end[1:-1] if len(end) > 5 else end) for end in ends]  # one may be written down wrong
    if max(spread) < 1.15 * min(spread):
        raise TraceError(WORDS["alike"])
    return "left" if spread[0] > spread[1] else "right"


def _middle_line(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Middle of the cloud's highest and lowest points over each x."""
    edges = np.linspace(x.min(), x.max(), SLICES + 1)
    where = np.clip(np.searchsorted(edges, x) - 1, 0, SLICES - 1)
    used = [k for k in range(SLICES) if np.count_nonzero(where == k) > 1]
    centre = [0.5 * (edges[k] + edges[k + 1]) for k in used]
    middle = [0.5 * (y[where == k].max() + y[where == k].min()) for k in used]
    return np.interp(x, centre, middle)


def _sides_by_order(points: np.ndarray) -> np.ndarray | None:
    """Sides from the order of the points, when they go once round the outline; else None."""
    length = polyline.arc_length(polyline.closed(points))[-1]
    if length > 3.0 * np.ptp(points[:, 0]):
        return None
    nose, tail = points[:, 0].argmin(), points[:, 0].argmax()
    place = np.arange(len(points))
    low, high = min(nose, tail), max(nose, tail)
    between = (place > low) & (place < high)
    if not between.any() or between.all():
        return None
    upper_between = points[between, 1].mean() > points[~between, 1].mean()
    sides = np.where(between == upper_between, UPPER, LOWER)
    sides[[nose, tail]] = EITHER
    return sides


def guess_sides(readings: Readings) -> Readings:
    """Sides for the points that have none: from their order, else from the middle of the cloud.

    Points too near the middle to tell are left to the fit.
    """
    if np.all(readings.side != EITHER):
        return readings
    points = _long_axis(readings.points_mm)
    guess = _sides_by_order(points)
    if guess is None:
        above = points[:, 1] - _middle_line(*points.T)
        guess = np.where(above > 0.0, UPPER, LOWER)
        guess[np.abs(above) < 2.0 * readings.error_mm] = EITHER
    return replace(readings, side=np.where(readings.side == EITHER, guess, readings.side))


def first_outline(readings: Readings) -> Placed:
    """An outline near the points, nose at the left; sides must be known (`guess_sides`)."""
    points = readings.points_mm
    turned = _long_axis(points)
    aft = turned[:, 0] > np.quantile(turned[:, 0], 0.0) + 0.985 * np.ptp(turned[:, 0])
    tail = points[aft].mean(axis=0)
    away = np.hypot(*(points - tail).T)
    nose = points[away.argmax()]
    if readings.way == "stations":
        fore = points[:, 0] < points[:, 0].min() + 1e-6
        nose = points[fore].mean(axis=0)
    chord = tail - nose
    length = np.hypot(*chord) if readings.chord_mm is None else readings.chord_mm[0]
    angle = np.arctan2(chord[1], chord[0])
    placed = Placed(np.zeros(SHAPE), np.array([nose[0], nose[1], angle, np.log(length)]))
    return replace(placed, shape=np.append(real_sections()[0], 0.003))
