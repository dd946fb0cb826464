"""From a wing, its section data and the air to downforce and drag over angle and speed."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from wingtool.air import Air
from wingtool.errors import RangeError
from wingtool.wing.band import half_widths
from wingtool.wing.branches import solve_all
from wingtool.wing.forces import Solved, areas
from wingtool.wing.ground import Influence, influences
from wingtool.wing.newton import Cases, section_state
from wingtool.wing.planes import Layout, Plane, check_planes, lay_out
from wingtool.wing.planform import RoofInflow, Wing
from wingtool.wing.present import wing_polar
from wingtool.wing.result import WingPolar
from wingtool.wing.span_data import Polars

LEVEL = RoofInflow(*np.array([[0.0], [0.0], [0.0], [1.0], [0.0]]))  # free stream


def solve_wing(
    wing: Wing,
    polars: Polars,
    wing_angle_deg: ArrayLike,
    speed_m_s: ArrayLike,
    air: Air | None = None,
    inflow: RoofInflow | None = None,
) -> WingPolar:
    """Forces of one wing.

    Vortex lattice over wing and endplates, ground by image, section data at the three-quarter-chord condition
    (R. Mukherjee and A. Gopalarathnam, J. Aircraft 43(3), 2006), drag in the far-wake plane.

    Parameters
    ----------
    wing : Wing
        Geometry; its height is that of the lowest point at each set angle.
    polars : SectionPolar, or sequence of SectionPolar or StationPolars
        Section data: one; one section at several heights; or stations along the span. Data computed in
        free air leave the ground to the lattice, data computed at a height bring their part of it along.
    wing_angle_deg : array, shape (m,)
        Chord line against the horizontal [deg], positive for downforce, increasing.
    speed_m_s : array, shape (k,)
        Car speeds [m/s].
    air : Air, optional
        Standard air at sea level if not given.
    inflow : RoofInflow, optional
        The air behind the roof.

    Raises
    ------
    RangeError
        Angles that do not increase or lie beyond 60 degrees, speeds that are not positive, section data that
        contradict one another.

    Examples
    --------
    >>> from wingtool.section import polar_from_arrays
    >>> cl, cd = [-0.1, 0.4, 0.95, 1.4, 1.3], [0.012, 0.011, 0.013, 0.02, 0.08]
    >>> section = polar_from_arrays([-5, 0, 5, 10, 15], cl, cd)
    >>> result = solve_wing(Wing(1.4, 0.25), section, [0.0, 5.0], [40.0])
    >>> result.status.tolist()
    [['converged', 'converged']]
    >>> float(result.downforce.n[0, 1].round(-1))
    210.0
    """
    return solve_planes([Plane(wing, polars)], wing_angle_deg, speed_m_s, air, inflow)


def solve_planes(
    planes: Sequence[Plane],
    wing_angle_deg: ArrayLike,
    speed_m_s: ArrayLike,
    air: Air | None = None,
    inflow: RoofInflow | None = None,
) -> WingPolar:
    """Forces of several planes, in tandem or one above the other, in one solution; as `solve_wing`."""
    planes, air = tuple(planes), air or Air()
    check_planes(planes)
    angles = _checked("wing angles", wing_angle_deg, -60.0, 60.0)
    speeds = _checked("speeds", speed_m_s, 0.5, 120.0)
    layout = lay_out(planes)
    influence = influences(layout, np.radians(angles))
    cases = _cases(layout, influence, np.radians(angles), speeds, air, inflow)
    solution = solve_all(cases, (speeds.size, angles.size))
    state = section_state(cases, solution.circulation)
    solved = Solved(layout, angles, speeds, air, inflow, influence, cases, solution, state)
    acting = areas(solved)
    return wing_polar(solved, acting, *half_widths(solved, acting, inflow or LEVEL))


def _checked(what: str, values: ArrayLike, low: float, high: float) -> np.ndarray:
    array = np.atleast_1d(np.asarray(values, float))
    if array.ndim != 1 or array.size == 0 or not np.all(np.isfinite(array)) or np.any(np.diff(array) <= 0):
        raise RangeError(f"wing: {what} must be finite and increase; sort them and drop repeats")
    if array[0] < low or array[-1] > high:
        raise RangeError(
            f"wing: {what} from {array[0]:g} to {array[-1]:g} leave {low:g} to {high:g}; check the unit"
        )
    return array


def _cases(
    layout: Layout, influence: Influence, alpha: np.ndarray, speeds: np.ndarray, air: Air, inflow
) -> Cases:
    """Strip equations of all speeds and angles."""
    strips, n = layout.strips, (speeds.size, alpha.size, layout.strips.y_m.size)
    local = (inflow or LEVEL).at(strips.span_fraction)
    tilt = np.radians(local["angle_deg"])
    theta = np.broadcast_to(alpha[None, :, None] + layout.theta_rad + tilt, n).reshape(-1, n[2])
    chord_re = air.reynolds(speeds[:, None] * strips.cos_sweep, strips.chord_m * strips.cos_sweep)
    reynolds = np.broadcast_to(chord_re[:, None, :], n).reshape(-1, n[2])
    load = _mount_load(layout)
    return Cases(
        theta=theta,
        ratio=np.broadcast_to(local["speed_ratio"], theta.shape),
        reynolds=reynolds,
        induced_angle=_for_each(influence.induced_angle, speeds.size),
        speed=_for_each(influence.speed, speeds.size),
        chord=strips.chord_m * strips.cos_sweep**2,
        load=load,
        sec_sweep=1 / strips.cos_sweep,
        d2dy2=layout.d2dy2,
        stall=np.where(load < 1.0, np.pi, layout.data.stall_rad(reynolds)),
        post_stall_slope=layout.data.post_stall_slope(),
        data=layout.data,
    )


def _for_each(matrix: np.ndarray, speeds: int) -> np.ndarray:
    return matrix if len(matrix) == 1 else np.tile(matrix, (speeds, 1, 1))


def _mount_load(layout: Layout) -> np.ndarray:
    """What mounts leave of each strip's circulation, by the share of the strip that they disturb."""
    load, strips = np.ones(len(layout.plane)), layout.strips
    for number, plane in enumerate(layout.planes):
        own = layout.plane == number
        outer = np.cumsum(strips.width_m[own])
        inner = outer - strips.width_m[own]
        for mount in plane.wing.mounts:
            centre = mount.span_fraction * plane.wing.span_m / 2
            low, high = max(centre - mount.width_m / 2, 0.0), centre + mount.width_m / 2
            share = np.clip(np.minimum(outer, high) - np.maximum(inner, low), 0, None) / strips.width_m[own]
            load[own] *= 1 - (1 - mount.load_factor) * share
    return load
