"""One Newton step of many cases: theta and shear eliminated, mass defects and transition solved for.

Momentum and shear equations, given all mass defects, go downstream from station to station, each from at
most two before it. What theta and shear hand on to the shape and transition equations is gathered upstream
(the adjoint of the march), in runs of stations: each run's own small system is inverted, and what is left for
the run before is handed on. What remains, slopes against mass defects and edge speeds, is multiplied by the
edge speed's answer to mass defects: dense in the mass defects and the two places of transition, which are
solved for together. Theta and shear then follow from a march downstream.

Everything here is in the order in which stations follow each other (`Ordering.line`). Large arrays are made
once for a stack and filled again at each step.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.section.coupled.equations import Amplified, Equations
from wingtool.section.coupled.stack import Stack

RUN = 16  # stations in a run: small enough to invert, long enough that there are few
BEFORE = 2  # places that a cell reaches back
BLOCK = 64  # equations multiplied by the influence at a time: a row needs only what lies upstream of it
FAR_OFF = 2.0  # amplification off its critical value by more: transition moves as that alone says; own choice


@dataclass(frozen=True, eq=False)
class Change:
    """A Newton step: changes of theta, shear, mass defect, speed (n, S) and places of transition (n, 2)."""

    theta: np.ndarray
    shear: np.ndarray
    mass: np.ndarray
    speed: np.ndarray
    transition: np.ndarray


@dataclass(frozen=True, eq=False)
class Workspace:
    """Arrays that each step fills again, for n cases; P stations in whole runs, R = S + 2 equations stay.

    Parameters
    ----------
    layer : ndarray, shape (n, BEFORE + P, 2, R)
        Slopes of the equations that stay against theta and shear, then the multipliers of momentum and shear
        equation.
    outer : ndarray, shape (n, 2, BEFORE + P, R)
        Slopes against mass defect and edge speed.
    rest : ndarray, shape (n, 3, R)
        Slopes against both places of transition, and residuals.
    whole : ndarray, shape (n, R, R)
        What is solved, transposed.
    """

    layer: np.ndarray
    outer: np.ndarray
    rest: np.ndarray
    whole: np.ndarray

    def rows(self, count: int) -> "Workspace":
        """That of the first cases."""
        return Workspace(self.layer[:count], self.outer[:count], self.rest[:count], self.whole[:count])


def workspace(cases: int, stations: int) -> Workspace:
    """Room for so many cases."""
    long, stay = BEFORE + RUN * -(-stations // RUN), stations + 2
    return Workspace(
        np.empty((cases, long, 2, stay)),
        np.empty((cases, 2, long, stay)),
        np.empty((cases, 3, stay)),
        np.empty((cases, stay, stay)),
    )


def newton_change(
    stack: Stack, found: Equations, bounds: np.ndarray, free: np.ndarray, work: Workspace | None = None
) -> Change:
    """Solve for the step; transition moves within `bounds` (n, 2 sides, least and most), or not at all.

    Mass defects and both places are solved for together: with transition held where it is the rest may be
    singular although the whole is not. A singular case gives nan.
    """
    cases, size = stack.shape
    work = workspace(cases, size) if work is None else work
    reach = _reach(stack, found)
    runs = _runs(stack, found, reach)
    _fill(stack, found, reach, work)
    turned = _inverse(runs.local)
    _gather_upstream(runs, turned, work)
    started = _influenced(stack, found, work)
    amplified = found.amplified
    for which in (0, 1):
        own = amplified.d_transition[:, which]
        work.rest[:, which, size + which] += np.where(own == 0.0, amplified.least[:, which], own)
    step = _solved(found, bounds, free, work)
    mass, transition = step[:, :size], step[:, size:]
    speed = (stack.influence @ mass[:, :, None])[:, :, 0]
    theta, shear = _downstream(stack, runs, turned, mass, speed, transition, started)
    return Change(theta, shear, mass, speed, transition)


def _inverse(matrices: np.ndarray) -> np.ndarray:
    """Inverses of stacked matrices; nan for the cases with a singular one, and only for those."""
    try:
        return np.linalg.inv(matrices)
    except np.linalg.LinAlgError:
        if len(matrices) > 1:
            return np.concatenate([_inverse(one[None]) for one in matrices])
        return np.full_like(matrices, np.nan)


def _reach(stack: Stack, found: Equations) -> np.ndarray:
    """Slopes of the equations of each place, shape (n, P, 3, BEFORE + 1 places, 4)."""
    cases, size = stack.shape
    reach = np.zeros((cases, RUN * -(-size // RUN), 3, BEFORE + 1, 4))
    reach[:, size:, [0, 2], BEFORE, [0, 1]] = 1.0
    back = np.arange(size) - stack.upstream
    reach[:, :size, :, BEFORE] = found.own.transpose(2, 3, 0, 1)
    upstream = found.upstream.transpose(2, 3, 0, 1)
    for places in (1, 2):
        reach[:, :size, :, BEFORE - places] = upstream * (back == places)[:, :, None, None]
    base_back = stack.nodes - stack.tail[:, 1]
    reach[np.arange(cases), stack.nodes, :, BEFORE - base_back] += found.base.transpose(2, 0, 1)
    return reach


@dataclass(frozen=True, eq=False)
class _Runs:
    """Momentum and shear equations in K runs, transposed: the last axis is 2 RUN equations.

    Parameters
    ----------
    handed : ndarray, shape (n, K, 2 (BEFORE + RUN) + 2 BEFORE + 3, 2 RUN)
        Slopes against mass defect and speed at places that begin two before the run, against theta and shear
        at those two, against both places of transition; residuals.
    local : ndarray, shape (n, K, 2 RUN, 2 RUN)
        Slopes against theta and shear of the run itself.
    """

    handed: np.ndarray
    local: np.ndarray


def _runs(stack: Stack, found: Equations, reach: np.ndarray) -> _Runs:
    cases, size = stack.shape
    long = BEFORE + RUN
    split = reach.reshape(cases, -1, RUN, 3, BEFORE + 1, 4)[:, :, :, ::2]
    count, rows = split.shape[1], np.arange(RUN)
    layer = np.zeros((cases, count, long, 2, RUN, 2))
    handed = np.zeros((cases, count, 2 * long + 2 * BEFORE + 3, RUN, 2))
    outer = handed[:, :, : 2 * long].reshape(cases, count, 2, long, RUN, 2)
    for place in range(BEFORE + 1):
        slopes = split[:, :, :, :, place]
        layer[:, :, rows + place, :, rows] = slopes[..., :2].transpose(2, 0, 1, 4, 3)
        outer[:, :, :, rows + place, rows] = slopes[..., 2:].transpose(0, 1, 4, 2, 3)
    layer = layer.reshape(cases, count, 2 * long, RUN, 2)
    handed[:, :, 2 * long : -3] = layer[:, :, : 2 * BEFORE]
    rest = np.zeros((cases, count * RUN, 3, 2))
    for which in (0, 1):
        rest[:, :size, which] = (found.by_transition[::2] * (stack.side == which)).transpose(1, 2, 0)
    rest[:, :size, 2] = found.residual[::2].transpose(1, 2, 0)
    handed[:, :, -3:] = rest.reshape(cases, count, RUN, 3, 2).transpose(0, 1, 3, 2, 4)
    return _Runs(
        handed.reshape(cases, count, -1, 2 * RUN),
        layer[:, :, 2 * BEFORE :].reshape(cases, count, 2 * RUN, 2 * RUN),
    )


def _fill(stack: Stack, found: Equations, reach: np.ndarray, work: Workspace) -> None:
    """Slopes of the shape and transition equations as they are."""
    cases, size = stack.shape
    here, rows = np.arange(size), np.arange(cases)[:, None]
    for values in (work.layer, work.outer, work.rest):
        values[:] = 0.0
    for place in range(BEFORE + 1):
        slopes = reach[:, :size, 1, place].transpose(1, 0, 2)
        work.layer[:, here + place, :, here] = slopes[:, :, :2]
        work.outer[:, :, here + place, here] = slopes[:, :, 2:].transpose(1, 2, 0)
    surface = here[: stack.nodes]
    row = size + stack.side[:, : stack.nodes]
    slopes = found.amplified.slopes[:, :, : stack.nodes]
    work.layer[rows, surface + BEFORE, :, row] = slopes[:2].transpose(1, 2, 0)
    for part in (0, 1):
        work.outer[rows, part, surface + BEFORE, row] = slopes[2 + part]
    for which in (0, 1):
        work.rest[:, which, :size] = found.by_transition[1] * (stack.side == which)
    work.rest[:, 2, :size], work.rest[:, 2, size:] = found.residual[1], found.amplified.residual


def _gather_upstream(runs: _Runs, turned: np.ndarray, work: Workspace) -> None:
    """Take theta and shear out of the equations that stay, from the last run to the first.

    An equation needs only the runs up to its own: those further upstream begin at earlier columns.
    """
    cases, count = turned.shape[:2]
    long = BEFORE + RUN
    for run in range(count - 1, -1, -1):
        start = run * RUN
        here = work.layer[:, start + BEFORE : start + long].reshape(cases, 2 * RUN, -1)[:, :, start:]
        here[:] = turned[:, run] @ here
        out = runs.handed[:, run] @ here
        window = work.outer[:, :, start : start + long, start:]
        window[:, 0] -= out[:, :long]
        window[:, 1] -= out[:, long : 2 * long]
        before = work.layer[:, start : start + BEFORE].reshape(cases, 2 * BEFORE, -1)[:, :, start:]
        before -= out[:, 2 * long : -3]
        work.rest[:, :, start:] -= out[:, -3:]


def _influenced(stack: Stack, found: Equations, work: Workspace) -> np.ndarray:
    """Fill `Workspace.whole`: slopes against speeds become slopes against mass defects.

    Returns the slopes of the first stations' momentum equation against all mass defects, shape (n, S).
    """
    cases, size = stack.shape
    rows = np.arange(cases)[:, None]
    answer = stack.influence.transpose(0, 2, 1)
    for start in range(0, size + 2, BLOCK):
        stop = min(start + BLOCK, size + 2)
        reached = size if stop > size else stop
        speeds = work.outer[:, 1, BEFORE : BEFORE + reached, start:stop]
        np.matmul(answer[:, :, :reached], speeds, out=work.whole[:, :size, start:stop])
    work.whole[:, :size] += work.outer[:, 0, BEFORE : BEFORE + size]
    started = (found.start[:, None] @ stack.influence[rows, stack.beside])[:, 0]
    multipliers = work.layer[rows, BEFORE + stack.first, 0].sum(axis=1)
    work.whole[:, :size] -= started[:, :, None] * multipliers[:, None]
    return started


def _solved(found: Equations, bounds: np.ndarray, free: np.ndarray, work: Workspace) -> np.ndarray:
    """Step of mass defects and transition, (n, R); a bound that would be passed is taken as the move.

    The move of a side is prescribed by a multiplier of its own equation: the same factors serve.
    """
    from scipy.linalg.lapack import dgesv

    cases, stay = work.rest.shape[0], work.rest.shape[2]
    size = stay - 2
    work.whole[:, size:] = work.rest[:, :2]
    right = np.zeros((cases, stay, 3))
    right[:, :, 0] = -work.rest[:, 2]
    for which in (0, 1):
        held = ~free[:, which]
        work.whole[held, :, size + which] = 0.0
        work.whole[held, size + which, size + which] = 1.0
        right[held, size + which, 0] = 0.0
        right[:, size + which, 1 + which] = 1.0
    each = [dgesv(whole.T, one, overwrite_a=True) for whole, one in zip(work.whole, right, strict=True)]
    solved = np.stack([np.full_like(one, np.nan) if singular else one for *_, one, singular in each])
    step, multiplied = solved[:, :, 0], solved[:, :, 1:]
    wanted, wrong = _directed(step[:, size:], found.amplified)
    wanted = np.where(free, wanted, 0.0)
    allowed = np.clip(wanted, bounds[:, :, 0], bounds[:, :, 1])
    passed = np.logical_and(free, wrong | (wanted != allowed))
    missing = np.where(passed, allowed - step[:, size:], 0.0)
    own = np.where(passed[:, :, None] & passed[:, None], multiplied[:, size:], np.eye(2))
    determinant = own[:, 0, 0] * own[:, 1, 1] - own[:, 0, 1] * own[:, 1, 0]
    one = own[:, 1, 1] * missing[:, 0] - own[:, 0, 1] * missing[:, 1]
    two = own[:, 0, 0] * missing[:, 1] - own[:, 1, 0] * missing[:, 0]
    factors = np.stack([one, two], axis=1) / determinant[:, None]
    step = step + np.where(
        np.any(passed, axis=1, keepdims=True), (multiplied @ factors[:, :, None])[:, :, 0], 0.0
    )
    step[:, size:] = np.where(passed, allowed, step[:, size:])
    return step


def _directed(transition: np.ndarray, amplified: Amplified) -> tuple[np.ndarray, np.ndarray]:
    """Moves of transition, and which are not Newton's: those that would go against a large residual."""
    alone = -amplified.residual / np.maximum(amplified.d_transition, amplified.least)
    wrong = (np.abs(amplified.residual) > FAR_OFF) & (alone * transition < 0)
    return np.where(wrong, alone, transition), wrong


