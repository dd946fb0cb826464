"""Newton iteration of one coupled flow from a given start.

The numbers below bound its steps; own choice. A solution does not depend on them, whether it is found does.
"""

from dataclasses import dataclass, replace

import numpy as np

from wingtool.section.coupled.case import Case, Edge, Order, State, order
from wingtool.section.coupled.equations import LEAST_SPEED, edge, equations
from wingtool.section.coupled.step import Change, newton_change, order_influence

TOLERANCE = 1e-4  # largest relative change of the last step; the next would be about its square
PAST_NODE = 0.15  # the stagnation point must pass a node by this part of a panel before the sides change
FIRST_CELLS, LEAST_CELLS, MOST_CELLS = 4.0, 0.1, 8.0  # that transition may move in one step
LEAST_PLACE = 1.2  # cells behind the first station before which no layer turns turbulent
LEAST_SHAPE = 0.8
MOST_INV_DT = 1e5
TOO_FAR = 2.0  # relative change above which a step in time is made again, shorter
ASTRAY, ASTRAY_STEPS = 10.0, 6  # steps in a row, each longer than that, from which hardly any way leads back
LEAST_INV_DT = 0.03  # [stream speed over chord] below it time steps are as good as none
SHEAR_RANGE = (1e-5, 0.5)


@dataclass(frozen=True, eq=False)
class Solution:
    """A state, its edge, and whether it is one: `steps` Newton steps were made."""

    case: Case
    state: State
    ordering: Order
    edge: Edge
    converged: bool
    steps: int
    why: str = ""


def solve_case(case: Case, start: State, most_steps: int, dt: float = np.inf) -> Solution:
    """Iterate to a solution, or say why there is none.

    With a `dt` [chord over stream speed] the first steps are implicit steps in time, which
    lengthen as the changes become small.
    """
    with np.errstate(all="ignore"):  # an iteration that runs away is told by its size
        return _iterate(case, start, most_steps, dt)


def _iterate(case: Case, start: State, most_steps: int, dt: float) -> Solution:
    state, size, steps, ordered = start, np.inf, 0, None
    inv_dt, unsteady = 1.0 / dt, np.isfinite(dt)
    reach, last, astray = np.full(2, FIRST_CELLS), np.zeros(2), 0
    for steps in range(1, most_steps + 1):
        stagnation_node = state.stagnation_node
        state, ordering = _move_stagnation(case, state)
        if ordered is None or state.stagnation_node != stagnation_node:
            ordered = order_influence(case, ordering)
        state, bounds, free = _limits(case, state, ordering, reach)
        try:
            found = equations(case, state, ordering, inv_dt)
            change = newton_change(ordering, ordered, found, bounds, free(found))
        except (np.linalg.LinAlgError, ValueError):
            return _failed(case, start, steps, "singular step")
        moved, size, stretch = _moved(case, state, ordering, change)
        if inv_dt > 0 and stretch > TOO_FAR and inv_dt < MOST_INV_DT:
            inv_dt *= 4.0
            continue
        state = moved
        reach, last = _next_reach(reach, last, change.transition), change.transition
        if not np.isfinite(size) or size > 1e8:
            return _failed(case, start, steps, "iteration diverged")
        if unsteady:
            inv_dt = _next_inv_dt(inv_dt, stretch)
        if inv_dt == 0.0 and size < TOLERANCE:
            return Solution(case, state, ordering, edge(case, state, ordering), True, steps)
        astray = astray + 1 if inv_dt == 0.0 and size > ASTRAY else 0
        if astray == ASTRAY_STEPS:
            break
    why = f"iteration did not settle (last change {size:.1e})"
    return Solution(case, state, ordering, edge(case, state, ordering), False, steps, why)


def _next_reach(reach: np.ndarray, last: np.ndarray, now: np.ndarray) -> np.ndarray:
    """How far transition may move next: less far after it has turned back, further while it goes one way."""
    return np.clip(np.where(last * now < 0, 0.5, 1.5) * reach, LEAST_CELLS, MOST_CELLS)


def _next_inv_dt(inv_dt: float, stretch: float) -> float:
    """Shorter or longer steps in time, by how far the last one went; none near the end of the way."""
    if inv_dt == 0.0:
        return 0.0 if stretch < 0.3 else 10 * LEAST_INV_DT
    inv_dt *= 0.3 if stretch < 0.1 else 0.7 if stretch < 0.5 else 1.0
    return 0.0 if inv_dt < LEAST_INV_DT else inv_dt


