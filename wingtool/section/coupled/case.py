"""One coupled flow: what is given, what is unknown, and how the stations follow each other.

Stations are the surface nodes (tail, upper side, nose, lower side, tail) and the wake nodes. Unknown at
each are momentum thickness, shear and mass defect; the edge speed follows from all mass defects at once.
Nothing depends on where the stagnation point is but the order in which the stations follow each other.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.boundary_layer import Stations
from wingtool.panels import EdgeResponse

UPPER, LOWER = 0, 1
GAP_CLOSES_IN = (
    2.5  # dead air behind a blunt tail ends within so many gap heights; common practice, no source
)


@dataclass(frozen=True, eq=False)
class Case:
    """What is given.

    Parameters
    ----------
    response : EdgeResponse
        Edge speed and its answer to mass defect, for this angle.
    nodes : int
        Number N of surface nodes.
    viscosity : float
        1/Reynolds number.
    critical : float
        Amplification exponent N at transition.
    trip : (float, float)
        Places of forced transition on upper and lower side, in nodes from the first node of the outline.
    dead_air : ndarray, shape (S,)
        Dead air behind a blunt tail [chord].
    roughness_theta : float
        Momentum thickness added by a rough nose at the trip [chord].
    """

    response: EdgeResponse
    nodes: int
    viscosity: float
    critical: float
    trip: tuple[float, float]
    dead_air: np.ndarray
    roughness_theta: float = 0.0


def dead_air(arc: np.ndarray, nodes: int, gap: float) -> np.ndarray:
    """Dead air at all stations: the gap at the tail, closing smoothly along the wake."""
    air = np.zeros(len(arc))
    if gap > 0:
        x = np.clip(1 - arc[nodes:] / (GAP_CLOSES_IN * gap), 0.0, 1.0)
        air[nodes:] = gap * x * x * (3 - 2 * x)
    return air


@dataclass(frozen=True, eq=False)
class State:
    """What is unknown.

    Parameters
    ----------
    theta, shear, mass : ndarray, shape (S,)
        Momentum thickness, sqrt(C_tau), signed mass defect.
    transition : ndarray, shape (2,)
        Place of transition on upper and lower side, in cells from the first station.
    stagnation_node : int
        The stagnation point lies between nodes `stagnation_node` and `stagnation_node` + 1.
    """

    theta: np.ndarray
    shear: np.ndarray
    mass: np.ndarray
    transition: np.ndarray
    stagnation_node: int


@dataclass(frozen=True, eq=False)
class Order:
    """How stations follow each other, for one place of the stagnation point.

    Parameters
    ----------
    upper, lower, wake : ndarray of int
        Stations downstream: from the stagnation point to the tail, and along the wake.
    sign : ndarray, shape (S,)
        1 where surface speed and mass defect are positive downstream, -1 on the lower side.
    upstream, downstream : ndarray of int
        Both ends of the cells on the surface and in the wake, downstream.
    line : ndarray of int
        All stations, so ordered that each stands at most two behind the one it follows.
    """

    upper: np.ndarray
    lower: np.ndarray
    wake: np.ndarray
    sign: np.ndarray
    upstream: np.ndarray
    downstream: np.ndarray
    line: np.ndarray

    def side(self, which: int) -> np.ndarray:
        """Stations of one side, downstream."""
        return self.lower if which else self.upper


def order(nodes: int, stations: int, stagnation_node: int) -> Order:
    """Stations in the order of the flow."""
    upper, lower = np.arange(stagnation_node, -1, -1), np.arange(stagnation_node + 1, nodes)
    wake = np.arange(nodes, stations)
    sign = np.ones(stations)
    sign[lower] = -1.0
    short, long = sorted((upper, lower), key=len)
    extra = len(long) - len(short)
    line = np.concatenate([long[:extra], np.stack([long[extra:], short], axis=1).ravel(), wake])
    upstream = np.concatenate([upper[:-1], lower[:-1], wake[:-1]])
    downstream = np.concatenate([upper[1:], lower[1:], wake[1:]])
    return Order(upper, lower, wake, sign, upstream, downstream, line)


@dataclass(frozen=True, eq=False)
class Edge:
    """Speed at the edge of the layer, and the layer's thickness, for a state.

    Parameters
    ----------
    gamma : ndarray, shape (S,)
        Signed speed.
    speed : ndarray, shape (S,)
        Positive downstream.
    displacement : ndarray, shape (S,)
        Without dead air; at the first stations of both sides that of the stagnation flow.
    """

    gamma: np.ndarray
    speed: np.ndarray
    displacement: np.ndarray

    def stations(self, case: Case, state: State) -> Stations:
        """As the boundary layer takes them."""
        return Stations(state.theta, self.displacement, state.shear, self.speed, case.dead_air)
