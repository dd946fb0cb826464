"""A smooth curve through an outline's points: one parametric cubic, curvature continuous, corners kept."""

from dataclasses import dataclass
from typing import Any

import numpy as np

CORNER_DEG = 30.0  # a turn at one point above this, with straight neighbours, is an edge; common practice
CORNER_SHARE = 0.2  # what the neighbours may turn, over the turn at the corner
NOSE_ARC = 0.01  # of the chord: over this the nose's turn is judged; common practice
SAMPLES = 2000  # along the outline, at least 16 between two points, for arc length and finding the nose


@dataclass(frozen=True, eq=False)
class Curve:
    """Piecewise cubic through the points of an outline.

    Parameters
    ----------
    cubic : scipy.interpolate.PPoly
        Position over the parameter; its second derivative is continuous but at corners.
    knots : ndarray, shape (n,)
        Parameter of each point given.
    corners : ndarray of int, shape (c,)
        Indices of the points at which the outline has an edge.
    """

    cubic: Any
    knots: np.ndarray
    corners: np.ndarray

    def at(self, t, derivative: int = 0) -> np.ndarray:
        """Position (or a derivative of it) at parameters `t`; shape of `t` and a last axis of 2."""
        return self.cubic(t, derivative)

    def curvature(self, t) -> np.ndarray:
        """Curvature over the chord at `t`, positive where the outline is convex."""
        first, second = self.at(t, 1), self.at(t, 2)
        turn = first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]
        return turn / np.maximum(np.linalg.norm(first, axis=-1), 1e-12) ** 3


def find_corners(xy: np.ndarray) -> np.ndarray:
    """Indices of points where the outline turns at once while its neighbours hardly turn.

    In the foremost tenth of the chord the neighbours must be straighter still and the turn more than square:
    a coarsely given round nose turns much at one point too.
    """
    step = np.diff(xy, axis=0)
    heading = np.arctan2(step[:, 1], step[:, 0])
    turn = np.abs((np.degrees(np.diff(heading)) + 180.0) % 360.0 - 180.0)
    beside = np.maximum(np.r_[0.0, turn[:-1]], np.r_[turn[1:], 0.0])
    from_tail = np.linalg.norm(xy[1:-1] - 0.5 * (xy[0] + xy[-1]), axis=1)
    ahead = from_tail > 0.9 * from_tail.max()
    edge = (turn > CORNER_DEG) & (beside < CORNER_SHARE * turn)
    return np.flatnonzero(edge & (~ahead | (turn > 90.0) & (beside < 0.05 * turn))) + 1


def _through(xy: np.ndarray, knots: np.ndarray, corners: np.ndarray) -> Curve:
    from scipy.interpolate import CubicSpline, PPoly

    ends = np.r_[0, corners, len(xy) - 1]
    spans = zip(ends[:-1], ends[1:], strict=True)
    # natural ends: a coarsely given thin tail then does not cross itself
    pieces = [CubicSpline(knots[a : b + 1], xy[a : b + 1], bc_type="natural") for a, b in spans]
    joined = np.concatenate([piece.c for piece in pieces], axis=1)
    breaks = np.concatenate([piece.x[:-1] for piece in pieces] + [pieces[-1].x[-1:]])
    return Curve(PPoly(joined, breaks), knots, corners)


def _samples(curve: Curve) -> np.ndarray:
    """Parameters between the knots, shape ``(n - 1, k)``, both ends of each interval included."""
    count = max(16, SAMPLES // len(curve.knots))
    return curve.knots[:-1, None] + np.diff(curve.knots)[:, None] * np.linspace(0.0, 1.0, count + 1)


def arc_length(curve: Curve) -> tuple[np.ndarray, np.ndarray]:
    """Parameters, increasing, and the arc length to each of them (trapezium rule, some 2000 steps)."""
    t = _samples(curve)
    speed = np.linalg.norm(curve.at(t, 1), axis=-1)
    piece = np.diff(t, axis=1) * (speed[:, 1:] + speed[:, :-1]) / 2.0
    return np.r_[t[0, 0], t[:, 1:].ravel()], np.r_[0.0, np.cumsum(piece)]


def _roundest(curve: Curve, arc: float = NOSE_ARC) -> tuple[float, float]:
    """Parameter of the roundest place in the foremost tenth of the chord, and its radius.

    Judged by how far an arc of the outline turns, which forgives points that are noisy because they are
    close; the radius is that of the parabola that turns so far over such an arc about its nose.
    """
    t, s = arc_length(curve)
    along = curve.at(t, 1)
    heading = np.unwrap(np.arctan2(along[:, 1], along[:, 0]))
    tail = curve.at(curve.knots[[0, -1]]).mean(axis=0)
    from_tail = np.linalg.norm(curve.at(t) - tail, axis=-1)
    turn = np.interp(s + 0.5 * arc, s, heading) - np.interp(s - 0.5 * arc, s, heading)
    place = int(np.argmax(np.where(from_tail > 0.9 * from_tail.max(), turn, -np.inf)))
    lean = np.tan(np.clip(0.5 * turn[place], 1e-3, 1.5))
    return float(t[place]), float(arc / (lean * np.hypot(1.0, lean) + np.arcsinh(lean)))


def smooth_curve(xy: np.ndarray) -> Curve:
    """Curve through the points of an outline that neither overshoots nor flattens a sparsely given nose.

    Near its nose a section is a parabola, and a cubic is exact on a parabola when the parameter is the
    distance from its axis, that is when dt = ds / sqrt(distance to the focus). A first curve with
    centripetal parameter (Lee, Computer-Aided Design 21(6), 1989) finds the focus, half a nose radius inside
    the most curved place; the second uses that parameter.

    Parameters
    ----------
    xy : ndarray, shape (n, 2)
        Distinct points from the tail round the nose and back, unit chord.
    """
    corners = find_corners(xy)
    step = np.linalg.norm(np.diff(xy, axis=0), axis=1)
    first = _through(xy, np.r_[0.0, np.cumsum(np.sqrt(step))], corners)
    t = _samples(first)
    place, radius = _roundest(first)
    along = first.at(place, 1)
    inwards = np.array([-along[1], along[0]]) / np.linalg.norm(along)
    focus = first.at(place) + 0.5 * max(radius, 2e-4) * inwards
    rate = np.linalg.norm(first.at(t, 1), axis=-1) / np.sqrt(np.linalg.norm(first.at(t) - focus, axis=-1))
    length = np.diff(t, axis=1) * (rate[:, 1:] + rate[:, :-1]) / 2.0
    return _through(xy, np.r_[0.0, np.cumsum(length.sum(axis=1))], corners)


def nose_radius(curve: Curve) -> float:
    """Radius of curvature of the roundest place in the foremost tenth of the chord; 0 for an edge there."""
    tail = curve.at(curve.knots[[0, -1]]).mean(axis=0)
    chord = np.linalg.norm(foremost(curve) - tail)
    edges = curve.at(curve.knots[curve.corners])
    if np.any(np.linalg.norm(edges - tail, axis=-1) > 0.9 * chord):
        return 0.0
    radius = _roundest(curve)[1]
    return _roundest(curve, min(NOSE_ARC, radius))[1]


def foremost(curve: Curve) -> np.ndarray:
    """Point of the curve farthest from the middle of the tail: the end of the chord line; shape (2,)."""
    xy = curve.at(arc_length(curve)[0])
    tail = 0.5 * (xy[0] + xy[-1])
    return xy[np.argmax(np.linalg.norm(xy - tail, axis=1))]
