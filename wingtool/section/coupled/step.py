"""One Newton step: momentum thickness and shear leave run by run, mass defect and transition stay.

Momentum and shear equations, given all mass defects, go downstream from station to station, each from at
most two before it. They are solved in runs of stations: each run's own small system is inverted, and what
comes in from the run before is taken along. What is left is dense in the mass defects and the two places of
transition.

Everything here is in the order in which stations follow each other (`Order.line`). Large arrays are made once
for a flow and filled again at each step: to be given new memory each time would take longer than to compute.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.section.coupled.case import Case, Order
from wingtool.section.coupled.equations import Equations

RUN = 16  # stations in a run: small enough to invert, long enough that there are few
BEFORE = 2  # places that a cell reaches back
FAR_OFF = 2.0  # amplification off its critical value by more: transition moves as that alone says; own choice


@dataclass(frozen=True, eq=False)
class Change:
    """A Newton step: changes of theta, shear, positive mass defect (S,) and places of transition (2,)."""

    theta: np.ndarray
    shear: np.ndarray
    mass: np.ndarray
    transition: np.ndarray


@dataclass(frozen=True, eq=False)
class Workspace:
    """Arrays that each step fills again.

    Parameters
    ----------
    right : ndarray, shape (3, S, S + 3)
        Residuals of the three equations against mass defects, both turns, and 1.
    product : ndarray, shape (S, S)
        One product on its way into `right`.
    given, swept : ndarray, shape (2 BEFORE + 2 RUN K, S + 3)
        Momentum and shear equations in turn, and theta and shear; two places of 0s lead.
    left : ndarray, shape (K, RUN, S + 3)
        What theta and shear leave of the shape equation.
    whole, solved : ndarray, shape (S + 2, S + 2)
        All equations that are left against mass defects and both turns; the same while it is solved.
    """

    right: np.ndarray
    product: np.ndarray
    given: np.ndarray
    swept: np.ndarray
    left: np.ndarray
    whole: np.ndarray
    solved: np.ndarray


def _workspace(size: int) -> Workspace:
    count = -(-size // RUN)
    long = 2 * BEFORE + 2 * RUN * count
    return Workspace(
        np.empty((3, size, size + 3)),
        np.empty((size, size)),
        np.zeros((long, size + 3)),
        np.zeros((long, size + 3)),
        np.empty((count, RUN, size + 3)),
        np.empty((size + 2, size + 2)),
        np.empty((size + 2, size + 2)),
    )


@dataclass(frozen=True, eq=False)
class OrderedInfluence:
    """How the speed downstream answers to positive mass defects, for one place of the stagnation point.

    Parameters
    ----------
    place : ndarray of int, shape (S,)
        Place in the line of each station.
    before : ndarray of int, shape (S,)
        Place of the near station of the cell that ends at each place.
    here, upstream : ndarray, shape (S, S)
        Answer at each place, and at the place before it, to the mass defect of each place.
    signed : ndarray, shape (N, S)
        Signed surface speed at each node, likewise.
    workspace : Desk
    """

    place: np.ndarray
    before: np.ndarray
    here: np.ndarray
    upstream: np.ndarray
    signed: np.ndarray
    workspace: Workspace


def order_influence(case: Case, ordering: Order) -> OrderedInfluence:
    """Arrange the response matrix of a case for one order of the stations."""
    size = len(ordering.line)
    place = np.empty(size, dtype=int)
    place[ordering.line] = np.arange(size)
    upstream_at = np.zeros(size, dtype=int)
    upstream_at[ordering.downstream] = ordering.upstream
    upstream_at[ordering.wake[0]] = ordering.upper[-1]
    before = place[upstream_at[ordering.line]]
    sign = ordering.sign[ordering.line]
    signed = case.response.influence[:, ordering.line] * sign
    here = signed[ordering.line] * sign[:, None]
    return OrderedInfluence(place, before, here, here[before], signed[: case.nodes], _workspace(size))


def _runs(found: Equations, ordering: Order, ordered: OrderedInfluence) -> tuple[np.ndarray, np.ndarray]:
    """Slopes against theta and shear, in runs: of momentum and shear equations, and of the shape equation.

    Shapes (K, 2 RUN, 2 (BEFORE + RUN)) and (K, RUN, 2 (BEFORE + RUN)): columns begin two places before a run.
    """
    size = len(ordering.line)
    count = -(-size // RUN)
    reach = np.zeros((3, count * RUN, BEFORE + 1, 2))  # equation, place, which place back, theta or shear
    reach[[[0], [2]], size:, BEFORE, [[0], [1]]] = 1.0
    reach[:, :size, BEFORE] = found.downstream[:, :2, ordering.line].transpose(0, 2, 1)
    upstream = found.upstream[:, :2, ordering.line]
    used = np.flatnonzero(np.any(upstream != 0, axis=(0, 1)))
    reach[:, used, BEFORE + ordered.before[used] - used] += upstream[:, :, used].transpose(0, 2, 1)
    wake, base = ordered.place[ordering.wake[0]], ordered.place[found.base_at]
    reach[:, wake, BEFORE + base - wake] += found.base[:, :2]
    rows = np.arange(RUN)
    runs = np.zeros((count, RUN, 3, BEFORE + RUN, 2))
    for back in range(BEFORE + 1):
        runs[:, rows, :, rows + back] = reach[:, :, back].reshape(3, count, RUN, 2).transpose(2, 1, 0, 3)
    wide = 2 * (BEFORE + RUN)
    return runs[:, :, ::2].reshape(count, 2 * RUN, wide), runs[:, :, 1].reshape(count, RUN, wide)


def _right_sides(found: Equations, ordering: Order, ordered: OrderedInfluence) -> None:
    """Fill `Desk.right`."""
    size = len(ordering.line)
    here = np.arange(size)
    right, product = ordered.workspace.right, ordered.workspace.product
    downstream, upstream = found.downstream[:, :, ordering.line], found.upstream[:, :, ordering.line]
    for equation in range(3):
        block = right[equation, :, :size]
        np.multiply(ordered.here, downstream[equation, 3][:, None], out=block)
        block += np.multiply(ordered.upstream, upstream[equation, 3][:, None], out=product)
        block[here, here] += downstream[equation, 2]
        block[here, ordered.before] += upstream[equation, 2]
    right[:, :, size : size + 2] = found.by_transition[:, ordering.line]
    right[:, :, size + 2] = found.residual[:, ordering.line]
    right[:, ordered.place[ordering.wake[0]], ordered.place[found.base_at]] += found.base[:, 2]
    started = found.start @ ordered.signed[found.start_at]
    for first in (ordering.upper[0], ordering.lower[0]):
        right[0, ordered.place[first], :size] += started


def newton_change(
    ordering: Order, ordered: OrderedInfluence, found: Equations, bounds: np.ndarray, free: np.ndarray
) -> Change:
    """Solve for the step; transition moves within `bounds` (2 sides, least and most), or not at all.

    Mass defects and both places are solved for together: with transition held where it is the rest may be
    singular although the whole is not.
    """
    size, workspace = len(ordering.line), ordered.workspace
    _right_sides(found, ordering, ordered)
    local, shape = _runs(found, ordering, ordered)
    _sweep(local, workspace)
    windows = np.lib.stride_tricks.sliding_window_view(workspace.swept, shape.shape[2], axis=0)[:: 2 * RUN]
    np.matmul(shape, windows.transpose(0, 2, 1), out=workspace.left)
    left = workspace.left.reshape(-1, size + 3)[:size]
    theta, shear = (workspace.swept[2 * BEFORE + c :: 2][:size] for c in (0, 1))
    rest = np.empty(size + 2)
    np.subtract(workspace.right[1, :, :-1], left[:, :-1], out=workspace.whole[:size])
    rest[:size] = workspace.right[1, :, -1] - left[:, -1]
    for which, side in enumerate(found.amplified):
        row = _amplified_row(side, which, ordered, theta, shear)
        workspace.whole[size + which], rest[size + which] = row[:-1], row[-1]
    step = _held(workspace, rest, ~free, np.zeros(2))
    wanted, wrong = _directed(step[size:], found.amplified)
    if np.any(held := wrong | (wanted < bounds[:, 0]) | (wanted > bounds[:, 1])):
        step = _held(workspace, rest, ~free | held, np.clip(wanted, *bounds.T) * free)
    answer, back = np.append(step, 1.0), ordered.place
    return Change(-(theta @ answer)[back], -(shear @ answer)[back], step[:size][back], step[size:])


def _directed(transition: np.ndarray, sides) -> tuple[np.ndarray, np.ndarray]:
    """Moves of transition, and which are not Newton's: those that would go against a large residual."""
    alone = np.array([-side.residual / max(side.by_place, side.least) for side in sides])
    far_off = np.array([abs(side.residual) > FAR_OFF for side in sides])
    wrong = far_off & (alone * transition < 0)
    return np.where(wrong, alone, transition), wrong


