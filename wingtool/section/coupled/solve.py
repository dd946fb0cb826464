"""Newton iteration of one coupled flow from a given start.

The numbers below bound its steps; own choice. A solution does not depend on them, whether it is found does.
"""

from dataclasses import dataclass, replace

import numpy as np

from wingtool.section.coupled.case import Case, Edge, Order, State, order
from wingtool.section.coupled.equations import LEAST_SPEED, edge, equations
from wingtool.section.coupled.step import Change, answers, newton_change

TOLERANCE = 1e-4  # largest relative change of the last step; the next would be about its square
PAST_NODE = 0.15  # the stagnation point must pass a node by this part of a panel before the sides change
FIRST_CELLS, LEAST_CELLS, MOST_CELLS = 4.0, 0.1, 8.0  # that transition may move in one step
LEAST_PLACE = 1.2  # cells behind the first station before which no layer turns turbulent
LEAST_SHAPE = 0.8
MOST_HASTE = 1e5
TOO_FAR = 2.0  # relative change above which a step in time is made again, shorter
ASTRAY, ASTRAY_STEPS = 10.0, 6  # steps in a row, each longer than that, from which hardly any way leads back
LEAST_HASTE = 0.03  # [stream speed over chord] below it time steps are as good as none
SHEAR_RANGE = (1e-5, 0.5)


@dataclass(frozen=True, eq=False)
class Solution:
    """A state, its edge, and whether it is one: `steps` Newton steps were made."""

    case: Case
    state: State
    along: Order
    edge: Edge
    converged: bool
    steps: int
    why: str = ""


def solve_case(case: Case, start: State, most_steps: int, time_step: float = np.inf) -> Solution:
    """Iterate to a solution, or say why there is none.

    With a `time_step` [chord over stream speed] the first steps are implicit steps in time, which
    lengthen as the changes become small.
    """
    with np.errstate(all="ignore"):  # an iteration that runs away is told by its size
        return _iterate(case, start, most_steps, time_step)


def _iterate(case: Case, start: State, most_steps: int, time_step: float) -> Solution:
    state, size, steps, to = start, np.inf, 0, None
    haste, timed = 1.0 / time_step, np.isfinite(time_step)
    reach, last, astray = np.full(2, FIRST_CELLS), np.zeros(2), 0
    for steps in range(1, most_steps + 1):
        split = state.split
        state, along = _resplit(case, state)
        if to is None or state.split != split:
            to = answers(case, along)
        state, bounds, free = _limits(case, state, along, reach)
        try:
            found = equations(case, state, along, haste)
            change = newton_change(along, to, found, bounds, free(found))
        except (np.linalg.LinAlgError, ValueError):
            return _failed(case, start, steps, "singular step")
        moved, size, stretch = _moved(case, state, along, change)
        if haste > 0 and stretch > TOO_FAR and haste < MOST_HASTE:
            haste *= 4.0
            continue
        state = moved
        reach, last = _next_reach(reach, last, change.turn), change.turn
        if not np.isfinite(size) or size > 1e8:
            return _failed(case, start, steps, "iteration diverged")
        if timed:
            haste = _next_haste(haste, stretch)
        if haste == 0.0 and size < TOLERANCE:
            return Solution(case, state, along, edge(case, state, along), True, steps)
        astray = astray + 1 if haste == 0.0 and size > ASTRAY else 0
        if astray == ASTRAY_STEPS:
            break
    why = f"iteration did not settle (last change {size:.1e})"
    return Solution(case, state, along, edge(case, state, along), False, steps, why)


def _next_reach(reach: np.ndarray, last: np.ndarray, now: np.ndarray) -> np.ndarray:
    """How far transition may move next: less far after it has turned back, further while it goes one way."""
    return np.clip(np.where(last * now < 0, 0.5, 1.5) * reach, LEAST_CELLS, MOST_CELLS)


def _next_haste(haste: float, stretch: float) -> float:
    """Shorter or longer steps in time, by how far the last one went; none near the end of the way."""
    if haste == 0.0:
        return 0.0 if stretch < 0.3 else 10 * LEAST_HASTE
    haste *= 0.3 if stretch < 0.1 else 0.7 if stretch < 0.5 else 1.0
    return 0.0 if haste < LEAST_HASTE else haste


def _failed(case: Case, start: State, steps: int, why: str) -> Solution:
    along = order(case.nodes, len(start.theta), start.split)
    return Solution(case, start, along, edge(case, start, along), False, steps, why)


def _resplit(case: Case, state: State) -> tuple[State, Order]:
    """Let the stagnation point pass nodes, with a little hysteresis."""
    stations = len(state.theta)
    gamma = case.response.free[: case.nodes] + case.response.per_mass[: case.nodes] @ state.mass
    split = state.split
    for _ in range(20):
        here, after = gamma[split], gamma[split + 1]
        jump = abs(here - after) + 1e-12
        if here < -PAST_NODE * jump and split > 2:
            split -= 1
        elif after > PAST_NODE * jump and split < case.nodes - 4:
            split += 1
        else:
            break
    if split != state.split:
        mass = state.mass.copy()
        low, high = sorted((split, state.split))
        mass[low + 1 : high + 1] *= -1
        turn = state.turn + (split - state.split) * np.array([1.0, -1.0])
        state = replace(state, split=split, mass=mass, turn=turn)
    return state, order(case.nodes, stations, state.split)


def _limits(case: Case, state: State, along: Order, reach: np.ndarray):
    """Transition held between nose, trip and tail; how far it may move; and whether it is free to."""
    ends = np.array([len(along.upper), len(along.lower)], dtype=float)
    places = np.array([state.split - case.trip[0], case.trip[1] - state.split - 1])
    last = np.clip(places, LEAST_PLACE, ends)
    turn = np.clip(state.turn, LEAST_PLACE, last)
    bounds = np.stack([np.maximum(LEAST_PLACE - turn, -reach), np.minimum(last - turn, reach)], axis=1)

    def free(found):
        short = np.array([side.residual < 0 for side in found.amplified])
        return ~((turn >= last) & short) & (last > LEAST_PLACE)

    return replace(state, turn=turn), bounds, free


def _moved(case: Case, state: State, along: Order, change: Change) -> tuple[State, float, float]:
    """The state after a bounded step, the relative size of the full step, and that of both thicknesses."""
    at = edge(case, state, along)
    speed_change = along.sign * (case.response.per_mass @ (along.sign * change.mass))
    thickness = np.maximum(at.displacement + case.dead_air, 1e-9)
    displaced = (change.mass - thickness * speed_change) / np.maximum(at.speed, 1e-3) / thickness
    displaced[[along.upper[0], along.lower[0]]] = 0.0
    grown = change.theta / state.theta
    sheared = change.shear / state.shear
    parts = [np.abs(part).max() for part in (grown, displaced, sheared, speed_change, change.turn)]
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
        state.mass + part * along.sign * change.mass,
        state.turn + part * change.turn,
        state.split,
    )
    return _repaired(case, new, along), max(parts), max(parts[:2])


def _repaired(case: Case, state: State, along: Order) -> State:
    """Mass defects raised where a layer would have become thinner than its momentum thickness."""
    gamma = case.response.free + case.response.per_mass @ state.mass
    speed = np.maximum(along.sign * gamma, LEAST_SPEED)
    least = speed * (LEAST_SHAPE * state.theta + case.dead_air)
    mass = along.sign * state.mass
    mass[[along.upper[0], along.lower[0]]] = np.inf
    low = mass < least
    if not low.any():
        return state
    repaired = state.mass.copy()
    repaired[low] = (along.sign * least)[low]
    return replace(state, mass=repaired)