def _downstream(
    stack: Stack, runs: _Runs, turned: np.ndarray, mass, speed, transition, started
) -> tuple[np.ndarray, np.ndarray]:
    """Theta and shear of a step, marched downstream from run to run."""
    cases, size = stack.shape
    count, long = turned.shape[1], 2 * (BEFORE + RUN)
    outer = np.zeros((cases, 2, BEFORE + RUN * count))
    outer[:, 0, BEFORE : BEFORE + size], outer[:, 1, BEFORE : BEFORE + size] = mass, speed
    windows = np.lib.stride_tricks.sliding_window_view(outer, BEFORE + RUN, axis=2)[:, :, ::RUN]
    moves = np.empty((cases, count, long + 3, 1))
    moves[:, :, :long, 0] = windows.transpose(0, 2, 1, 3).reshape(cases, count, long)
    moves[:, :, long:, 0] = np.append(transition, np.ones((cases, 1)), axis=1)[:, None]
    moved = np.concatenate([runs.handed[:, :, :long], runs.handed[:, :, -3:]], axis=2)
    right = moved.transpose(0, 1, 3, 2) @ moves
    stationwise = right.reshape(cases, -1, 2)
    stationwise[np.arange(cases)[:, None], stack.first, 0] += (started * mass).sum(axis=1)[:, None]
    inverse = turned.transpose(0, 1, 3, 2)
    answer = -(inverse @ right)[..., 0]
    passed_on = inverse @ runs.handed[:, :, long:-3].transpose(0, 1, 3, 2)
    for run in range(1, count):
        answer[:, run] -= (passed_on[:, run] @ answer[:, run - 1, -2 * BEFORE :, None])[..., 0]
    theta, shear = answer.reshape(cases, -1, 2)[:, :size].transpose(2, 0, 1)
    return theta, shear
