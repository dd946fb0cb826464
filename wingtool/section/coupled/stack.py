"""Many cases side by side, each with its stations in the order of its flow.

All cases of a stack have equally many surface and wake nodes. Row i of every array belongs to case i and is
computed from that row alone, by the same operations whatever stands in the other rows: an answer does not
depend on its company.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from wingtool.section.coupled.case import Case, State, order


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


def stacked(cases: Sequence[Case], states: Sequence[State]) -> Stack:
    """Cases of equal size, each with its state."""
    rows = [_row(case, state) for case, state in zip(cases, states, strict=True)]
    return Stack(**{name: np.stack([row[name] for row in rows]) for name in rows[0]})


def put(stack: Stack, row: int, case: Case, state: State) -> None:
    """Write a case and its state into a row."""
    for name, values in _row(case, state).items():
        getattr(stack, name)[row] = values


def taken(stack: Stack, row: int) -> State:
    """The state of a row."""
    node = int(stack.node[row])
    ordering = order(stack.nodes, stack.shape[1], node)
    theta, shear, mass = (getattr(stack, name)[row, ordering.place] for name in ("theta", "shear", "mass"))
    return State(theta, shear, ordering.sign * mass, stack.transition[row].copy(), node)


def move_stagnation(stack: Stack, row: int, case: Case, node: int) -> None:
    """Let the stagnation point of a row lie behind another node; positive mass defects stay as they are."""
    state = taken(stack, row)
    old, new = (order(stack.nodes, stack.shape[1], at) for at in (state.stagnation_node, node))
    transition = state.transition + (node - state.stagnation_node) * np.array([1.0, -1.0])
    put(stack, row, case, State(state.theta, state.shear, new.sign * old.sign * state.mass, transition, node))


def _row(case: Case, state: State) -> dict[str, np.ndarray]:
    """All arrays of a stack for one case and its state."""
    ordering = order(case.nodes, len(state.theta), state.stagnation_node)
    line, sign = ordering.line, ordering.sign[ordering.line]
    response, arc = case.response, case.response.arc
    beside = np.arange(state.stagnation_node - 1, state.stagnation_node + 3)
    sides = (ordering.upper, ordering.lower)
    places = [ordering.place[side] for side in sides]
    side_step = np.zeros((2, case.nodes))
    for which, side in enumerate(sides):
        side_step[which, : len(side) - 1] = np.abs(np.diff(arc[side]))
    row = dict(
        theta=state.theta[line],
        shear=state.shear[line],
        mass=sign * state.mass[line],
        transition=state.transition,
        node=state.stagnation_node,
        ue_inviscid=sign * response.ue_inviscid[line],
        wake_gap=case.wake_gap[line],
        step=np.abs(arc[line] - arc[line[ordering.upstream]]),
        influence=response.influence[line[:, None], line] * sign * sign[:, None],
        line=line,
        upstream=ordering.upstream,
        side=ordering.side,
        count=ordering.count,
        first=[at[0] for at in places],
        tail=[at[-1] for at in places],
        beside=ordering.place[beside],
        beside_sign=ordering.sign[beside],
        beside_arc=arc[beside],
        side_at=[np.append(at, np.full(case.nodes - len(at), at[-1])) for at in places],
        side_step=side_step,
        side_size=[len(side) for side in sides],
        viscosity=[case.viscosity],
        critical=[case.critical],
        roughness_theta=[case.roughness_theta],
        trip=case.trip,
    )
    return {name: np.asarray(values) for name, values in row.items()}
