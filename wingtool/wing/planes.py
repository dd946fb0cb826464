"""Planes with their section data, and the layout of their panels and strips."""

from dataclasses import dataclass, replace

import numpy as np

from wingtool.errors import RangeError
from wingtool.wing.lattice.surfaces import Surface, WingStrips, plate_surfaces, wing_surface
from wingtool.wing.planform import Wing
from wingtool.wing.span_data import Polars, SpanData, span_data


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


def lay_out(planes: tuple[Plane, ...]) -> Layout:
    """Panels, strips and section data of all planes."""
    from scipy.linalg import block_diag

    surfaces, strips, data = [], [], []
    for number, plane in enumerate(planes):
        offset = (plane.aft_m, -plane.above_m)
        surface, own = wing_surface(plane.wing, offset)
        surfaces += [replace(s, plane=number) for s in (surface, *plate_surfaces(plane.wing, offset))]
        height = _strip_height_m(planes[0].wing, own) / own.chord_m
        data.append(span_data(plane.polars, own.span_fraction, height, plane.wing.aspect_ratio))
        strips.append(own)
    joined = WingStrips(**{n: np.concatenate([getattr(s, n) for s in strips]) for n in vars(strips[0])})
    plane_of = np.repeat(np.arange(len(planes)), [len(s.chord_m) for s in strips])
    polars = tuple(polar for one in data for polar in one.polars)
    return Layout(
        planes=planes,
        surfaces=sorted(surfaces, key=lambda one: not one.lifting),
        strips=joined,
        plane=plane_of,
        data=SpanData(polars, block_diag(*(one.weight for one in data))),
        theta_rad=joined.twist_rad + np.radians([p.angle_deg for p in planes])[plane_of],
        d2dy2=block_diag(*map(_second_derivative, strips)),
        core_m=_core_m(planes),
    )


def _strip_height_m(first: Wing, strips: WingStrips) -> np.ndarray:
    """Lowest point of each strip above the ground [m]; the wing's lowest point counts as `height_m`."""
    return first.height_m - strips.quarter[:, 2] - min(0.0, first.tip_rise_m)


def _second_derivative(strips: WingStrips) -> np.ndarray:
    """Second derivative along the span of one half wing, with nothing flowing over centre and tip."""
    slope = np.diff(np.eye(len(strips.y_m)), axis=0) / np.diff(strips.y_m)[:, None]
    return np.diff(np.pad(slope, ((1, 1), (0, 0))), axis=0) / strips.width_m[:, None]


def _core_m(planes: tuple[Plane, ...]) -> float:
    """Planes with the same strips pass each other's legs midway; others might hit them."""
    if len({(p.wing.span_m, p.wing.strips, p.wing.dihedral_deg) for p in planes}) == 1:
        return 0.0
    return max(0.3 * p.wing.span_m / p.wing.strips for p in planes)


def check_planes(planes: tuple[Plane, ...]) -> None:
    """Raise RangeError where planes stand in one another."""
    if not planes:
        raise RangeError("wing: no plane given; give at least one wing with its section data")
    places = [(p.aft_m, p.above_m) for p in planes]
    if len(set(places)) < len(places):
        raise RangeError("wing: two planes stand at the same place; give the second a distance aft or above")
