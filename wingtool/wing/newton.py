"""Newton's method for the strip circulations of many cases at once, through stall.

Unknown is the circulation G of each strip over stream speed [m]. The strip's section meets the angle
``a = theta - K G / r`` at the local speed ``r`` (over stream speed), and must carry what it bears:

    F = G - r c n(a, Re) / 2 - nu(a) G''  = 0        n: circulation coefficient 2 Gamma / (U c)

Where lift falls with angle the strip equations alone are ill posed: neighbours may stall and recover in
turn, in a pattern as fine as the strips. The last term, after J.-J. Chattot (Computational Fluid Dynamics
Journal 13(3), 2004), is nothing before stall and beyond it the least smoothing that makes every wave
along the span decay: a free sheet's K is at most half the wave number k, so that with the slope -p ``1 -
(c p / 4) k + nu k^2 > 0`` for every k asks for ``nu = (c p / 8)^2``. It doesn't depend on the number of
strips. Its length is kept below half a chord, the size of a stall cell at the least (common practice, no
source).
"""

from dataclasses import dataclass

import numpy as np

from wingtool.wing.span_data import SpanData

LIMIT = 80  # iterations
TOLERANCE = 1e-9  # of the chord
LONGEST_STEP = np.radians(4.0)  # of the section angle in one step
STALL_CELL = 0.5  # longest smoothing length over the chord


@dataclass(frozen=True, eq=False)
class Cases:
    """n cases of s strips each.

    Parameters
    ----------
    theta, ratio : ndarray, shape (n, s)
        Incidence [rad] and local speed over stream speed without the wing.
    reynolds : ndarray, shape (n, s)
        Reynolds number of each strip at stream speed.
    own : ndarray, shape (n, s, s) or (1, s, s)
        K: angle [rad] for circulation, which the section data don't hold.
    speed : ndarray, like `own`
        Streamwise speed for circulation, which the section data don't hold.
    chord, load : ndarray, shape (s,)
        Effective chord [m] (with the factors of sweep), and what mounts leave of the circulation.
    stretch : ndarray, shape (s,)
        Section angle over streamwise angle: 1 / cos(sweep).
    bend : ndarray, shape (s, s)
        Second derivative along the span [1/m^2].
    data : SpanData
    """

    theta: np.ndarray
    ratio: np.ndarray
    reynolds: np.ndarray
    own: np.ndarray
    speed: np.ndarray
    chord: np.ndarray
    load: np.ndarray
    stretch: np.ndarray
    bend: np.ndarray
    data: SpanData

    def only(self, which: np.ndarray) -> "Cases":
        """The cases of an index array or mask."""
        return Cases(
            self.theta[which],
            self.ratio[which],
            self.reynolds[which],
            self.own if len(self.own) == 1 else self.own[which],
            self.speed if len(self.speed) == 1 else self.speed[which],
            self.chord,
            self.load,
            self.stretch,
            self.bend,
            self.data,
        )


@dataclass(frozen=True, eq=False)
class State:
    """Residual and what went into it, each of shape ``(n, s)``."""

    residual: np.ndarray
    alpha: np.ndarray
    ratio: np.ndarray
    value: np.ndarray
    slope: np.ndarray
    bend: np.ndarray
    second: np.ndarray


def apply(matrix: np.ndarray, vector: np.ndarray) -> np.ndarray:
    """Matrix of each case (or one for all) times vector of each case."""
    if len(matrix) == 1:
        return vector @ matrix[0].T
    return np.matmul(matrix, vector[..., None])[..., 0]


def section_state(cases: Cases, circulation: np.ndarray) -> State:
    """Evaluate F and what its derivative needs."""
    ratio = np.maximum(cases.ratio + apply(cases.speed, circulation), 0.05)
    alpha = (cases.theta - apply(cases.own, circulation) / ratio) * cases.stretch
    value, slope, bend = cases.data.circulation(alpha, cases.reynolds * ratio)
    second = circulation @ cases.bend.T
    bear = 0.5 * ratio * cases.chord * cases.load
    residual = circulation - bear * value - _smoothing(cases, slope) ** 2 * second
    return State(residual, alpha, ratio, value, slope, bend, second)


def _smoothing(cases: Cases, slope: np.ndarray) -> np.ndarray:
    """Smoothing length [m]."""
    return cases.chord * np.minimum(np.maximum(-slope, 0.0) / 8, STALL_CELL)


def jacobian(cases: Cases, state: State, circulation: np.ndarray) -> np.ndarray:
    """dF/dG, shape (n, s, s)."""
    bear = 0.5 * state.ratio * cases.chord * cases.load
    length = _smoothing(cases, state.slope)
    growing = (state.slope < 0) & (-state.slope / 8 < STALL_CELL)
    growth = np.where(
        growing, -length * cases.chord * state.bend / 4, 0.0
    )  # of the squared length with angle
    by_angle = bear * state.slope + growth * state.second
    downwash = cases.theta - state.alpha / cases.stretch
    angle_by_g = -(cases.own - downwash[..., None] * cases.speed) * (cases.stretch / state.ratio)[..., None]
    direct = (0.5 * cases.chord * cases.load * state.value)[..., None] * cases.speed
    eye = np.eye(circulation.shape[1])
    return eye - by_angle[..., None] * angle_by_g - direct - (length**2)[..., None] * cases.bend


def solve_cases(cases: Cases, start: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Circulation (n, s) and whether each case converged (n,).

    Steps are cut so that no section angle moves more than `LONGEST_STEP`, then halved while the residual
    grows.
    """
    circulation = start.copy()
    done = np.zeros(len(start), bool)
    left = np.arange(len(start))
    state = section_state(cases, circulation)
    scale = TOLERANCE * cases.chord.max()
    for _ in range(LIMIT):
        now = np.abs(state.residual).max(axis=1) < scale
        done[left[now]] = True
        left, state = left[~now], _pick(state, ~now)
        if left.size == 0:
            break
        part, old = cases.only(left), circulation[left]
        step = np.linalg.solve(jacobian(part, state, old), state.residual[..., None])[..., 0]
        circulation[left], state = _damped(part, old, state, step)
    return circulation, done


def _pick(state: State, which: np.ndarray) -> State:
    return State(*(getattr(state, name)[which] for name in State.__dataclass_fields__))


def _damped(part: Cases, old: np.ndarray, state: State, step: np.ndarray) -> tuple[np.ndarray, State]:
    moved = np.abs(apply(part.own, step) / state.ratio).max(axis=1)
    share = np.minimum(1.0, LONGEST_STEP / np.maximum(moved, 1e-12))
    norm = np.linalg.norm(state.residual, axis=1)
    for _ in range(4):
        new = old - share[:, None] * step
        trial = section_state(part, new)
        worse = np.linalg.norm(trial.residual, axis=1) > norm * (1 - 1e-3 * share)
        if not worse.any():
            break
        share = np.where(worse, share / 2, share)
    return new, trial
