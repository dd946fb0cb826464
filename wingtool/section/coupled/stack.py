"""Many cases side by side, each with its stations in the order of its flow.

All cases of a stack have equally many surface and wake nodes. Row i of every array belongs to case i and is
computed from that row alone, by the same operations whatever stands in the other rows: an answer does not
depend on its company.
"""

from dataclasses import dataclass, fields

import numpy as np

from wingtool.section.coupled.case import LOWER, UPPER, Case, Ordering, State, order


@dataclass(frozen=True, eq=False)
class Stack:
    """n cases of S stations, N of them surface nodes; stations in the order of `Ordering.line`.

    Parameters
    ----------
    theta, shear, mass : ndarray, shape (n, S)
        As in `State`; mass defects positive.
    transition : ndarray, shape (n, 2)
    node : ndarray of int, shape (n,)
        Stagnation node.
    ue_inviscid, wake_gap, step : ndarray, shape (n, S)
        Speed without displacement, positive downstream; dead air; length of the cell that ends at a station.
    influence : ndarray, shape (n, S, S)
        Answer of the speed downstream to positive mass defects.
    line, upstream, side, count : ndarray of int, shape (n, S)
        As in `Ordering`.
    first, tail : ndarray of int, shape (n, 2)
        Places of the first and the last station of both sides.
    beside, beside_sign, beside_arc : ndarray, shape (n, 4)
        Places, signs and arc lengths of the four nodes about the stagnation point.
    side_at : ndarray of int, shape (n, 2, N)
        Places of the stations of both sides.
    side_step : ndarray, shape (n, 2, N)
        Lengths of the cells that begin there; 0 beyond the tail.
    side_size : ndarray of int, shape (n, 2)
    viscosity, critical, roughness_theta : ndarray, shape (n, 1)
    trip : ndarray, shape (n, 2)
        In nodes from the first, as in `Case`.
    """

    theta: np.ndarray
    shear: np.ndarray
    mass: np.ndarray
    transition: np.ndarray
    node: np.ndarray
    ue_inviscid: np.ndarray
    wake_gap: np.ndarray
    step: np.ndarray
    influence: np.ndarray
    line: np.ndarray
    upstream: np.ndarray
    side: np.ndarray
    count: np.ndarray
    first: np.ndarray
    tail: np.ndarray
    beside: np.ndarray
    beside_sign: np.ndarray
    beside_arc: np.ndarray
    side_at: np.ndarray
    side_step: np.ndarray
    side_size: np.ndarray
    viscosity: np.ndarray
    critical: np.ndarray
    roughness_theta: np.ndarray
    trip: np.ndarray

    @property
    def nodes(self) -> int:
        """Number N of surface nodes; in the line, the place of the wake's first station."""
        return self.side_at.shape[2]

    @property
    def shape(self) -> tuple[int, int]:
        """Number of cases and of stations."""
        return self.theta.shape[0], self.theta.shape[1]

    def rows(self, which) -> "Stack":
        """The cases of a slice (views) or of an index array (copies)."""
        return Stack(*(getattr(self, field.name)[which] for field in fields(self)))


def empty_stack(cases: int, stations: int, nodes: int) -> Stack:
    """Room for so many cases."""
    by_station = {"theta", "shear", "mass", "ue_inviscid", "wake_gap", "step"}
    whole = {"line", "upstream", "side", "count"}
    shapes: dict[str, tuple[tuple[int, ...], type]] = {
        **dict.fromkeys(by_station, ((stations,), float)),
        **dict.fromkeys(whole, ((stations,), int)),
        "transition": ((2,), float),
        "node": ((), int),
        "influence": ((stations, stations), float),
        **dict.fromkeys(("first", "tail", "side_size"), ((2,), int)),
        "beside": ((4,), int),
        "beside_sign": ((4,), float),
        "beside_arc": ((4,), float),
        "side_at": ((2, nodes), int),
        "side_step": ((2, nodes), float),
        **dict.fromkeys(("viscosity", "critical", "roughness_theta"), ((1,), float)),
        "trip": ((2,), float),
    }
    return Stack(**{name: np.zeros((cases, *shape), kind) for name, (shape, kind) in shapes.items()})


def stacked(cases: list[Case], states: list[State]) -> Stack:
    """Cases of equal size, each with its state."""
    stack = empty_stack(len(cases), len(states[0].theta), cases[0].nodes)
    for row, (case, state) in enumerate(zip(cases, states, strict=True)):
        put(stack, row, case, state)
    return stack


def put(stack: Stack, row: int, case: Case, state: State) -> None:
    """Write a case and its state into a row."""
    stack.viscosity[row], stack.critical[row] = case.viscosity, case.critical
    stack.roughness_theta[row], stack.trip[row] = case.roughness_theta, case.trip
    ordering = order(case.nodes, len(state.theta), state.stagnation_node)
    for name in ("theta", "shear"):
        getattr(stack, name)[row] = getattr(state, name)[ordering.line]
    stack.mass[row] = (ordering.sign * state.mass)[ordering.line]
    stack.transition[row] = state.transition
    _arrange(stack, row, case, ordering)


def taken(stack: Stack, row: int) -> State:
    """The state of a row."""
    node = int(stack.node[row])
    ordering = order(stack.nodes, stack.shape[1], node)
    theta, shear, mass = (getattr(stack, name)[row, ordering.place] for name in ("theta", "shear", "mass"))
    return State(theta, shear, ordering.sign * mass, stack.transition[row].copy(), node)


def move_stagnation(stack: Stack, row: int, case: Case, node: int) -> None:
    """Let the stagnation point of a row lie behind another node; positive mass defects stay as they are."""
    old, new = (order(stack.nodes, stack.shape[1], at) for at in (int(stack.node[row]), node))
    stack.transition[row] += (node - stack.node[row]) * np.array([1.0, -1.0])
    for name in ("theta", "shear", "mass"):
        values = getattr(stack, name)
        values[row] = values[row, old.place[new.line]]
    _arrange(stack, row, case, new)


def _arrange(stack: Stack, row: int, case: Case, ordering: Ordering) -> None:
    """Write what hangs on the order of the stations."""
    line, sign, response = ordering.line, ordering.sign[ordering.line], case.response
    node, arc = len(ordering.upper) - 1, response.arc
    stack.node[row] = node
    stack.line[row], stack.upstream[row] = line, ordering.upstream
    stack.side[row], stack.count[row] = ordering.side, ordering.count
    stack.ue_inviscid[row] = sign * response.ue_inviscid[line]
    stack.wake_gap[row] = case.wake_gap[line]
    stack.step[row] = np.abs(arc[line] - arc[line[ordering.upstream]])
    np.multiply(response.influence[line[:, None], line], sign, out=stack.influence[row])
    stack.influence[row] *= sign[:, None]
    beside = np.arange(node - 1, node + 3)
    stack.beside[row], stack.beside_arc[row] = ordering.place[beside], arc[beside]
    stack.beside_sign[row] = ordering.sign[beside]
    stack.side_step[row] = 0.0
    for which in (UPPER, LOWER):
        side = ordering.part(which)
        places = ordering.place[side]
        stack.first[row, which], stack.tail[row, which] = places[0], places[-1]
        stack.side_size[row, which] = len(side)
        stack.side_at[row, which, : len(side)], stack.side_at[row, which, len(side) :] = places, places[-1]
        stack.side_step[row, which, : len(side) - 1] = np.abs(np.diff(arc[side]))
