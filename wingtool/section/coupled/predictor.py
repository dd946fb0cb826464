"""The next state of a march from its last two: what a Newton iteration starts from at a new angle.

From one angle to the next the stagnation point and both places of transition move through the grid, and with
them the steep parts of the layers. So states are compared, and carried on, at like places: the surface is
stretched between tail, transition, stagnation point, transition and tail, each of which moves on by itself.
"""

import numpy as np

from wingtool.section.coupled.case import State
from wingtool.section.coupled.solve import PAST_NODE, Solution

FARTHEST_CELLS = 16.0  # transition that came further has jumped: nothing says where it will be next
LEAST_FACTOR, MOST_FACTOR = 0.6, 1.6  # of thickness, shear and mass defect against the last state


def extrapolate(before: Solution, here: Solution, part: float) -> State:
    """State `part` of the distance from `before` to `here` beyond `here`; that of `here` after a jump."""
    old, new = _marks(before), _marks(here)
    if np.abs(new - old).max() > FARTHEST_CELLS:
        return here.state
    marks = new + part * np.clip(new - old, -FARTHEST_CELLS, FARTHEST_CELLS)
    nodes = here.case.nodes
    marks[[0, -1]] = -1.0, nodes
    marks[[1, 3]] = np.clip(marks[[1, 3]], -1.0, nodes)
    if np.any(np.diff(marks[1:4]) < 2.0):
        return here.state
    place = np.arange(float(nodes))
    at_old, at_new = (np.interp(place, marks, there) for there in (old, new))

    def extrapolated(name):
        one, two = getattr(before.state, name), getattr(here.state, name)
        one, two = (_at_places(field, at, nodes) for field, at in ((one, at_old), (two, at_new)))
        with np.errstate(divide="ignore", invalid="ignore"):
            factor = 1 + part * (1 - one / two)
        return two * np.clip(np.nan_to_num(factor, nan=1.0), LEAST_FACTOR, MOST_FACTOR)

    stagnation_node = _stagnation_node(here, marks[2])
    transition = np.array([stagnation_node - marks[1], marks[3] - stagnation_node - 1])
    theta, shear, mass = (extrapolated(name) for name in ("theta", "shear", "mass"))
    return State(theta, shear, mass, transition, stagnation_node)


def _marks(solution: Solution) -> np.ndarray:
    """Places, in nodes, of tail, transition, stagnation point, transition, tail; -1 and N at the tails."""
    state, gamma, node = solution.state, solution.edge.gamma, solution.state.stagnation_node
    one, two = gamma[node : node + 2]
    stagnation = node + np.clip(one / (one - two), -PAST_NODE, 1 + PAST_NODE)
    upper, lower = node - state.transition[0], node + 1 + state.transition[1]
    return np.array([-1.0, upper, stagnation, lower, solution.case.nodes])


def _at_places(field: np.ndarray, places: np.ndarray, nodes: int) -> np.ndarray:
    """A field at places on the surface, and in the wake as it is."""
    on_wall = np.interp(places, np.arange(nodes), field[:nodes])
    return np.concatenate([on_wall, field[nodes:]])


def _stagnation_node(here: Solution, stagnation: float) -> int:
    """The node before the stagnation point; that of the last state as long as it is hardly passed."""
    stagnation_node = here.state.stagnation_node
    if -PAST_NODE <= stagnation - stagnation_node <= 1 + PAST_NODE:
        return stagnation_node
    return int(np.floor(stagnation))
