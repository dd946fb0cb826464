"""The lattice condensed to strips: one factorisation, then the strip circulations are the only unknowns.

With unit stream speed the flow-tangency equations read ``A gamma = -E theta``: one row a panel, ``theta`` the
incidence of each strip. Rows of a strip share its incidence, so that summing over the rows gives
``G = M theta``, and the angle that a strip's own section meets is

    theta - K G,    K = M^-1 - M2^-1,

where ``M2`` holds the same lattice in two dimensions. That is the decambering condition at three quarters
of the chord (R. Mukherjee and A. Gopalarathnam, J. Aircraft 43(3), 2006) with the decambering eliminated:
any section curve may be put on the strips, and a section that behaves as a flat plate gives back the
lattice exactly. `M2` takes the ground image into account where the section data already do, so that it
does not count twice.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.wing.lattice.images import mirrors, wash_with_images
from wingtool.wing.lattice.kernels import wake_wash
from wingtool.wing.lattice.surfaces import Surface


@dataclass(frozen=True, eq=False)
class CondensedLattice:
    """Strip matrices of one geometry; s strips of all half wings, w wake strips.

    Parameters
    ----------
    incidence : ndarray, shape (s, s)
        M^-1: incidence [rad] for circulation over stream speed [1/m].
    speed : ndarray, shape (s, s)
        Streamwise speed over stream speed at the quarter-chord points for circulation [1/m].
    wake_load : ndarray, shape (w, s)
        Circulation of each wake strip.
    wake_wash : ndarray, shape (w, w)
        Wash along the strips' normals in the far-wake plane.
    wake_width, wake_lift_width : ndarray, shape (w,)
        Length of each wake strip and its extent in y [m].
    """

    incidence: np.ndarray
    speed: np.ndarray
    wake_load: np.ndarray
    wake_wash: np.ndarray
    wake_width: np.ndarray
    wake_lift_width: np.ndarray

    def induced_form(self) -> np.ndarray:
        """Symmetric matrix B, shape (s, s): induced drag over rho V^2 / 2 is ``G B G``, both halves [m^2]."""
        form = -2 * self.wake_load.T @ (self.wake_width[:, None] * self.wake_wash) @ self.wake_load
        return (form + form.T) / 2


def _tangency(surfaces: list[Surface], ground_m: float, core: float) -> np.ndarray:
    rows = []
    for surface in surfaces:
        control = surface.control.reshape(-1, 3)
        normal = np.tile(surface.normal, (len(surface.control), 1))
        cores = [0.0 if other.plane == surface.plane else core for other in surfaces]
        rows.append(wash_with_images(control, normal, surfaces, mirrors(ground_m), cores))
    return np.concatenate(rows)


def condense(
    surfaces: list[Surface], quarter: np.ndarray, ground_m: float = np.inf, core: float = 0.0
) -> CondensedLattice:
    """Assemble, factor once, condense to strips.

    Parameters
    ----------
    surfaces : list of Surface
        Wings first in the order of their strips, plates anywhere.
    quarter : ndarray, shape (s, 3)
        Quarter-chord points of the wing strips.
    ground_m : float
        Height of the mirror plane in the lattice's frame; inf for free air.
    core : float
        Core radius of trailing legs towards other planes, whose control points they may pass closely [m].
    """
    matrix = _tangency(surfaces, ground_m, core)
    owner = _owners(surfaces)
    wings = np.concatenate([np.full(s.normal.shape[0], s.lifting) for s in surfaces])
    sums = (np.arange(len(wings))[:, None] == owner).astype(float)
    members = sums[wings].T
    load = np.linalg.solve(matrix, -members)
    incidence = np.linalg.inv(members.T @ load)
    load = load @ incidence
    width = np.concatenate([np.diff(s.edges, axis=0) for s in surfaces])
    return CondensedLattice(
        incidence=incidence,
        speed=_speed(surfaces, quarter, ground_m, core) @ load,
        wake_load=sums @ load,
        wake_wash=_far_wake(surfaces, ground_m),
        wake_width=np.linalg.norm(width, axis=1),
        wake_lift_width=width[:, 0],
    )


def _speed(surfaces: list[Surface], quarter: np.ndarray, ground_m: float, core: float) -> np.ndarray:
    """Streamwise speed at the quarter-chord points from the ground's images and from other planes.

    A plane's own panels are left out: what plates on one side do to the speed over their wing is of the
    order of what its chordwise vortices meet there, and both go with the straight wake, which leaves the
    far-wake lift.
    """
    along = np.broadcast_to(np.array([1.0, 0.0, 0.0]), quarter.shape)
    cores = [core] * len(surfaces)
    speed = wash_with_images(quarter, along, surfaces, mirrors(ground_m, with_flow=False), cores)
    plane = np.concatenate([np.full(s.normal.shape[0], s.plane) for s in surfaces if s.lifting])
    if np.any(plane != plane[0]):
        source = np.concatenate([np.full(s.panels, s.plane) for s in surfaces])
        own = wash_with_images(quarter, along, surfaces, mirrors(np.inf), cores)
        speed += own * (plane[:, None] != source)
    return speed


def _owners(surfaces: list[Surface]) -> np.ndarray:
    """Wake strip to which each panel sheds."""
    first = np.cumsum([0, *(len(s.normal) for s in surfaces)])
    return np.concatenate(
        [np.tile(k + np.arange(len(s.normal)), len(s.control)) for k, s in zip(first, surfaces, strict=False)]
    )


def _far_wake(surfaces: list[Surface], ground_m: float) -> np.ndarray:
    middle = np.concatenate([s.middle for s in surfaces])
    normal = np.concatenate([s.normal[:, 1:] for s in surfaces])
    ends = np.concatenate([np.stack([s.edges[:-1], s.edges[1:]], axis=1) for s in surfaces])
    total = np.zeros((len(middle), len(middle)))
    for factor, shift in mirrors(ground_m):
        total += wake_wash(middle * factor[1:] + shift[1:], normal * factor[1:], ends)
    return total
