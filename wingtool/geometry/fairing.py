"""Waves that only rounded digits made, taken out: no point moves by more than the last digit printed."""

import numpy as np

from wingtool.geometry.curve import smooth_curve
from wingtool.geometry.shape import Section

FINE_ENOUGH = 1e-6  # of the chord: rounding below this leaves no wave worth taking out
PINNED = 1e9  # weight of tail and edges against that of other points: they stay


def printed_rounding(xy: np.ndarray) -> float:
    """Half a unit of the finest digit that any of the numbers uses, at most seven digits behind the point.

    Examples
    --------
    >>> printed_rounding(np.array([[1.0, 0.0013], [0.95, 0.0124]]))
    5e-05
    """
    for digits in range(8):
        scaled = xy * 10.0**digits
        if np.abs(scaled - np.round(scaled)).max() < 1e-4:
            return 0.5 * 10.0**-digits
    return 0.0


def _roughness(t: np.ndarray) -> np.ndarray:
    """Banded matrix (upper form, shape (4, n)) of the integral of the third derivative squared.

    Third divided differences over each four neighbours, weighted with the length that they stand for: a
    quadratic in `t`, and so a parabola about the nose, has none.
    """
    window = np.lib.stride_tricks.sliding_window_view(t, 4)
    apart = window[:, :, None] - window[:, None, :] + np.eye(4)
    share = 6.0 / apart.prod(axis=2)
    weight = (window[:, 3] - window[:, 0]) / 3.0
    band = np.zeros((4, len(t)))
    for a in range(4):
        for b in range(a, 4):
            band[3 - (b - a), b : b + len(window)] += weight * share[:, a] * share[:, b]
    return band


def _smoothest(xy: np.ndarray, t: np.ndarray, reach: float) -> np.ndarray:
    """The smoothest points that stand off those given as rounding by `reach` does; both ends stay."""
    from scipy.linalg import solveh_banded

    band = _roughness(t * (len(t) - 1) / (t[-1] - t[0]))
    hold = np.ones(len(t))
    hold[[0, -1]] = PINNED
    low, high, best = -9.0, 7.0, xy
    for _ in range(22):
        middle = 0.5 * (low + high)
        system = 10.0**middle * band
        system[3] += hold
        moved = solveh_banded(system, hold[:, None] * xy)
        off = moved - xy
        inside = bool((off**2).mean(axis=0).max() <= reach**2 / 3.0 and np.abs(off).max() <= 2.0 * reach)
        low, high, best = (middle, high, moved) if inside else (low, middle, best)
    return best


def faired(section: Section) -> np.ndarray:
    """The section's points without the waves of rounded digits; shape (n, 2).

    Coordinates printed to four decimals stand up to 0.00005 off; where points are close that bends the
    outline as much as its own curvature does, and pressures come out jagged. A smoothing spline after Reinsch
    (Numerische Mathematik 10, 1967), with a penalty on the third derivative, moves the points as far as
    rounding did: by 0.58 of the half digit in the root mean square, as for errors spread evenly, and nowhere
    by more than one digit. Tail and edges stay where they are.
    """
    xy = section.xy
    if section.rounding < FINE_ENOUGH or len(xy) < 8:
        return xy
    curve = smooth_curve(xy)
    ends = np.r_[0, curve.corners, len(xy) - 1]
    new = xy.copy()
    for a, b in zip(ends[:-1], ends[1:], strict=True):
        if b - a >= 6:
            new[a : b + 1] = _smoothest(xy[a : b + 1], curve.knots[a : b + 1], section.rounding)
    new[ends] = xy[ends]
    return new
