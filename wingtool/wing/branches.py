"""All cases solved at once, then followed up and down through stall, so that no jump goes unseen."""

from dataclasses import dataclass

import numpy as np

from wingtool.wing.newton import Cases, section_state, solve_cases

APART = 0.01  # of the lift: two answers further apart are two solutions


@dataclass(frozen=True, eq=False)
class Solution:
    """Circulation (n, s), whether each case converged (n,), the other solution (n, s), nan where unique."""

    circulation: np.ndarray
    converged: np.ndarray
    other: np.ndarray


def solve_all(cases: Cases, shape: tuple[int, int]) -> Solution:
    """Solve k speeds by m angles, cases in the order of speed, then angle.

    Before stall one Newton solve of everything is the answer. From the first angle at which any strip at
    any speed is past its section's stall (or anything failed), the cases are followed upwards from the
    attached side and downwards from the highest angle; the upward answer is the one given.
    """
    circulation, good = solve_cases(cases, _first_guess(cases))
    solution = Solution(circulation, good, np.full_like(circulation, np.nan))
    past = ((section_state(cases, circulation).alpha > cases.stall).any(axis=1) | ~good).reshape(shape)
    if not past.any() or shape[1] < 2:
        return solution
    first = max(1, int(np.argmax(past.any(axis=0))))
    return _follow(cases, solution, shape, first)


def _first_guess(cases: Cases) -> np.ndarray:
    """The wing whose sections go on straight from zero angle, cut down to what they can bear at stall."""
    reynolds = cases.reynolds * cases.ratio
    value, slope = cases.data.circulation(np.zeros_like(cases.theta), reynolds)
    most, _ = cases.data.circulation(cases.stall, reynolds)
    half_chord_speed = 0.5 * cases.ratio * cases.chord * cases.load
    gain = half_chord_speed * np.maximum(slope, 1.0) * cases.sec_sweep
    matrix = np.eye(len(cases.chord)) + (gain / cases.ratio)[..., None] * cases.induced_angle
    straight = np.linalg.solve(matrix, (half_chord_speed * value + gain * cases.theta)[..., None])[..., 0]
    capacity = half_chord_speed * np.maximum(most, 0.1) + 1e-9 * cases.chord
    over = (np.abs(straight) / capacity).max(axis=1)
    return straight / np.maximum(over, 1.0)[:, None]


def _follow(cases: Cases, solution: Solution, shape: tuple[int, int], first: int) -> Solution:
    number, last = np.arange(shape[0] * shape[1]).reshape(shape), shape[1] - 1
    ways = [list(range(first - 1, last + 1)), list(range(last, first - 1, -1))]
    (up, up_good), (down, down_good) = _march(cases, solution, number, ways)
    circulation, good = solution.circulation.copy(), solution.converged.copy()
    for branch, fine in ((down, down_good), (up, up_good)):
        circulation[fine], good[fine] = branch[fine], True
    lift = np.abs(circulation.sum(axis=1))
    apart = np.abs((down - circulation).sum(axis=1)) > APART * np.maximum(lift, 0.05 * lift.max())
    two = up_good & down_good & apart
    return Solution(circulation, good, np.where(two[:, None], down, np.nan))


def _march(cases: Cases, solution: Solution, number: np.ndarray, ways: list[list[int]]):
    """Follow all speeds from one angle to the next, all ways side by side; circulation and success of each.

    A way starts at the answer of its first angle. A failed case hands on the last good answer.
    """
    starts = [number[:, way[0]] for way in ways]
    branches = [(solution.circulation.copy(), np.zeros(number.size, bool)) for _ in ways]
    for (_, good), start in zip(branches, starts, strict=True):
        good[start] = solution.converged[start]
    guess = [solution.circulation[start] for start in starts]
    for step in range(1, max(map(len, ways))):
        going = [k for k, way in enumerate(ways) if step < len(way)]
        here = [number[:, ways[k][step]] for k in going]
        new, fine = solve_cases(cases.only(np.concatenate(here)), np.concatenate([guess[k] for k in going]))
        parts = zip(going, here, np.split(new, len(going)), np.split(fine, len(going)), strict=True)
        for k, rows, solved, success in parts:
            circulation, good = branches[k]
            circulation[rows[success]], good[rows] = solved[success], success
            guess[k] = np.where(success[:, None], solved, guess[k])
    return branches