def _sweep(local: np.ndarray, workspace: Workspace) -> None:
    """Fill `Desk.swept` with theta and shear in turn, negative, for unit mass defects, turns, and 1."""
    count, lead, (size, columns) = len(local), 2 * BEFORE, workspace.right.shape[1:]
    given, runs = (
        part[lead:].reshape(count, 2 * RUN, columns) for part in (workspace.given, workspace.swept)
    )
    in_turn = workspace.given[lead:].reshape(-1, 2, columns)[:size]
    in_turn[:, 0], in_turn[:, 1] = workspace.right[0], workspace.right[2]
    inverse = np.linalg.inv(local[:, :, lead:])
    np.matmul(inverse, given, out=runs)
    passed_on = np.matmul(inverse, local[:, :, :lead])
    for k in range(1, count):
        runs[k] -= passed_on[k] @ runs[k - 1, -lead:]


def _amplified_row(side, which: int, ordered: OrderedInfluence, theta, shear) -> np.ndarray:
    """Transition equation of one side against mass defects, turns, and 1."""
    at, slopes = ordered.place[side.stations], side.slopes
    row = -(slopes[0] @ theta[at]) - slopes[1] @ shear[at]
    row[at] += slopes[2]
    row[: len(ordered.here)] += slopes[3] @ ordered.here[at]
    row[len(ordered.here) + which] += (
        side.by_place or side.least
    )  # at the tail where nothing grows both are 0
    row[-1] += side.residual
    return row


def _held(workspace: Workspace, rest: np.ndarray, held: np.ndarray, by: np.ndarray) -> np.ndarray:
    """Step of mass defects and turns, some turns held at given moves."""
    from scipy.linalg.lapack import dgetrf, dgetrs

    size, right = len(rest) - 2, -rest
    np.copyto(workspace.solved, workspace.whole)
    for which in np.flatnonzero(held):
        workspace.solved[size + which] = 0.0
        workspace.solved[size + which, size + which], right[size + which] = 1.0, by[which]
    factored, order, info = dgetrf(workspace.solved.T, overwrite_a=1)
    if info:
        raise np.linalg.LinAlgError("singular coupled equations")
    return dgetrs(factored, order, right, trans=1)[0]
