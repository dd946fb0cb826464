"""Layout of the planes, strip matrices at the heights of the set angles, the ground counted once."""

from dataclasses import dataclass, replace

import numpy as np

from wingtool.errors import RangeError
from wingtool.wing.condense import condense, two_dimensional
from wingtool.wing.lattice import Surface, WingStrips, plate_surfaces, wing_surface
from wingtool.wing.planform import Wing
from wingtool.wing.span_data import Polars, SpanData, span_data

NEAR_CHORDS = 4.0  # above this height the shift of the quarter-chord point with the angle no longer matters


@dataclass(frozen=True, eq=False)
class Plane:
    """A wing with its section data and its place against the first wing.

    Parameters
    ----------
    wing : Wing
        Height, mounts and strips of its own; `height_m` counts for the first plane only.
    polars : SectionPolar, or sequence of SectionPolar or StationPolars
        Section data.
    aft_m, above_m : float
        Centre leading edge behind and above (on the car) that of the first plane [m].
    angle_deg : float
        Added to the wing angle [deg].
    """

    wing: Wing
    polars: Polars
    aft_m: float = 0.0
    above_m: float = 0.0
    angle_deg: float = 0.0


@dataclass(frozen=True, eq=False)
class Layout:
    """Everything about the planes that does not depend on angle or speed; s strips of all half wings.

    `strips` are the planes' strips one after another, `plane` their plane's number, `data` their section
    data, `theta_rad` their angle against the first wing's set angle, `d2dy2` the second derivative along the
    span [1/m^2], `core_m` the core radius of trailing legs towards other planes.
    """

    planes: tuple[Plane, ...]
    surfaces: list[Surface]
    strips: WingStrips
    plane: np.ndarray
    data: SpanData
    theta_rad: np.ndarray
    d2dy2: np.ndarray
    core_m: float

    @property
    def rows(self) -> np.ndarray:
        """Lattice rows of each strip's plane."""
        return np.array([p.wing.rows for p in self.planes])[self.plane]


@dataclass(frozen=True, eq=False)
class Influence:
    """Strip matrices over the angles, each of shape ``(m, s, s)`` or ``(1, s, s)`` where the angle
    does not matter.

    `induced_angle` and `speed` are what the section data do not hold; `drag` is the induced-drag form of
    both halves; `lift_width` (m or 1, s) times circulation is the far-wake lift of both halves.
    """

    induced_angle: np.ndarray
    speed: np.ndarray
    drag: np.ndarray
    lift_width: np.ndarray


def lay_out(planes: tuple[Plane, ...]) -> Layout:
    """Panels, strips and section data of all planes."""
    surfaces, strips, owner, data = [], [], [], []
    for number, plane in enumerate(planes):
        offset = (plane.aft_m, -plane.above_m)
        surface, own = wing_surface(plane.wing, offset)
        surfaces += [replace(s, plane=number) for s in (surface, *plate_surfaces(plane.wing, offset))]
        height = _strip_height_m(planes[0].wing, own) / own.chord_m
        data.append(span_data(plane.polars, own.span_fraction, height, plane.wing.aspect_ratio))
        strips.append(own)
        owner += [number] * len(own.chord_m)
    joined = WingStrips(
        *(np.concatenate([getattr(s, n) for s in strips]) for n in WingStrips.__dataclass_fields__)
    )
    order = sorted(range(len(surfaces)), key=lambda i: not surfaces[i].lifting)
    angle = np.radians([p.angle_deg for p in planes])[np.array(owner)]
    return Layout(
        planes=planes,
        surfaces=[surfaces[i] for i in order],
        strips=joined,
        plane=np.array(owner),
        data=_join_data(data),
        theta_rad=joined.twist_rad + angle,
        d2dy2=_second_derivative(strips),
        core_m=_core_m(planes),
    )


def _strip_height_m(first: Wing, strips: WingStrips) -> np.ndarray:
    """Lowest point of each strip above the ground [m]; the wing's lowest point counts as `height_m`."""
    up = -strips.quarter[:, 2]
    droop = np.tan(np.radians(first.dihedral_deg)) * first.span_m / 2
    return first.height_m + up - min(0.0, droop)


def _join_data(data: list[SpanData]) -> SpanData:
    if len(data) == 1:
        return data[0]
    widths = [d.weight.shape[1] for d in data]
    starts = np.concatenate([[0], np.cumsum(widths)])
    weights = []
    for d, start, stop in zip(data, starts[:-1], starts[1:], strict=True):
        block = np.zeros((len(d.polars), starts[-1]))
        block[:, start:stop] = d.weight
        weights.append(block)
    return SpanData(tuple(p for d in data for p in d.polars), np.concatenate(weights))


