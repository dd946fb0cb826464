"""Air around a section for the lessons: paths of the air, the share of the pull, the race past the wing."""

from dataclasses import dataclass

import numpy as np

from wingtool.panels import InviscidFlow

STEP = 0.02  # of the time in which undisturbed air passes one chord
AHEAD, BEHIND = 0.6, 1.55  # where the paths begin and end, in chords from the nose


@dataclass(frozen=True, eq=False)
class AirPaths:
    """A section as it sits on the car with the paths of the air around it; nose left, air from the left.

    Parameters
    ----------
    outline : ndarray, shape (n, 2)
        The section turned over and set at its angle, chord 1, about its mid-chord.
    cp : ndarray, shape (n,)
        Pressure coefficient at the outline's points.
    paths : ndarray, shape (p, t, 2)
        Places of p bits of air at even steps of time `STEP`; nan once they have left the picture.
    ground_y : float
        Height of the ground in the picture; nan in free air.
    alpha_deg : float
        Angle of the section against the air that meets it [deg].
    """

    outline: np.ndarray
    cp: np.ndarray
    paths: np.ndarray
    ground_y: float
    alpha_deg: float


def air_paths(flow: InviscidFlow, index: int = 0, start_y: np.ndarray | None = None) -> AirPaths:
    """Follow bits of air past a solved section, without friction.

    Parameters
    ----------
    flow : InviscidFlow
    index : int
        Which of its angles.
    start_y : ndarray, shape (p,), optional
        Heights at which they start, in chords above the mid-chord point.
    """
    alpha = float(flow.alpha_deg[index])
    outline = to_picture(flow.elements[0], alpha)
    ground = float(outline[:, 1].min()) - flow.ground_height if flow.ground_height else np.nan
    if start_y is None:
        low = max(-0.62, ground + 0.03) if np.isfinite(ground) else -0.62
        start_y = np.linspace(low, 0.5, 17)
    start = np.column_stack([np.full(len(start_y), -AHEAD), start_y])
    return AirPaths(outline, flow.cp[index], _followed(flow, index, start), ground, alpha)


SEPARATES_AT = 0.35  # of the chord: where the sketch of a stalled section lets the flow leave; own choice
TOWARDS_STREAM = 0.7  # how far the edge of the sketched region turns from the chord to the stream; own choice


def with_separated_region(xy: np.ndarray, alpha_deg: float) -> np.ndarray:
    """A section, lifting upwards, with a sketched separated region as part of its body; blunt tail.

    The region's edge leaves the suction side in a straight line between the chord and the stream.
    """
    body = xy.copy()
    nose = int(np.argmin(xy[:, 0]))
    upper = np.arange(nose)
    edge = upper[xy[upper, 0] > SEPARATES_AT]
    level = float(np.interp(SEPARATES_AT, xy[upper[::-1], 0], xy[upper[::-1], 1]))
    slope = np.tan(np.radians(TOWARDS_STREAM * alpha_deg))
    body[edge, 1] = np.maximum(xy[edge, 1], level + slope * (xy[edge, 0] - SEPARATES_AT))
    return body


def to_picture(xy: np.ndarray, alpha_deg: float) -> np.ndarray:
    """Points of a section as drawn, turned over and set at its angle about mid-chord."""
    turn = np.radians(alpha_deg)
    x, y = xy[..., 0] - 0.5, -xy[..., 1]
    return np.stack([0.5 + x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn)], axis=-1)


def from_picture(points: np.ndarray, alpha_deg: float) -> np.ndarray:
    """The reverse of `to_picture`."""
    turn = np.radians(alpha_deg)
    x, y = points[..., 0] - 0.5, points[..., 1]
    return np.stack([0.5 + x * np.cos(turn) + y * np.sin(turn), x * np.sin(turn) - y * np.cos(turn)], axis=-1)


def _followed(flow: InviscidFlow, index: int, start: np.ndarray) -> np.ndarray:
    """Second-order steps of even time through the flow."""
    alpha = float(flow.alpha_deg[index])
    steps = int(3.4 / STEP)
    places = [start]
    for _ in range(steps):
        here = places[-1]
        half = here + 0.5 * STEP * _velocity(flow, index, here, alpha)
        there = here + STEP * _velocity(flow, index, half, alpha)
        there[there[:, 0] > BEHIND] = np.nan
        places.append(there)
    return np.stack(places, axis=1)


def _velocity(flow: InviscidFlow, index: int, points: np.ndarray, alpha_deg: float) -> np.ndarray:
    from wingtool.panels import velocity_at

    result = np.full_like(points, np.nan)
    good = np.isfinite(points).all(axis=1)
    if good.any():
        v = velocity_at(flow, from_picture(points[good], alpha_deg), index)
        tip = from_picture(np.zeros(2), alpha_deg)
        result[good] = to_picture(v + tip, alpha_deg)
    return result


def pull_share(flow: InviscidFlow, index: int = 0) -> float:
    """Share of the section's force across the stream that comes from its suction side."""
    xy, cp = flow.elements[0], flow.cp[index]
    middle = 0.5 * (cp[1:] + cp[:-1])
    turn = np.radians(float(flow.alpha_deg[index]))
    step = np.diff(xy, axis=0)
    up = middle * (step[:, 0] * np.cos(turn) + step[:, 1] * np.sin(turn))
    nose = int(np.argmin(xy[:, 0]))
    return float(up[:nose].sum() / up.sum())


def race(flow: InviscidFlow, index: int = 0) -> tuple[AirPaths, float, float]:
    """Two bits of air that part at the nose: the paths, and the times past the wing below and above.

    Times are those from one chord's start to the tail's station, in passing times of undisturbed air over one
    chord. The two start close on either side of the path that ends at the nose.
    """
    split = _splitting_height(flow, index)
    paths = air_paths(flow, index, np.array([split - 0.05, split + 0.05]))
    tail = float(paths.outline[0, 0])
    times = [_time_to(one, tail) for one in paths.paths]
    return paths, times[0], times[1]


def _time_to(path: np.ndarray, x: float) -> float:
    good = np.isfinite(path[:, 0])
    return float(np.interp(x, path[good, 0], STEP * np.flatnonzero(good)))


def _splitting_height(flow: InviscidFlow, index: int) -> float:
    """Start height of the path that meets the nose, by bisection: below it the air passes underneath."""
    alpha = float(flow.alpha_deg[index])
    outline = to_picture(flow.elements[0], alpha)
    middle = 0.5 * (outline[:, 1].min() + outline[:, 1].max())
    low, high = -0.6, 0.5
    for _ in range(12):
        heights = np.linspace(low, high, 5)[1:-1]
        starts = np.column_stack([np.full(3, -AHEAD), heights])
        ends = _followed(flow, index, starts)
        over = np.array([_height_at(path, 0.5) > middle for path in ends])
        first = int(np.argmax(over)) if over.any() else 3
        bounds = np.array([low, *heights, high])
        low, high = bounds[first], bounds[first + 1]
        if high - low < 1e-3:
            break
    return 0.5 * (low + high)


def _height_at(path: np.ndarray, x: float) -> float:
    good = np.isfinite(path[:, 0])
    return float(np.interp(x, path[good, 0], path[good, 1]))
