"""A lift and drag curve in ten figures, by one rule for measured and for computed curves."""

from dataclasses import dataclass, fields

import numpy as np

TOP_SEEN_CL, TOP_SEEN_DEG = 0.008, 1.9  # fall of lift, or angles without a gain, behind a greatest lift
SLOPE_DEG = (-2.0, 5.0)
DRAG_AT_CL = (0.0, 0.5, 1.0)
LIFT_AT_DEG = (0.0, 4.0, 8.0)
NEAR_END_DEG = 0.3
MOST_JUMP = 2.0  # ratio of drag at neighbouring points; beyond it a side separates between them, unmeasured


@dataclass(frozen=True)
class CurveFigures:
    """Figures of one curve; nan where the curve does not reach.

    Parameters
    ----------
    cl_max, alpha_cl_max_deg : float
        Greatest lift and its angle [deg], where the curve shows that lift stops rising.
    cl_0deg, cl_4deg, cl_8deg : float
        Lift at these angles.
    zero_lift_deg : float
        Angle of zero lift [deg].
    slope_per_deg : float
        Least squares over -2 to 5 degrees.
    cd_cl_0, cd_cl_05, cd_cl_10 : float
        Drag at these lifts, below the greatest; nan too where drag jumps there, by `MOST_JUMP` or more.
    """

    cl_max: float
    alpha_cl_max_deg: float
    cl_0deg: float
    cl_4deg: float
    cl_8deg: float
    zero_lift_deg: float
    slope_per_deg: float
    cd_cl_0: float
    cd_cl_05: float
    cd_cl_10: float


FIGURES = tuple(one.name for one in fields(CurveFigures))


def curve_figures(
    alpha_deg: np.ndarray, cl: np.ndarray, drag_cl: np.ndarray, drag_cd: np.ndarray
) -> CurveFigures:
    """Figures of a lift curve and of drag over lift.

    Parameters
    ----------
    alpha_deg, cl : ndarray, shape (n,)
        Lift curve, angles increasing [deg].
    drag_cl, drag_cd : ndarray, shape (m,)
        Lift and drag of the points that have drag, angles increasing.
    """
    known = np.isfinite(cl)
    alpha, lift = alpha_deg[known], cl[known]
    if len(alpha) < 3:
        return CurveFigures(**dict.fromkeys(FIGURES, np.nan))
    top = int(np.argmax(lift))
    seen = lift[-1] < lift[top] - TOP_SEEN_CL or alpha[-1] - alpha[top] > TOP_SEEN_DEG
    greatest = (float(lift[top]), float(alpha[top])) if seen and lift[top] > 0 else (np.nan, np.nan)
    at = [_between(alpha, lift, angle) for angle in LIFT_AT_DEG]
    drags = [_crossing(drag_cl, drag_cd, value, MOST_JUMP) for value in DRAG_AT_CL]
    zero = _crossing(lift[: top + 1], alpha[: top + 1], 0.0)
    values = (*greatest, *at, zero, _slope(alpha, lift), *drags)
    return CurveFigures(**dict(zip(FIGURES, values, strict=True)))


def _between(alpha: np.ndarray, values: np.ndarray, angle: float) -> float:
    inside = alpha[0] - NEAR_END_DEG <= angle <= alpha[-1] + NEAR_END_DEG
    return float(np.interp(angle, alpha, values)) if inside else np.nan


def _crossing(rising: np.ndarray, values: np.ndarray, level: float, most_jump: float = np.inf) -> float:
    """Value where `rising`, up to its top, last passes a level upwards."""
    known = np.isfinite(rising) & np.isfinite(values)
    rising, values = rising[known], values[known]
    if len(rising) < 3:
        return np.nan
    rising = rising[: int(np.argmax(rising)) + 1]
    passes = np.flatnonzero((rising[:-1] <= level) & (rising[1:] > level))
    if not len(passes):
        return np.nan
    i = int(passes[-1])
    least, most = sorted(values[i : i + 2])
    if least > 0.0 and most >= most_jump * least:
        return np.nan
    share = (level - rising[i]) / (rising[i + 1] - rising[i])
    return float(values[i] + share * (values[i + 1] - values[i]))


def _slope(alpha: np.ndarray, lift: np.ndarray) -> float:
    grid = np.linspace(*SLOPE_DEG, 15)
    grid = grid[(grid >= alpha[0]) & (grid <= alpha[-1])]
    return float(np.polyfit(grid, np.interp(grid, alpha, lift), 1)[0]) if len(grid) > 8 else np.nan
