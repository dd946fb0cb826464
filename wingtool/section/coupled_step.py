"""One Newton step: momentum thickness and shear leave by a banded solve, mass defect and transition stay.

Momentum and shear equations, given all mass defects, run downstream from station to station: a band of
width 7 in theta and shear. What is left is dense in the mass defects and the two places of transition.

Everything here is in the order in which stations follow each other (`Order.line`), and matrices are
stored column by column, as LAPACK wants them: shape (columns, rows).
"""

from dataclasses import dataclass

import numpy as np

from wingtool.section.coupled_case import Case, Order
from wingtool.section.coupled_equations import Equations

_BELOW, _ABOVE = 5, 1
FAR_OFF = 2.0  # amplification off its critical value by more: transition moves as that alone says


@dataclass(frozen=True, eq=False)
class Change:
    """A Newton step: changes of theta, shear, positive mass defect (S,) and places of transition (2,)."""

    theta: np.ndarray
    shear: np.ndarray
    mass: np.ndarray
    turn: np.ndarray


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
        Answer at each place, and at the place before it, row by row for the mass defect of each place.
    signed : ndarray, shape (S, N)
        Signed surface speed at each node, likewise.
    """

    place: np.ndarray
    before: np.ndarray
    here: np.ndarray
    near: np.ndarray
    signed: np.ndarray


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
    signed = case.response.per_mass[:, along.line].T * sign[:, None]
    here = np.ascontiguousarray(signed[:, along.line] * sign)
    return Answers(place, before, here, here[:, before], signed[:, : case.nodes])


def _band(found: Equations, along: Order, to: Answers) -> np.ndarray:
    """Momentum and shear equations against theta and shear, in LAPACK band storage with room to pivot."""
    size = len(along.line)
    band = np.zeros((2 * _BELOW + _ABOVE + 1, 2 * size), order="F")
    top, here = _BELOW + _ABOVE, np.arange(size)
    wake, base = to.place[along.wake[0]], to.place[found.base_at]
    used = here[np.any(found.near[:, :2][:, :, along.line] != 0, axis=(0, 1))]
    for r, equation in enumerate((0, 2)):
        for c in (0, 1):
            band[top + r - c, 2 * here + c] = found.far[equation, c, along.line]
            rows, columns = 2 * used + r, 2 * to.before[used] + c
            band[top + rows - columns, columns] += found.near[equation, c, along.line[used]]
            band[top + 2 * wake + r - 2 * base - c, 2 * base + c] += found.base[equation, c]
    return band


def _right_sides(found: Equations, along: Order, to: Answers) -> np.ndarray:
    """All residuals (3, columns, rows) against mass defects, both turns, and 1."""
    size = len(along.line)
    here = np.arange(size)
    right = np.empty((3, size + 3, size))
    far, near = found.far[:, :, along.line], found.near[:, :, along.line]
    for equation in range(3):
        block = right[equation, :size]
        np.multiply(to.here, far[equation, 3], out=block)
        block += to.near * near[equation, 3]
        block[here, here] += far[equation, 2]
        block[to.before, here] += near[equation, 2]
    right[:, size : size + 2] = found.by_turn[:, along.line].transpose(0, 2, 1)
    right[:, size + 2] = found.residual[:, along.line]
    right[:, to.place[found.base_at], to.place[along.wake[0]]] += found.base[:, 2]
    started = to.signed[:, found.start_at] @ found.start
    for first in (along.upper[0], along.lower[0]):
        right[0, :size, to.place[first]] += started
    return right


def newton_change(
    along: Order, to: Answers, found: Equations, bounds: np.ndarray, free: np.ndarray
) -> Change:
    """Solve for the step; transition moves within `bounds` (2 sides, least and most), or not at all.

    Mass defects and both places are solved for together: with transition held where it is the rest may be
    singular although the whole is not.
    """
    size = len(along.line)
    right = _right_sides(found, along, to)
    theta, shear = _swept(found, along, to, right)
    far, near = found.far[1][:, along.line], found.near[1][:, along.line]
    matrix = right[1]
    matrix -= far[0] * theta
    matrix -= far[1] * shear
    matrix -= near[0] * theta[:, to.before]
    matrix -= near[1] * shear[:, to.before]
    whole = np.empty((size + 3, size + 2))  # all equations for unit mass defects, both turns, and 1
    whole[:, :size] = matrix
    for which, side in enumerate(found.amplified):
        whole[:, size + which] = _amplified_row(side, which, to, theta, shear)
    step = _held(whole, size, ~free, np.zeros(2))
    wanted, wrong = _directed(step[size:], found.amplified)
    if np.any(held := wrong | (wanted < bounds[:, 0]) | (wanted > bounds[:, 1])):
        step = _held(whole, size, ~free | held, np.clip(wanted, *bounds.T) * free)
    answer, back = np.append(step, 1.0), to.place
    return Change(-(answer @ theta)[back], -(answer @ shear)[back], step[:size][back], step[size:])


def _directed(turn: np.ndarray, sides) -> tuple[np.ndarray, np.ndarray]:
    """Moves of transition, and which are not Newton's: those that would go against a large residual."""
    alone = np.array([-side.residual / max(side.by_place, side.least) for side in sides])
    far_off = np.array([abs(side.residual) > FAR_OFF for side in sides])
    wrong = far_off & (alone * turn < 0)
    return np.where(wrong, alone, turn), wrong


def _swept(found, along, to, right) -> tuple[np.ndarray, np.ndarray]:
    """Momentum thickness and shear, negative, row by row for unit mass defects, turns, and 1."""
    from scipy.linalg.lapack import dgbsv

    size = len(along.line)
    local = np.empty((size + 3, 2 * size))
    local[:, 0::2], local[:, 1::2] = right[0], right[2]
    *_, swept, info = dgbsv(_BELOW, _ABOVE, _band(found, along, to), local.T, overwrite_ab=1, overwrite_b=1)
    if info:
        raise np.linalg.LinAlgError("singular layer equations")
    return np.ascontiguousarray(swept.T[:, 0::2]), np.ascontiguousarray(swept.T[:, 1::2])


def _amplified_row(side, which: int, to: Answers, theta, shear) -> np.ndarray:
    """Transition equation of one side against mass defects, turns, and 1."""
    at, slopes = to.place[side.upstream], side.slopes
    row = -(theta[:, at] @ slopes[0]) - shear[:, at] @ slopes[1]
    row[at] += slopes[2]
    row[: len(to.here)] += to.here[:, at] @ slopes[3]
    row[len(to.here) + which] += side.by_place or side.least  # at the tail where nothing grows both are 0
    row[-1] += side.residual
    return row


def _held(whole: np.ndarray, size: int, held: np.ndarray, by: np.ndarray) -> np.ndarray:
    """Step of mass defects and turns, some turns held at given moves."""
    from scipy.linalg.lapack import dgesv

    matrix = whole.copy()
    for which in np.flatnonzero(held):
        matrix[:, size + which] = 0.0
        matrix[size + which, size + which], matrix[-1, size + which] = 1.0, -by[which]
    *_, answer, info = dgesv(matrix[:-1].T, -matrix[-1], overwrite_a=1)
    if info:
        raise np.linalg.LinAlgError("singular coupled equations")
    return answer
