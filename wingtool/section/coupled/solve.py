"""Newton iterations of many coupled flows together.

Who wants flows solved is a generator: it yields a `Request` and is sent its `Solution`. All that wait are
iterated together, a Newton step at a time; one that has come or failed leaves, and the next request of its
generator takes its place in the stack.

The numbers below bound the steps; own choice. A solution does not depend on them, whether it is found does.
"""

from collections.abc import Generator, Iterable
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from wingtool.section.coupled.case import Case, Edge, Ordering, State, edge, order
from wingtool.section.coupled.equations import LEAST_SPEED, Equations, equations, speed_of
from wingtool.section.coupled.stack import Stack, move_stagnation, put, stacked, taken
from wingtool.section.coupled.step import Change, Workspace, newton_change, workspace

TOLERANCE = 1e-4  # largest relative change of the last step; the next would be about its square
PAST_NODE = 0.15  # the stagnation point must pass a node by this part of a panel before the sides change
FIRST_CELLS, LEAST_CELLS, MOST_CELLS = 4.0, 0.1, 8.0  # that transition may move in one step
LEAST_PLACE = 1.2  # cells behind the first station before which no layer turns turbulent
LEAST_SHAPE = 0.8
MOST_INV_DT = 1e5
TOO_FAR = 2.0  # relative change above which a pseudo-time step is made again, shorter
DIVERGING, DIVERGING_STEPS = 10.0, 6  # that many steps in a row, each longer than that, hardly ever converge
DIVERGED = 1e8  # relative change
LEAST_INV_DT = 0.03  # [stream speed over chord] below it pseudo-time steps are as good as none
SHEAR_RANGE = (1e-5, 0.5)
MOST_CASES = 32  # iterated at a time: 4 MB each

Result = TypeVar("Result")


@dataclass(frozen=True, eq=False)
class Request:
    """A flow to be solved from a state; with a `dt` [chord over stream speed] by pseudo-time steps first.

    These are implicit and lengthen as the changes become small.
    """

    case: Case
    start: State
    most_steps: int
    dt: float = np.inf


@dataclass(frozen=True, eq=False)
class Solution:
    """A state, its edge, and whether it is one: `steps` Newton steps were made."""

    case: Case
    state: State
    ordering: Ordering
    edge: Edge
    converged: bool
    steps: int
    why: str = ""


Solving = Generator[Request, Solution, Result]


# How far the iteration of a case is: steps made and allowed, one over the pseudo-time step and whether there
# are such steps, cells that transition may move and did, diverging steps in a row.
_PROGRESS = np.dtype(
    {
        "names": ["steps", "most_steps", "inv_dt", "pseudo_time", "reach", "last", "diverging"],
        "formats": [int, int, float, bool, (float, 2), (float, 2), int],
    }
)


def solve_together(tasks: Iterable[Solving[Result]], most_cases: int = MOST_CASES) -> list[Result]:
    """Results of generators that ask for flows; all flows have equally many stations.

    A result does not depend on which others are in the list.
    """
    tasks = list(tasks)
    results: list = [None] * len(tasks)
    waiting = iter(enumerate(tasks))
    running: list[tuple[int, Request]] = []
    with np.errstate(all="ignore"):  # an iteration that runs away is told by its size
        stack, work, progress = None, None, None
        while True:
            while len(running) < most_cases and (entry := next(waiting, None)) is not None:
                request = _advance(tasks, results, entry[0], None)
                if request is None:
                    continue
                if stack is None or work is None or progress is None:
                    cases = min(most_cases, len(tasks))
                    stack = stacked([request.case] * cases, [request.start] * cases)
                    work, progress = workspace(*stack.shape), np.zeros(cases, _PROGRESS)
                _begin(stack, progress, len(running), request)
                running.append((entry[0], request))
            if not running or stack is None or work is None or progress is None:
                return results
            ended = _newton_step(running, stack, work, progress)
            for row in sorted(ended, reverse=True):
                number, request = running[row]
                solution = _solution(stack, row, request, int(progress["steps"][row]), ended[row])
                following = _advance(tasks, results, number, solution)
                if following is not None:
                    _begin(stack, progress, row, following)
                    running[row] = (number, following)
                else:
                    _leave(stack, progress, row, running)


