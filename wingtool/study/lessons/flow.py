"""Air around a section for the lessons: paths of the air, the share of the pull, the race past the wing."""

from dataclasses import dataclass

import numpy as np

from wingtool.panels import InviscidFlow, velocity_at

STEP = 0.02  # of the time in which undisturbed air passes one chord
TIMES = STEP * np.arange(171)
MOST_STEP = 0.05  # so that no path jumps over the nose
AHEAD, BEHIND = 0.6, 1.55  # where the paths begin and end, in chords from the nose
NEAR = 3e-3  # ahead of the stagnation point; followed back, paths near it come together


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
    paths = _followed(flow, index, start)
    paths[paths[..., 0] > BEHIND] = np.nan
    return AirPaths(outline, flow.cp[index], paths, ground, alpha)


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


def _followed(flow: InviscidFlow, index: int, start: np.ndarray, times: np.ndarray = TIMES) -> np.ndarray:
    """Places (p, t, 2) of bits of air at these times, by scipy's Runge-Kutta pair of order five."""
    from scipy.integrate import solve_ivp

    alpha = float(flow.alpha_deg[index])
    origin = from_picture(np.zeros(2), alpha)  # a velocity is turned, not shifted

    def velocity(_, places):
        points = from_picture(places.reshape(-1, 2), alpha)
        return to_picture(velocity_at(flow, points, index) + origin, alpha).ravel()

    solved = solve_ivp(velocity, times[[0, -1]], start.ravel(), t_eval=times, max_step=MOST_STEP)
    return solved.y.reshape(*start.shape, -1).swapaxes(1, 2)


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
    below, above = (float(np.interp(tail, np.nan_to_num(x, nan=BEHIND), TIMES)) for x in paths.paths[..., 0])
    return paths, below, above


def _splitting_height(flow: InviscidFlow, index: int) -> float:
    """Start height of the path that meets the nose, followed back from just ahead of the stagnation point."""
    outline = to_picture(flow.elements[0], float(flow.alpha_deg[index]))
    ahead = outline[[int(np.argmax(flow.cp[index]))]] - [NEAR, 0.0]
    (back,) = _followed(flow, index, ahead, -TIMES)
    return float(np.interp(AHEAD, -back[:, 0], back[:, 1]))
