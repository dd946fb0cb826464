"""Newton's method for the strip circulations of many cases at once, through stall.

Unknown is the circulation G of each strip over stream speed [m]. The strip's section meets the angle
``a = theta - K G / r`` at the local speed ``r`` (over stream speed), and must carry what it bears:

    F = G - r c n(a, Re) / 2 - nu(a) G'' = 0        n: circulation coefficient 2 Gamma / (U c)

Where lift falls with angle the strip equations alone are ill posed: neighbours may stall and recover in
turn, in a pattern as fine as the strips. The last term, after J.-J. Chattot (Computational Fluid Dynamics
Journal 13(3), 2004; from memory), is nothing up to stall. Beyond it: a free sheet's K is at most half the
wave number k, so that with the slope -p a wave decays where ``1 - (c p / 4) k + nu k^2 > 0``; for every k
that asks for more than ``nu = (c p / 8)^2``, and twice that is taken, with p the steepest fall behind
stall. It doesn't depend on the number of strips. Its length is kept below half a chord, the size of a
stall cell at the least (common practice, no source).
"""

from dataclasses import dataclass

import numpy as np

from wingtool.wing.span_data import SpanData

LIMIT = 25  # Newton steps
RELAX_LIMIT = 200  # steps in made-up time
NO_BETTER = 60  # such steps in a row, none of them ahead of the best yet, that end a case; own choice
FIRST_PACE = 1.0  # first of these steps
TOLERANCE = 1e-9  # of the chord
LONGEST_STEP = np.radians(4.0)  # of the section angle in one step
STALL_CELL = 0.5  # longest smoothing length over the chord
ONSET = np.radians(2.0)  # of the smoothing behind stall, by section angle


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
    stall : ndarray, shape (n, s)
        Stall angle of each strip's section [rad].
    fall : ndarray, shape (s,)
        Steepest fall of circulation behind stall [1/rad].
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
    stall: np.ndarray
    fall: np.ndarray
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
            self.stall[which],
            self.fall,
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
    smoothing: np.ndarray
    growth: np.ndarray
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
    value, slope = cases.data.circulation(alpha, cases.reynolds * ratio)
    second = circulation @ cases.bend.T
    bear = 0.5 * ratio * cases.chord * cases.load
    smoothing, growth = _smoothing(cases, alpha)
    residual = circulation - bear * value - smoothing * second
    return State(residual, alpha, ratio, value, slope, smoothing, growth, second)


def _smoothing(cases: Cases, alpha: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """nu [m^2] and its derivative with the section angle: nothing up to stall, all of it `ONSET` later."""
    most = (cases.chord * np.minimum(np.sqrt(2) * cases.fall / 8, STALL_CELL)) ** 2
    share = np.clip((alpha - cases.stall) / ONSET, 0.0, 1.0)
    return most * share**2 * (3 - 2 * share), most * 6 * share * (1 - share) / ONSET


def jacobian(cases: Cases, state: State, circulation: np.ndarray) -> np.ndarray:
    """dF/dG, shape (n, s, s)."""
    bear = 0.5 * state.ratio * cases.chord * cases.load
    by_angle = bear * state.slope + state.growth * state.second
    downwash = cases.theta - state.alpha / cases.stretch
    angle_by_g = -(cases.own - downwash[..., None] * cases.speed) * (cases.stretch / state.ratio)[..., None]
    direct = (0.5 * cases.chord * cases.load * state.value)[..., None] * cases.speed
    eye = np.eye(circulation.shape[1])
    return eye - by_angle[..., None] * angle_by_g - direct - state.smoothing[..., None] * cases.bend


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
    if left.size:
        circulation[left], done[left] = relax(cases.only(left), start[left])
    return circulation, done


def relax(cases: Cases, start: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """As `solve_cases`, by implicit steps in a made-up time that grow as the residual falls.

    Pseudo-transient continuation (C. T. Kelley and D. E. Keyes, SIAM J. Numer. Anal. 35(2), 1998): it may
    climb over the humps of the residual at which a damped Newton step stays hanging.
    """
    circulation, done = start.copy(), np.zeros(len(start), bool)
    left, state = np.arange(len(start)), section_state(cases, start)
    norm = np.linalg.norm(state.residual, axis=1)
    pace, best, idle = np.full(len(start), FIRST_PACE), norm.copy(), np.zeros(len(start), dtype=int)
    scale = TOLERANCE * cases.chord.max()
    for _ in range(RELAX_LIMIT):
        part = cases.only(left)
        matrix = jacobian(part, state, circulation[left]) + np.eye(start.shape[1]) / pace[:, None, None]
        circulation[left] -= np.linalg.solve(matrix, state.residual[..., None])[..., 0]
        state = section_state(part, circulation[left])
        new = np.linalg.norm(state.residual, axis=1)
        pace, norm = np.clip(pace * norm / np.maximum(new, 1e-300), 0.05, 1e8), new
        idle, best = np.where(new < 0.99 * best, 0, idle + 1), np.minimum(new, best)
        now = np.abs(state.residual).max(axis=1) < scale
        done[left[now]] = True
        on = ~now & (idle < NO_BETTER)
        left, state, pace, norm = left[on], _pick(state, on), pace[on], norm[on]
        best, idle = best[on], idle[on]
        if left.size == 0:
            break
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
