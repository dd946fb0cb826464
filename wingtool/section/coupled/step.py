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
    turn: np.ndarray


@dataclass(frozen=True, eq=False)
class Desk:
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


def _desk(size: int) -> Desk:
    count = -(-size // RUN)
    long = 2 * BEFORE + 2 * RUN * count
    return Desk(
        np.empty((3, size, size + 3)),
        np.empty((size, size)),
        np.zeros((long, size + 3)),
        np.zeros((long, size + 3)),
        np.empty((count, RUN, size + 3)),
        np.empty((size + 2, size + 2)),
        np.empty((size + 2, size + 2)),
    )


@dataclass(frozen=True, eq=False)
class Answers:
    """How the speed downstream answers to positive mass defects, for one place of the stagnation point.

    Parameters
    ----------
    place : ndarray of int, shape (S,)
        Place in the line of each station.
    before : ndarray of int, shape (S,)
        Place of the near station of the cell that ends at each place.
    here, near : ndarray, shape (S, S)
        Answer at each place, and at the place before it, to the mass defect of each place.
    signed : ndarray, shape (N, S)
        Signed surface speed at each node, likewise.
    desk : Desk
    """

    place: np.ndarray
    before: np.ndarray
    here: np.ndarray
    near: np.ndarray
    signed: np.ndarray
    desk: Desk


def answers(case: Case, along: Order) -> Answers:
    """Arrange the response matrix of a case for one order of the stations."""
    size = len(along.line)
    place = np.empty(size, dtype=int)
    place[along.line] = np.arange(size)
    near_at = np.zeros(size, dtype=int)
    near_at[along.far] = along.near
    near_at[along.wake[0]] = along.upper[-1]
    before = place[near_at[along.line]]
    sign = along.sign[along.line]
    signed = case.response.per_mass[:, along.line] * sign
    here = signed[along.line] * sign[:, None]
    return Answers(place, before, here, here[before], signed[: case.nodes], _desk(size))


def _runs(found: Equations, along: Order, to: Answers) -> tuple[np.ndarray, np.ndarray]:
    """Slopes against theta and shear, in runs: of momentum and shear equations, and of the shape equation.

    Shapes (K, 2 RUN, 2 (BEFORE + RUN)) and (K, RUN, 2 (BEFORE + RUN)): columns begin two places before a run.
    """
    size = len(along.line)
    count = -(-size // RUN)
    reach = np.zeros((3, count * RUN, BEFORE + 1, 2))  # equation, place, which place back, theta or shear
    reach[[[0], [2]], size:, BEFORE, [[0], [1]]] = 1.0
    reach[:, :size, BEFORE] = found.far[:, :2, along.line].transpose(0, 2, 1)
    near = found.near[:, :2, along.line]
    used = np.flatnonzero(np.any(near != 0, axis=(0, 1)))
    reach[:, used, BEFORE + to.before[used] - used] += near[:, :, used].transpose(0, 2, 1)
    wake, base = to.place[along.wake[0]], to.place[found.base_at]
    reach[:, wake, BEFORE + base - wake] += found.base[:, :2]
    rows = np.arange(RUN)
    runs = np.zeros((count, RUN, 3, BEFORE + RUN, 2))
    for back in range(BEFORE + 1):
        runs[:, rows, :, rows + back] = reach[:, :, back].reshape(3, count, RUN, 2).transpose(2, 1, 0, 3)
    wide = 2 * (BEFORE + RUN)
    return runs[:, :, ::2].reshape(count, 2 * RUN, wide), runs[:, :, 1].reshape(count, RUN, wide)


def _right_sides(found: Equations, along: Order, to: Answers) -> None:
    """Fill `Desk.right`."""
    size = len(along.line)
    here = np.arange(size)
    right, product = to.desk.right, to.desk.product
    far, near = found.far[:, :, along.line], found.near[:, :, along.line]
    for equation in range(3):
        block = right[equation, :, :size]
        np.multiply(to.here, far[equation, 3][:, None], out=block)
        block += np.multiply(to.near, near[equation, 3][:, None], out=product)
        block[here, here] += far[equation, 2]
        block[here, to.before] += near[equation, 2]
    right[:, :, size : size + 2] = found.by_turn[:, along.line]
    right[:, :, size + 2] = found.residual[:, along.line]
    right[:, to.place[along.wake[0]], to.place[found.base_at]] += found.base[:, 2]
    started = found.start @ to.signed[found.start_at]
    for first in (along.upper[0], along.lower[0]):
        right[0, to.place[first], :size] += started


def newton_change(
    along: Order, to: Answers, found: Equations, bounds: np.ndarray, free: np.ndarray
) -> Change:
    """Solve for the step; transition moves within `bounds` (2 sides, least and most), or not at all.

    Mass defects and both places are solved for together: with transition held where it is the rest may be
    singular although the whole is not.
    """
    size, desk = len(along.line), to.desk
    _right_sides(found, along, to)
    local, shape = _runs(found, along, to)
    _sweep(local, desk)
    windows = np.lib.stride_tricks.sliding_window_view(desk.swept, shape.shape[2], axis=0)[:: 2 * RUN]
    np.matmul(shape, windows.transpose(0, 2, 1), out=desk.left)
    left = desk.left.reshape(-1, size + 3)[:size]
    theta, shear = (desk.swept[2 * BEFORE + c :: 2][:size] for c in (0, 1))
    rest = np.empty(size + 2)
    np.subtract(desk.right[1, :, :-1], left[:, :-1], out=desk.whole[:size])
    rest[:size] = desk.right[1, :, -1] - left[:, -1]
    for which, side in enumerate(found.amplified):
        row = _amplified_row(side, which, to, theta, shear)
        desk.whole[size + which], rest[size + which] = row[:-1], row[-1]
    step = _held(desk, rest, ~free, np.zeros(2))
    wanted, wrong = _directed(step[size:], found.amplified)
    if np.any(held := wrong | (wanted < bounds[:, 0]) | (wanted > bounds[:, 1])):
        step = _held(desk, rest, ~free | held, np.clip(wanted, *bounds.T) * free)
    answer, back = np.append(step, 1.0), to.place
    return Change(-(theta @ answer)[back], -(shear @ answer)[back], step[:size][back], step[size:])


def _directed(turn: np.ndarray, sides) -> tuple[np.ndarray, np.ndarray]:
    """Moves of transition, and which are not Newton's: those that would go against a large residual."""
    alone = np.array([-side.residual / max(side.by_place, side.least) for side in sides])
    far_off = np.array([abs(side.residual) > FAR_OFF for side in sides])
    wrong = far_off & (alone * turn < 0)
    return np.where(wrong, alone, turn), wrong


def _sweep(local: np.ndarray, desk: Desk) -> None:
    """Fill `Desk.swept` with theta and shear in turn, negative, for unit mass defects, turns, and 1."""
    count, lead, (size, columns) = len(local), 2 * BEFORE, desk.right.shape[1:]
    given, runs = (part[lead:].reshape(count, 2 * RUN, columns) for part in (desk.given, desk.swept))
    in_turn = desk.given[lead:].reshape(-1, 2, columns)[:size]
    in_turn[:, 0], in_turn[:, 1] = desk.right[0], desk.right[2]
    inverse = np.linalg.inv(local[:, :, lead:])
    np.matmul(inverse, given, out=runs)
    carried = np.matmul(inverse, local[:, :, :lead])
    for k in range(1, count):
        runs[k] -= carried[k] @ runs[k - 1, -lead:]


def _amplified_row(side, which: int, to: Answers, theta, shear) -> np.ndarray:
    """Transition equation of one side against mass defects, turns, and 1."""
    at, slopes = to.place[side.upstream], side.slopes
    row = -(slopes[0] @ theta[at]) - slopes[1] @ shear[at]
    row[at] += slopes[2]
    row[: len(to.here)] += slopes[3] @ to.here[at]
    row[len(to.here) + which] += side.by_place or side.least  # at the tail where nothing grows both are 0
    row[-1] += side.residual
    return row


def _held(desk: Desk, rest: np.ndarray, held: np.ndarray, by: np.ndarray) -> np.ndarray:
    """Step of mass defects and turns, some turns held at given moves."""
    from scipy.linalg.lapack import dgetrf, dgetrs

    size, right = len(rest) - 2, -rest
    np.copyto(desk.solved, desk.whole)
    for which in np.flatnonzero(held):
        desk.solved[size + which] = 0.0
        desk.solved[size + which, size + which], right[size + which] = 1.0, by[which]
    factored, order, info = dgetrf(desk.solved.T, overwrite_a=1)
    if info:
        raise np.linalg.LinAlgError("singular coupled equations")
    return dgetrs(factored, order, right, trans=1)[0]
