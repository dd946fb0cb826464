"""One coupled flow: what is given, what is unknown, and how the stations follow each other.

Stations are the surface nodes (tail, upper side, nose, lower side, tail) and the wake nodes. Unknown at
each are momentum thickness, shear and mass defect; the edge speed follows from all mass defects at once.
Nothing depends on where the stagnation point is but the order in which the stations follow each other.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from wingtool.boundary_layer import STAGNATION_H
from wingtool.panels import EdgeResponse

UPPER, LOWER, WAKE = 0, 1, 2
GAP_CLOSES_IN = 2.5  # gap heights within which the dead air behind a blunt tail ends; common practice
LEAST_SPEED = 1e-4


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
    wake_gap : ndarray, shape (S,)
        Dead air behind a blunt tail [chord].
    roughness_theta : float
        Momentum thickness added by a rough nose at the trip [chord].
    """

    response: EdgeResponse
    nodes: int
    viscosity: float
    critical: float
    trip: tuple[float, float]
    wake_gap: np.ndarray
    roughness_theta: float = 0.0


def wake_gap(arc: np.ndarray, nodes: int, gap: float) -> np.ndarray:
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
        The stagnation point lies between this node and the next.
    """

    theta: np.ndarray
    shear: np.ndarray
    mass: np.ndarray
    transition: np.ndarray
    stagnation_node: int


@dataclass(frozen=True, eq=False)
class Ordering:
    """How stations follow each other, for one place of the stagnation point.

    Parameters
    ----------
    upper, lower, wake : ndarray of int
        Stations downstream: from the stagnation point to the tail, and along the wake.
    sign : ndarray, shape (S,)
        1 where surface speed and mass defect are positive downstream, -1 on the lower side.
    line : ndarray of int, shape (S,)
        All stations, so ordered that each stands at most two behind the one it follows.
    place : ndarray of int, shape (S,)
        Place in the line of each station.
    upstream : ndarray of int, shape (S,)
        For each place in the line that of the station which it follows; its own at the two first stations.
    side, count : ndarray of int, shape (S,)
        For each place in the line, which side or the wake, and the number of the station along it.
    """

    upper: np.ndarray
    lower: np.ndarray
    wake: np.ndarray
    sign: np.ndarray
    line: np.ndarray
    place: np.ndarray
    upstream: np.ndarray
    side: np.ndarray
    count: np.ndarray

    def part(self, which: int) -> np.ndarray:
        """Stations of one side or of the wake, downstream."""
        return (self.upper, self.lower, self.wake)[which]


@lru_cache(maxsize=256)
def order(nodes: int, stations: int, stagnation_node: int) -> Ordering:
    """Stations in the order of the flow."""
    upper, lower = np.arange(stagnation_node, -1, -1), np.arange(stagnation_node + 1, nodes)
    wake = np.arange(nodes, stations)
    sign = np.ones(stations)
    sign[lower] = -1.0
    short, long = sorted((upper, lower), key=len)
    extra = len(long) - len(short)
    line = np.concatenate([long[:extra], np.stack([long[extra:], short], axis=1).ravel(), wake])
    place, upstream, side, count = np.empty((4, stations), dtype=int)
    place[line] = np.arange(stations)
    for which, part in enumerate((upper, lower, wake)):
        at = place[part]
        upstream[at[1:]], upstream[at[0]] = at[:-1], at[0]
        side[at], count[at] = which, np.arange(len(part))
    upstream[nodes] = place[0]
    return Ordering(upper, lower, wake, sign, line, place, upstream, side, count)


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


def edge(case: Case, state: State, ordering: Ordering) -> Edge:
    """Edge speed and layer displacement of a state."""
    gamma = case.response.ue_inviscid + case.response.influence @ state.mass
    speed = ordering.sign * gamma
    starts = [ordering.upper[0], ordering.lower[0]]
    held = np.maximum(speed, LEAST_SPEED)
    displacement = ordering.sign * state.mass / held - case.wake_gap
    displacement[starts] = STAGNATION_H * state.theta[starts]
    held[starts] = speed[starts]
    return Edge(gamma, held, displacement)
