"""Newton's method for the strip circulations of many cases at once, through stall.

Unknown is the circulation G of each strip over stream speed [m]. The strip's section meets the angle
``a = theta - K G / r`` at the local speed ``r`` (over stream speed), and must carry what it bears:

    F = G - r c n(a, Re) / 2 - nu(a) G'' = 0        n: circulation coefficient 2 Gamma / (U c)

Where lift falls with angle the strip equations alone are ill posed: neighbouring strips may stall and
recover in turn, in a pattern as fine as the strips. The last term, after J.-J. Chattot (Computational Fluid
Dynamics Journal 13(3), 2004; from memory), is zero up to stall. Beyond it: a free sheet's K is at most half
the wave number k, so that with the slope -p a wave decays where ``1 - (c p / 4) k + nu k^2 > 0``; for every k
that asks for more than ``nu = (c p / 8)^2``, and twice that is taken, with p the steepest fall behind
stall. It does not depend on the number of strips. Its length is kept below half a chord, the least size of a
stall cell (common practice, no source).
"""

from dataclasses import dataclass, replace

import numpy as np

from wingtool.wing.span_data import SpanData

LIMIT = 25  # Newton steps
PSEUDO_LIMIT = 200  # pseudo-time steps
NO_BETTER = 60  # pseudo-time steps in a row without a lower residual that end a case; heuristic
FIRST_DT = 1.0  # first pseudo-time step
TOLERANCE = 1e-9  # of the chord
LONGEST_STEP = np.radians(4.0)  # of the section angle in one step
STALL_CELL = 0.5  # longest smoothing length over the chord
RAMP = np.radians(2.0)  # section angle past stall over which the smoothing comes in


@dataclass(frozen=True, eq=False)
class Cases:
    """n cases of s strips each.

    Parameters
    ----------
    theta, ratio : ndarray, shape (n, s)
        Incidence [rad] and local speed over stream speed without the wing.
    reynolds : ndarray, shape (n, s)
        Reynolds number of each strip at stream speed.
    induced_angle : ndarray, shape (n, s, s) or (1, s, s)
        K: angle [rad] for circulation, which the section data do not hold.
    speed : ndarray, like `induced_angle`
        Streamwise speed for circulation, which the section data do not hold.
    chord, load : ndarray, shape (s,)
        Effective chord [m] (with the factors of sweep), and what mounts leave of the circulation.
    sec_sweep : ndarray, shape (s,)
        Section angle over streamwise angle: 1 / cos(sweep).
    d2dy2 : ndarray, shape (s, s)
        Second derivative along the span [1/m^2].
    stall : ndarray, shape (n, s)
        Stall angle of each strip's section [rad].
    post_stall_slope : ndarray, shape (s,)
        Steepest fall of circulation behind stall [1/rad].
    data : SpanData
    """

    theta: np.ndarray
    ratio: np.ndarray
    reynolds: np.ndarray
    induced_angle: np.ndarray
    speed: np.ndarray
    chord: np.ndarray
    load: np.ndarray
    sec_sweep: np.ndarray
    d2dy2: np.ndarray
    stall: np.ndarray
    post_stall_slope: np.ndarray
    data: SpanData

    def only(self, which: np.ndarray) -> "Cases":
        """The cases of an index array or mask."""
        by_case: tuple[str, ...] = ("theta", "ratio", "reynolds", "stall")
        by_case += tuple(name for name in ("induced_angle", "speed") if len(getattr(self, name)) > 1)
        return replace(self, **{name: getattr(self, name)[which] for name in by_case})


@dataclass(frozen=True, eq=False)
class State:
    """Residual F and the terms of F and dF/dG, each of shape ``(n, s)``.

    `alpha` section angle [rad], `ratio` local over stream speed, `value` and `slope` of the circulation
    coefficient; `smoothing` nu [m^2], `smoothing_slope` d nu / d alpha, `circulation_d2dy2` G'' [1/m].
    """

    residual: np.ndarray
    alpha: np.ndarray
    ratio: np.ndarray
    value: np.ndarray
    slope: np.ndarray
    smoothing: np.ndarray
    smoothing_slope: np.ndarray
    circulation_d2dy2: np.ndarray


def apply(matrix: np.ndarray, vector: np.ndarray) -> np.ndarray:
    """Matrix of each case (or one for all) times vector of each case.

    One product a case: a single product for all would be rounded by their number, and beyond stall that
    may decide which solution is found.
    """
    return np.matmul(matrix, vector[..., None])[..., 0]


