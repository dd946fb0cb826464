"""A car's side outline as a body over the ground: which way and how fast the air moves behind the roof.

The outline is solved as a plane potential flow (`wingtool.panels.bluff_flow`). Where the upper side falls
away steeper than 30 degrees, or at its end, the flow leaves it (critical backlight angle after Ahmed, Ramm &
Faltin, SAE 840300, 1984, from memory); from there a wake is added to the body. Nobody knows that wake from a
side view, so three are solved: one that closes to half the base height within 1.5 base heights (bubbles
behind square-backed bodies are about that long; from memory), one that closes to the floor within the same
length, and one that runs on level. Under the car passes nothing, half or all of what the stream would carry.

A car is narrow, so air goes round it as well as over. The plane flow's disturbance is reduced by a factor
between two limits: 1, plane flow, and that of an ellipsoid of the car's length, width and height over an
elliptic cylinder of the same side view (Lamb, Hydrodynamics, article 114: speed on top 1 / (1 - D), D the
depolarising factor along the stream). Nominal is their geometric mean. The band adds the three doubts (wake,
flow underneath, relief) as squares.

Limits: the centre plane only; inside the wake no number is given; thick layers on the roof, roof vortices and
the wing's own pull on the air are left out.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.errors import RangeError
from wingtool.geometry import polyline
from wingtool.panels import bluff_flow

SEPARATION_DEG = 30.0
BUBBLE_LENGTH = 1.5  # base heights
WAKE_ENDS = {"half": 0.5, "floor": 0.02, "level": 1.0}  # height at the bubble's end over that of the base
FAR = 10.0  # base heights of wake that are solved
UNDER = (0.5, 0.0, 1.0)  # flow under the car over what the stream would carry; nominal first, as in the wakes
PANELS = 240
ESTIMATE = "estimate"
NEAR_WAKE = "estimate, may lie in the wake"
IN_WAKE = "in the wake: no number"
IN_BODY = "inside the car: no number"


@dataclass(frozen=True, eq=False)
class RoofFlow:
    """Flow in the car's centre plane at p points, with bands.

    Parameters
    ----------
    angle_deg, angle_band_deg : ndarray, shape (p,)
        Positive where the air descends; the larger half width of its band [deg].
    speed_ratio, speed_ratio_band : ndarray, shape (p,)
        Local over car speed; the larger half width of its band.
    status : ndarray of str, shape (p,)
        ``estimate``; ``estimate, may lie in the wake`` (inside one of the three wakes, not the nominal one);
        ``in the wake: no number``; ``inside the car: no number``.
    band_origin : str
    """

    angle_deg: np.ndarray
    angle_band_deg: np.ndarray
    speed_ratio: np.ndarray
    speed_ratio_band: np.ndarray
    status: np.ndarray
    band_origin: str = (
        "three wakes, flow under the car from none to all, relief from ellipsoid to plane flow; "
        "common practice, no measurement"
    )


def roof_flow(
    outline_m: np.ndarray,
    points_m: np.ndarray,
    width_m: float = 1.7,
    roof_edge_m: tuple[float, float] | None = None,
) -> RoofFlow:
    """Flow angle and speed behind the roof in the centre plane, from a side view of the car.

    Parameters
    ----------
    outline_m : ndarray, shape (n, 2)
        Closed side outline without wheels, x rearwards, z above the ground [m]; either direction.
    points_m : ndarray, shape (p, 2)
        Where the flow is wanted: x behind the roof edge, z above the ground [m].
    width_m : float
        Width of the car [m].
    roof_edge_m : (x, z), optional
        Roof edge in the frame of the outline [m]; where the flow leaves the upper side if not given.

    Raises
    ------
    RangeError
        Fewer than 6 points, an outline that touches the ground or crosses itself, or one without upper side.
    """
    outline = _tidy(np.asarray(outline_m, dtype=float))
    upper, lower = _sides(outline)
    leave = _separation(upper)
    edge_x_m = upper[leave, 0] if roof_edge_m is None else roof_edge_m[0]
    at = np.atleast_2d(np.asarray(points_m, dtype=float)) + [edge_x_m, 0.0]
    shapes = {name: _with_wake(upper, lower, leave, end) for name, end in WAKE_ENDS.items()}
    relief_low = ellipsoid_relief(float(np.ptp(outline[:, 0])), width_m, float(outline[:, 1].max()))
    status = _status(at, outline, shapes)
    reliefs = (float(np.sqrt(relief_low)), relief_low, 1.0)
    cases = _doubted(at, shapes, float(outline[:, 1].min()), reliefs)
    cases[:, np.isin(status, (IN_WAKE, IN_BODY))] = np.nan
    angle = np.degrees(np.arctan2(-cases[..., 1], cases[..., 0]))
    speed = np.hypot(cases[..., 0], cases[..., 1])
    return RoofFlow(angle[0], _half_width(angle), speed[0], _half_width(speed), status)


def _doubted(
    at: np.ndarray, shapes: dict[str, np.ndarray], clearance_m: float, reliefs: tuple[float, ...]
) -> np.ndarray:
    """Velocities (7, p, 2) over the car's speed: the nominal case, then two of each doubt, one at a time."""
    plane = [
        np.where(polyline.contains(shape, at)[:, None], np.nan, flow.velocity(at) - [1.0, 0.0])
        for shape in shapes.values()
        for flow in bluff_flow(shape, clearance_m * np.array(UNDER))
    ]
    # reliefs, amounts underneath, wakes
    doubts = [(0, 0), (0, 1), (0, 2), *((case, 0) for case in (1, 2, len(UNDER), 2 * len(UNDER)))]
    return np.array([reliefs[relief] * plane[case] for case, relief in doubts]) + [1.0, 0.0]