def _advance(tasks, results, number: int, solution: Solution | None) -> Request | None:
    """The next request of a generator, or none once it has returned its result."""
    try:
        return tasks[number].send(solution)
    except StopIteration as end:
        results[number] = end.value
        return None


def _begin(stack: Stack, progress: np.ndarray, row: int, request: Request) -> None:
    put(stack, row, request.case, request.start)
    progress[row] = (0, request.most_steps, 1.0 / request.dt, np.isfinite(request.dt), FIRST_CELLS, 0.0, 0)


def _leave(stack: Stack, progress: np.ndarray, row: int, running: list) -> None:
    """The last case moves into the place of one that leaves."""
    last = running.pop()
    if row < len(running):
        running[row] = last
        for values in (progress, *vars(stack).values()):
            values[row] = values[len(running)]


def _solution(stack: Stack, row: int, request: Request, steps: int, why: str) -> Solution:
    state = taken(stack, row) if not why else request.start
    ordering = order(request.case.nodes, len(state.theta), state.stagnation_node)
    return Solution(request.case, state, ordering, edge(request.case, state, ordering), not why, steps, why)


def _newton_step(running: list, stack: Stack, work: Workspace, progress: np.ndarray) -> dict[int, str]:
    """One step of all cases; rows that have ended, with the reason where there is no solution."""
    count = len(running)
    stack, work, progress = stack.rows(slice(count)), work.rows(count), progress[:count]
    progress["steps"][:] += 1
    speed = _follow_stagnation([request.case for _, request in running], stack)
    bounds, last = _limits(stack, progress["reach"])
    found = equations(stack, progress["inv_dt"], speed)
    short = found.amplified.residual < 0
    free = ~((stack.transition >= last) & short) & (last > LEAST_PLACE)
    change = newton_change(stack, found, bounds, free, work)
    size, stretch = _move(stack, found, speed, change, progress)
    return _ended(progress, change, size, stretch)


def _ended(progress: np.ndarray, change: Change, size: np.ndarray, stretch: np.ndarray) -> dict[int, str]:
    """Set the next steps by how far the last ones went; rows that have ended."""
    again = _too_far(progress, stretch)
    broken = ~np.isfinite(size) | (size > DIVERGED)
    turned = progress["last"] * change.transition < 0
    reach = np.clip(np.where(turned, 0.5, 1.5) * progress["reach"], LEAST_CELLS, MOST_CELLS)
    progress["reach"][:] = np.where(again[:, None], progress["reach"], reach)
    progress["last"][:] = np.where(again[:, None], progress["last"], change.transition)
    inv_dt = progress["inv_dt"]
    following = np.where(progress["pseudo_time"], _next_inv_dt(inv_dt, stretch), inv_dt)
    inv_dt[:] = np.where(again, 4.0 * inv_dt, following)
    steady = ~again & (inv_dt == 0.0)
    converged = steady & (size < TOLERANCE)
    progress["diverging"][:] = np.where(
        again, progress["diverging"], np.where(steady & (size > DIVERGING), progress["diverging"] + 1, 0)
    )
    out = (progress["diverging"] >= DIVERGING_STEPS) | (progress["steps"] >= progress["most_steps"])
    ended = {}
    for row in np.flatnonzero(converged | (broken & ~again) | out):
        if broken[row] and not again[row]:
            ended[int(row)] = "iteration diverged" if size[row] > DIVERGED else "singular step"
        else:
            ended[int(row)] = (
                "" if converged[row] else f"iteration did not settle (last change {size[row]:.1e})"
            )
    return ended


def _too_far(progress: np.ndarray, stretch: np.ndarray) -> np.ndarray:
    """Cases whose pseudo-time step is made again, shorter."""
    return (progress["inv_dt"] > 0) & (stretch > TOO_FAR) & (progress["inv_dt"] < MOST_INV_DT)


def _next_inv_dt(inv_dt: np.ndarray, stretch: np.ndarray) -> np.ndarray:
    """Shorter or longer pseudo-time steps, by how far the last one went; none near the end of the way."""
    shorter = inv_dt * np.where(stretch < 0.1, 0.3, np.where(stretch < 0.5, 0.7, 1.0))
    shorter = np.where(shorter < LEAST_INV_DT, 0.0, shorter)
    return np.where(inv_dt == 0.0, np.where(stretch < 0.3, 0.0, 10 * LEAST_INV_DT), shorter)