def section_state(cases: Cases, circulation: np.ndarray) -> State:
    """Evaluate F and what its derivative needs."""
    ratio = np.maximum(cases.ratio + apply(cases.speed, circulation), 0.05)
    alpha = (cases.theta - apply(cases.induced_angle, circulation) / ratio) * cases.sec_sweep
    value, slope = cases.data.circulation(alpha, cases.reynolds * ratio)
    d2dy2 = apply(cases.d2dy2[None], circulation)
    half_chord_speed = 0.5 * ratio * cases.chord * cases.load
    smoothing, smoothing_slope = _smoothing(cases, alpha)
    return State(
        residual=circulation - half_chord_speed * value - smoothing * d2dy2,
        alpha=alpha, ratio=ratio, value=value, slope=slope,
        smoothing=smoothing, smoothing_slope=smoothing_slope, circulation_d2dy2=d2dy2,
    )  # fmt: skip


def _smoothing(cases: Cases, alpha: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """nu [m^2] and its derivative with the section angle: nothing up to stall, all of it `RAMP` later."""
    most = (cases.chord * np.minimum(np.sqrt(2) * cases.post_stall_slope / 8, STALL_CELL)) ** 2
    share = np.minimum(np.maximum((alpha - cases.stall) / RAMP, 0.0), 1.0)
    return most * share**2 * (3 - 2 * share), most * 6 * share * (1 - share) / RAMP


def jacobian(cases: Cases, state: State, circulation: np.ndarray) -> np.ndarray:
    """dF/dG, shape (n, s, s)."""
    half_chord_speed = 0.5 * state.ratio * cases.chord * cases.load
    by_angle = half_chord_speed * state.slope + state.smoothing_slope * state.circulation_d2dy2
    downwash = cases.theta - state.alpha / cases.sec_sweep
    per_local = (cases.sec_sweep / state.ratio)[..., None]
    angle_by_g = -(cases.induced_angle - downwash[..., None] * cases.speed) * per_local
    direct = (0.5 * cases.chord * cases.load * state.value)[..., None] * cases.speed
    eye = np.eye(circulation.shape[1])
    return eye - by_angle[..., None] * angle_by_g - direct - state.smoothing[..., None] * cases.d2dy2


def solve_cases(cases: Cases, start: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Circulation (n, s) and whether each case converged (n,).

    Steps are cut so that no section angle moves more than `LONGEST_STEP`, then halved while the residual
    grows.
    """
    circulation, done, part = start.copy(), np.zeros(len(start), bool), cases
    left = np.arange(len(start))
    state = section_state(cases, circulation)
    scale = TOLERANCE * cases.chord.max()
    for _ in range(LIMIT):
        now = np.abs(state.residual).max(axis=1) < scale
        if now.any():
            done[left[now]] = True
            left, state, part = left[~now], _pick(state, ~now), part.only(~now)
        if left.size == 0:
            break
        old = circulation[left]
        step = np.linalg.solve(jacobian(part, state, old), state.residual[..., None])[..., 0]
        circulation[left], state = _damped(part, old, state, step)
    if left.size:
        circulation[left], done[left] = pseudo_transient(part, start[left])
    alpha = section_state(cases, circulation).alpha  # a root at hundreds of degrees is no flow
    return circulation, done & (np.abs(alpha) < np.pi / 2).all(axis=1)


def pseudo_transient(cases: Cases, start: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """As `solve_cases`, by implicit pseudo-time steps that grow as the residual falls.

    Pseudo-transient continuation (C. T. Kelley and D. E. Keyes, SIAM J. Numer. Anal. 35(2), 1998): it can
    leave a local minimum of the residual, at which a damped Newton iteration stalls.
    """
    circulation, done, part = start.copy(), np.zeros(len(start), bool), cases
    left, state = np.arange(len(start)), section_state(cases, start)
    norm = np.linalg.norm(state.residual, axis=1)
    dt, best, idle = np.full(len(start), FIRST_DT), norm.copy(), np.zeros(len(start), dtype=int)
    scale = TOLERANCE * cases.chord.max()
    for _ in range(PSEUDO_LIMIT):
        matrix = jacobian(part, state, circulation[left]) + np.eye(start.shape[1]) / dt[:, None, None]
        circulation[left] -= np.linalg.solve(matrix, state.residual[..., None])[..., 0]
        state = section_state(part, circulation[left])
        new = np.linalg.norm(state.residual, axis=1)
        dt, norm = np.clip(dt * norm / np.maximum(new, 1e-300), 0.05, 1e8), new
        idle, best = np.where(new < 0.99 * best, 0, idle + 1), np.minimum(new, best)
        now = np.abs(state.residual).max(axis=1) < scale
        done[left[now]] = True
        on = ~now & (idle < NO_BETTER)
        if on.all():
            continue
        left, state, dt, norm = left[on], _pick(state, on), dt[on], norm[on]
        best, idle, part = best[on], idle[on], part.only(on)
        if left.size == 0:
            break
    return circulation, done


def _pick(state: State, which: np.ndarray) -> State:
    return State(*(getattr(state, name)[which] for name in State.__dataclass_fields__))


def _damped(part: Cases, old: np.ndarray, state: State, step: np.ndarray) -> tuple[np.ndarray, State]:
    moved = np.abs(apply(part.induced_angle, step) / state.ratio).max(axis=1)
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