def _failed(case: Case, start: State, steps: int, why: str) -> Solution:
    ordering = order(case.nodes, len(start.theta), start.stagnation_node)
    return Solution(case, start, ordering, edge(case, start, ordering), False, steps, why)


def _move_stagnation(case: Case, state: State) -> tuple[State, Order]:
    """Let the stagnation point pass nodes, with a little hysteresis."""
    stations = len(state.theta)
    gamma = case.response.ue_inviscid[: case.nodes] + case.response.influence[: case.nodes] @ state.mass
    stagnation_node = state.stagnation_node
    for _ in range(20):
        here, after = gamma[stagnation_node], gamma[stagnation_node + 1]
        jump = abs(here - after) + 1e-12
        if here < -PAST_NODE * jump and stagnation_node > 2:
            stagnation_node -= 1
        elif after > PAST_NODE * jump and stagnation_node < case.nodes - 4:
            stagnation_node += 1
        else:
            break
    if stagnation_node != state.stagnation_node:
        mass = state.mass.copy()
        low, high = sorted((stagnation_node, state.stagnation_node))
        mass[low + 1 : high + 1] *= -1
        transition = state.transition + (stagnation_node - state.stagnation_node) * np.array([1.0, -1.0])
        state = replace(state, stagnation_node=stagnation_node, mass=mass, transition=transition)
    return state, order(case.nodes, stations, state.stagnation_node)


def _limits(case: Case, state: State, ordering: Order, reach: np.ndarray):
    """Transition held between nose, trip and tail; how far it may move; and whether it is free to."""
    ends = np.array([len(ordering.upper), len(ordering.lower)], dtype=float)
    places = np.array([state.stagnation_node - case.trip[0], case.trip[1] - state.stagnation_node - 1])
    last = np.clip(places, LEAST_PLACE, ends)
    transition = np.clip(state.transition, LEAST_PLACE, last)
    bounds = np.stack(
        [np.maximum(LEAST_PLACE - transition, -reach), np.minimum(last - transition, reach)], axis=1
    )

    def free(found):
        short = np.array([side.residual < 0 for side in found.amplified])
        return ~((transition >= last) & short) & (last > LEAST_PLACE)

    return replace(state, transition=transition), bounds, free


def _moved(case: Case, state: State, ordering: Order, change: Change) -> tuple[State, float, float]:
    """The state after a bounded step, the relative size of the full step, and that of both thicknesses."""
    at = edge(case, state, ordering)
    speed_change = ordering.sign * (case.response.influence @ (ordering.sign * change.mass))
    thickness = np.maximum(at.displacement + case.dead_air, 1e-9)
    displaced = (change.mass - thickness * speed_change) / np.maximum(at.speed, 1e-3) / thickness
    displaced[[ordering.upper[0], ordering.lower[0]]] = 0.0
    grown = change.theta / state.theta
    sheared = change.shear / state.shear
    parts = [np.abs(part).max() for part in (grown, displaced, sheared, speed_change, change.transition)]
    part = min(
        1.0,
        0.5 / max(grown.max(), 1e-9),
        0.4 / max(-grown.min(), 1e-9),
        1.0 / max(displaced.max(), 1e-9),
        0.5 / max(-displaced.min(), 1e-9),
        0.4 / max(parts[3], 1e-9),
    )
    shear = state.shear * np.clip(1 + part * sheared, 0.5, 2.0)
    new = State(
        state.theta + part * change.theta,
        np.clip(shear, *SHEAR_RANGE),
        state.mass + part * ordering.sign * change.mass,
        state.transition + part * change.transition,
        state.stagnation_node,
    )
    return _repaired(case, new, ordering), max(parts), max(parts[:2])


def _repaired(case: Case, state: State, ordering: Order) -> State:
    """Mass defects raised where a layer would have become thinner than its momentum thickness."""
    gamma = case.response.ue_inviscid + case.response.influence @ state.mass
    speed = np.maximum(ordering.sign * gamma, LEAST_SPEED)
    least = speed * (LEAST_SHAPE * state.theta + case.dead_air)
    mass = ordering.sign * state.mass
    mass[[ordering.upper[0], ordering.lower[0]]] = np.inf
    low = mass < least
    if not low.any():
        return state
    repaired = state.mass.copy()
    repaired[low] = (ordering.sign * least)[low]
    return replace(state, mass=repaired)
