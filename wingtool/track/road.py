"""The road's rise and fall along a coast-down stretch, found from the coasts when positions are logged.

A slope acts up one way and down the other at the same place, drag acts alike both ways. So all coasts of a
day share one slope profile s(x), x along the road, with the sign of the direction; each has its own start
speed, rolling term and drag. In the integrated form V = V0 - a t - c (integral of V^2) - d g (integral of s)
this is linear: the three terms of each coast are projected out, then s follows from all coasts together.
"""

import numpy as np

from wingtool.constants import GRAVITY_M_S2

KNOT_M = 150.0


def along_road(east_m: np.ndarray, north_m: np.ndarray) -> np.ndarray:
    """Distance along the road's main direction [m] (first principal axis of the fixes)."""
    points = np.stack([east_m - np.nanmean(east_m), north_m - np.nanmean(north_m)])
    axis = np.linalg.svd(np.nan_to_num(points), full_matrices=False)[0][:, 0]
    return axis @ points


def _hats(x: np.ndarray, knots: np.ndarray) -> np.ndarray:
    """Piecewise-linear basis (n, k)."""
    return np.stack([np.interp(x, knots, row) for row in np.eye(len(knots))], axis=1)


def speed_by_road(
    times_s: list[np.ndarray], speeds_m_s: list[np.ndarray], places_m: list[np.ndarray]
) -> list[np.ndarray]:
    """What the road's rise and fall has added to the speed of every coast [m/s].

    Parameters
    ----------
    times_s, speeds_m_s, places_m : list of ndarray
        One of each for every coast: time, speed, place along the road; the place tells the direction.

    Returns
    -------
    list of ndarray
        Zero at each start. Nothing for coasts in one direction alone: there slope and drag look alike.
    """
    from scipy.integrate import cumulative_trapezoid

    ways = [np.sign(place[-1] - place[0]) for place in places_m]
    if len(set(ways)) < 2:
        return [np.zeros_like(v) for v in speeds_m_s]
    low, high = min(p.min() for p in places_m), max(p.max() for p in places_m)
    knots = np.linspace(low, high, max(int((high - low) / KNOT_M), 2) + 1)
    climbs, left, right = [], [], []
    for t, v, x, way in zip(times_s, speeds_m_s, places_m, ways, strict=True):
        climb = -way * GRAVITY_M_S2 * cumulative_trapezoid(_hats(x, knots), t, axis=0, initial=0.0)
        own = np.stack([np.ones_like(t), t - t[0], cumulative_trapezoid(v**2, t, initial=0.0)], axis=1)
        q = np.linalg.qr(own / np.sqrt(np.mean(own**2, axis=0)))[0]
        climbs.append(climb)
        left.append(climb - q @ (q.T @ climb))
        right.append(v - q @ (q.T @ v))
    slope = np.linalg.lstsq(np.concatenate(left), np.concatenate(right), rcond=1e-4)[0]
    return [climb @ slope for climb in climbs]