def _second_derivative(strips: list[WingStrips]) -> np.ndarray:
    """Second derivative along the span with nothing flowing over centre and tip, block by block."""
    size = sum(len(s.y_m) for s in strips)
    matrix, start = np.zeros((size, size)), 0
    for own in strips:
        n = len(own.y_m)
        flow = np.zeros((n + 1, n))
        gap = 1 / np.diff(own.y_m)
        flow[np.arange(1, n), np.arange(n - 1)] = -gap
        flow[np.arange(1, n), np.arange(1, n)] = gap
        matrix[start : start + n, start : start + n] = np.diff(flow, axis=0) / own.width_m[:, None]
        start += n
    return matrix


def _core_m(planes: tuple[Plane, ...]) -> float:
    """Planes with the same strips pass each other's legs midway; others might hit them."""
    if len({(p.wing.span_m, p.wing.strips, p.wing.dihedral_deg) for p in planes}) == 1:
        return 0.0
    return max(0.3 * p.wing.span_m / p.wing.strips for p in planes)


def lowest_offset(outline: np.ndarray | None, alpha_rad: np.ndarray) -> np.ndarray:
    """Quarter-chord point of a turned-over section above its lowest point, over the chord, at each angle."""
    xy = np.array([[0.0, 0.0], [1.0, 0.0]]) if outline is None else np.asarray(outline)
    height = -np.outer(np.sin(alpha_rad), xy[:, 0] - 0.25) + np.outer(np.cos(alpha_rad), xy[:, 1])
    return height.max(axis=1)


def influences(layout: Layout, alpha_rad: np.ndarray) -> Influence:
    """Condense at the heights of the angles: once in free air or high up, else at three, with a parabola."""
    first = layout.planes[0]
    if not np.isfinite(first.wing.height_m):
        return _one(layout, np.inf, np.zeros(len(layout.data.polars)))
    offset = lowest_offset(_outline(layout), alpha_rad)
    low, high = offset.min(), offset.max()
    if first.wing.height_over_chord > NEAR_CHORDS or high - low < 1e-3:
        nodes = np.array([(low + high) / 2])
    else:
        nodes = (low + high) / 2 + (high - low) / 2 * np.cos(np.pi * np.array([1, 3, 5]) / 6)
    droop = min(0.0, np.tan(np.radians(first.wing.dihedral_deg)) * first.wing.span_m / 2)
    chord = first.wing.chord_m
    condensed = [
        _one(layout, first.wing.height_m - droop + node * chord, np.full(len(layout.data.polars), node))
        for node in nodes
    ]
    if len(condensed) == 1:
        return condensed[0]
    shares = _lagrange(nodes, offset)
    names = Influence.__dataclass_fields__
    return Influence(**{name: _mix(shares, [getattr(one, name) for one in condensed]) for name in names})


def _outline(layout: Layout) -> np.ndarray | None:
    section = layout.data.polars[0].polar.section
    return None if section is None else section.xy


def _lagrange(nodes: np.ndarray, where: np.ndarray) -> np.ndarray:
    shares = np.ones((len(nodes), len(where)))
    for i, node in enumerate(nodes):
        for other in np.delete(nodes, i):
            shares[i] *= (where - other) / (node - other)
    return shares


def _mix(shares: np.ndarray, arrays: list[np.ndarray]) -> np.ndarray:
    return np.tensordot(shares.T, np.concatenate(arrays), axes=1)


def _one(layout: Layout, ground_m: float, offset: np.ndarray) -> Influence:
    """Condense with the mirror plane `ground_m` above the lattice, less what the section data hold."""
    condensed = condense(layout.surfaces, layout.strips.quarter, ground_m, layout.core_m)
    held, speed = _held(layout, offset)
    return Influence(
        induced_angle=(condensed.incidence - np.diag(held))[None],
        speed=(condensed.speed - np.diag(speed))[None],
        drag=condensed.induced_form()[None],
        lift_width=(2 * condensed.wake_lift_width @ condensed.wake_load)[None],
    )


def _held(layout: Layout, offset: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Incidence and image speed for circulation that the section data already hold, by strip."""
    angle, speed = [], []
    for height, node in zip(layout.data.height_chord, offset, strict=True):
        ground = (height + node) * layout.strips.chord_m if np.isfinite(height) else np.inf
        both = [two_dimensional(layout.strips, rows, ground) for rows in sorted(set(layout.rows))]
        which = np.searchsorted(sorted(set(layout.rows)), layout.rows)
        angle.append(np.choose(which, [b[0] for b in both]))
        speed.append(np.choose(which, [b[1] for b in both]))
    return layout.data.blend(angle), layout.data.blend(speed)


def check_planes(planes: tuple[Plane, ...]) -> None:
    """Raise RangeError where planes stand in one another."""
    if not planes:
        raise RangeError("wing: no plane given; give at least one wing with its section data")
    places = [(p.aft_m, p.above_m) for p in planes]
    if len(set(places)) < len(places):
        raise RangeError("wing: two planes stand at the same place; give the second a distance aft or above")