def _half_width(cases: np.ndarray) -> np.ndarray:
    """Larger side of the band about the first case: the three doubts' departures, added as squares."""
    pairs = (cases[1:] - cases[0]).reshape(3, 2, -1)
    sides = [np.fmax(np.fmax.reduce(sign * pairs, axis=1), 0.0) for sign in (-1.0, 1.0)]
    return np.sqrt(np.max(np.sum(np.square(sides), axis=1), axis=0))


def ellipsoid_relief(length_m: float, width_m: float, height_m: float) -> float:
    """Disturbance on top of an ellipsoid over that of an elliptic cylinder with the same side view.

    The ground is a plane of symmetry: `height_m` is a semi-axis, length and width are axes.

    Examples
    --------
    A sphere (speed 3/2 on top) against a circular cylinder (speed 2).

    >>> round(ellipsoid_relief(2.0, 2.0, 1.0), 3)
    0.5
    """
    from scipy.special import elliprd

    a, b, c = length_m / 2, width_m / 2, height_m
    solid = a * b * c / 3 * float(elliprd(b * b, c * c, a * a))
    plane = c / (a + c)
    return (solid / (1 - solid)) / (plane / (1 - plane))


def _tidy(outline: np.ndarray) -> np.ndarray:
    """Open, counter-clockwise (front, underside, rear, roof), checked."""
    if outline.ndim != 2 or outline.shape[1] != 2 or not np.isfinite(outline).all():
        raise RangeError("car outline: need finite points x, z")
    if len(outline) > 1 and np.allclose(outline[0], outline[-1]):
        outline = outline[:-1]
    if len(outline) < 6:
        raise RangeError(f"car outline: {len(outline)} points are too few; draw at least 6")
    if outline[:, 1].min() <= 0:
        raise RangeError("car outline touches the ground; heights are above the ground, wheels left out")
    if polyline.first_crossing(polyline.closed(outline)):
        raise RangeError("car outline crosses itself; give its points in order, once round")
    return outline if polyline.signed_area(outline) > 0 else outline[::-1]


def _sides(outline: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Upper side from front to rear, and underside from front to rear, both with their end points."""
    front, rear = int(np.argmin(outline[:, 0])), int(np.argmax(outline[:, 0]))
    turned = np.roll(outline, -front, axis=0)
    last = (rear - front) % len(outline)
    under = turned[: last + 1]
    upper = np.vstack([turned[last:], turned[:1]])[::-1]
    if len(upper) < 4 or upper[:, 1].max() <= under[:, 1].max():
        raise RangeError("car outline: no roof found; x runs rearwards, z upwards")
    steep = np.diff(under[:, 1]) > np.abs(np.diff(under[:, 0]))
    lowest = int(np.argmin(under[:, 1]))
    rising = np.flatnonzero(steep & (np.arange(len(steep)) >= lowest))
    return upper, under[: rising[0] + 1] if rising.size else under


def _separation(upper: np.ndarray) -> int:
    """Index on the upper side, behind its top, where the flow leaves it."""
    top = int(len(upper) - 1 - np.argmax(upper[::-1, 1]))
    step = np.diff(upper[top:], axis=0)
    steep = np.flatnonzero(np.degrees(np.arctan2(-step[:, 1], step[:, 0])) > SEPARATION_DEG)
    return top + (int(steep[0]) if steep.size else len(step))


def _with_wake(upper: np.ndarray, lower: np.ndarray, leave: int, end: float) -> np.ndarray:
    """Car and wake as one closed body, shape (n, 2), divided into panels.

    The wake's upper edge leaves along the last part of the upper side, turns level at the bubble's end and
    runs down to the height of the floor at the far end.
    """
    start, floor = upper[leave], lower[-1]
    base = max(start[1] - floor[1], 0.05 * np.ptp(upper[:, 0]))
    last = upper[leave] - upper[leave - 1]
    slope = np.clip(last[1] / max(last[0], 1e-9), -np.tan(np.radians(SEPARATION_DEG)), 0.0)
    share = np.linspace(0, 1, 25)
    reach = BUBBLE_LENGTH * base
    level = floor[1] + end * (start[1] - floor[1])
    slope = 0.0 if end >= 1 else slope
    # cubic from point and slope to level
    hermite = 2 * share**3 - 3 * share**2 + 1
    bubble = hermite * start[1] + (share**3 - 2 * share**2 + share) * slope * reach + (1 - hermite) * level
    far = start[0] + FAR * base
    wake = np.column_stack([start[0] + share * reach, bubble])
    tail = np.array([[far * 0.5 + wake[-1, 0] * 0.5, level], [far, floor[1] + 0.02 * base]])
    under = np.array([[far, floor[1]]])
    body = np.vstack([lower, under, tail[::-1], wake[::-1], upper[1:leave][::-1]])
    return _divided(body)


def _divided(body: np.ndarray) -> np.ndarray:
    """Edges cut into panels of like length, the long ones of the far wake into as many as the car has."""
    edge = np.roll(body, -1, axis=0) - body
    length = np.hypot(*edge.T)
    cut = np.maximum(np.ceil(length / length.sum() * PANELS), 2).astype(int)
    share = np.concatenate([np.arange(n) / n for n in cut])
    return np.repeat(body, cut, axis=0) + share[:, None] * np.repeat(edge, cut, axis=0)


def _status(at: np.ndarray, outline: np.ndarray, shapes: dict[str, np.ndarray]) -> np.ndarray:
    status = np.full(len(at), ESTIMATE, dtype=object)
    for shape in shapes.values():
        status[polyline.contains(shape, at)] = NEAR_WAKE
    status[polyline.contains(shapes["half"], at)] = IN_WAKE
    status[polyline.contains(outline, at)] = IN_BODY
    return status