def _follow_stagnation(cases: list[Case], stack: Stack) -> np.ndarray:
    """Let stagnation points pass nodes, with a little hysteresis; edge speeds (n, S) after that."""
    speed = speed_of(stack)
    rows = np.arange(len(cases))
    here, after = ((stack.beside_sign * speed[rows[:, None], stack.beside])[:, k] for k in (1, 2))
    past = PAST_NODE * (np.abs(here - after) + 1e-12)
    for row in np.flatnonzero((here < -past) | (after > past)):
        gamma = np.empty(stack.shape[1])
        ordering = order(stack.nodes, stack.shape[1], int(stack.node[row]))
        gamma[ordering.line] = ordering.sign[ordering.line] * speed[row]
        node = _stagnation_node(gamma, int(stack.node[row]), stack.nodes)
        if node != stack.node[row]:
            move_stagnation(stack, int(row), cases[row], node)
            speed[row] = speed_of(stack.rows(slice(row, row + 1)))[0]
    return speed


def _stagnation_node(gamma: np.ndarray, node: int, nodes: int) -> int:
    """The node before the stagnation point, at most 20 from the last."""
    for _ in range(20):
        here, after = gamma[node], gamma[node + 1]
        past = PAST_NODE * (abs(here - after) + 1e-12)
        if here < -past and node > 2:
            node -= 1
        elif after > past and node < nodes - 4:
            node += 1
        else:
            break
    return node


def _limits(stack: Stack, reach: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Hold transition between nose, trip and tail; how far it may move, (n, 2, 2), and its last places."""
    node = stack.node[:, None]
    places = np.concatenate([node - stack.trip[:, :1], stack.trip[:, 1:] - node - 1], axis=1)
    last = np.clip(places, LEAST_PLACE, stack.side_size)
    stack.transition[:] = np.clip(stack.transition, LEAST_PLACE, last)
    least = np.maximum(LEAST_PLACE - stack.transition, -reach)
    return np.stack([least, np.minimum(last - stack.transition, reach)], axis=2), last


def _move(
    stack: Stack, found: Equations, speed: np.ndarray, change: Change, progress: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Make bounded steps; the relative size of the full ones, and that of both thicknesses.

    Cases whose step went too far for its pseudo-time step stay where they are.
    """
    rows = np.arange(len(speed))[:, None]
    thickness = np.maximum(found.displacement + stack.wake_gap, 1e-9)
    displaced = (change.mass - thickness * change.speed) / np.maximum(found.speed, 1e-3) / thickness
    displaced[rows, stack.first] = 0.0
    grown, sheared = change.theta / stack.theta, change.shear / stack.shear
    parts = (grown, displaced, sheared, change.speed, change.transition)
    sizes = np.stack([np.abs(part).max(axis=1) for part in parts])
    bounds = ((0.5, grown), (0.4, -grown), (1.0, displaced), (0.5, -displaced), (0.4, np.abs(change.speed)))
    part = np.ones(len(speed))
    for bound, moved in bounds:
        part = np.minimum(part, bound / np.maximum(moved.max(axis=1), 1e-9))
    size, stretch = sizes.max(axis=0), sizes[:2].max(axis=0)
    part = np.where(_too_far(progress, stretch), 0.0, part)[:, None]
    going = part > 0
    theta = np.where(going, stack.theta + part * change.theta, stack.theta)
    shear = np.clip(stack.shear * np.clip(1 + part * sheared, 0.5, 2.0), *SHEAR_RANGE)
    mass = stack.mass + part * change.mass
    least = np.maximum(speed + part * change.speed, LEAST_SPEED) * (LEAST_SHAPE * theta + stack.wake_gap)
    least[rows, stack.first] = -np.inf
    stack.theta[:] = theta
    stack.shear[:] = np.where(going, shear, stack.shear)
    stack.mass[:] = np.where(going, np.maximum(mass, least), stack.mass)
    stack.transition[:] = np.where(going, stack.transition + part * change.transition, stack.transition)
    return size, stretch
