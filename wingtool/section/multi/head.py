"""How far turbulent flow stays attached under a given inviscid pressure: Head's entrainment method.

M. R. Head, "Entrainment in the turbulent boundary layer", R&M 3152, 1958; closure as in T. Cebeci and
P. Bradshaw, Momentum Transfer in Boundary Layers, 1977 (from memory); skin friction by Ludwieg and Tillmann,
1949. The layer starts at the suction peak with the momentum thickness of a laminar layer up to there
(Thwaites 1949) and H = 1.4; it separates at H = 2.4. All angles march together.

This is the quick limit for flows that have no coupled solution. The pressure does not answer to the layer,
so that the limit comes late.
"""

import numpy as np

START_SHAPE = 1.4
SEPARATED_SHAPE = 2.4
LEAST_SPEED = 0.05
SUBSTEPS = 4


def entrainment_shape(shape: np.ndarray) -> np.ndarray:
    """Head's H1 of H, for H above 1.1."""
    low = 3.3 + 0.8234 * np.maximum(shape - 1.1, 1e-3) ** -1.287
    high = 3.3 + 1.5501 * np.maximum(shape - 0.6778, 1e-3) ** -3.064
    return np.where(shape <= 1.6, low, high)


def shape_of(entrainment: np.ndarray) -> np.ndarray:
    """H of Head's H1."""
    above = np.maximum(entrainment - 3.3, 1e-3)
    return np.where(entrainment >= 5.3, 1.1 + 0.86 * above**-0.777, 0.6778 + 1.1536 * above**-0.326)


def separation(speed: np.ndarray, arc: np.ndarray, reynolds: float) -> np.ndarray:
    """Arc length from the tail at which the upper side's flow separates, shape (m,); 0 where it stays.

    Parameters
    ----------
    speed : ndarray, shape (m, n)
        Surface speed at the nodes, tail, upper side, nose, lower side; positive over the upper side.
    arc : ndarray, shape (n,)
        Arc length from the tail.
    reynolds : float
        On the unit of `arc` and the stream's speed.
    """
    stagnation = np.argmax((speed[:, :-1] > 0) & (speed[:, 1:] <= 0), axis=1)
    upper = np.where(np.arange(speed.shape[1]) <= stagnation[:, None], speed, 0.0)
    peak = np.argmax(upper, axis=1)
    theta = _laminar(upper, arc, peak, reynolds)
    entrainment = entrainment_shape(np.full(len(speed), START_SHAPE))
    left = np.zeros(len(speed))
    for i in range(int(peak.max()), 0, -1):
        going = (i <= peak) & (left == 0)
        theta, entrainment = _across(
            (speed[:, i], speed[:, i - 1]), arc[i] - arc[i - 1], theta, entrainment, reynolds, going
        )
        left[going & (shape_of(entrainment) > SEPARATED_SHAPE)] = arc[i - 1]
    return left


def _laminar(upper: np.ndarray, arc: np.ndarray, peak: np.ndarray, reynolds: float) -> np.ndarray:
    """Momentum thickness at the peak of the upper side's speed (Thwaites)."""
    fifth = upper**5
    cells = (fifth[:, 1:] + fifth[:, :-1]) / 2 * np.diff(arc)
    beyond = np.arange(cells.shape[1]) >= peak[:, None]
    run = (cells * beyond).sum(axis=1)
    return np.sqrt(0.45 / reynolds * run / upper[np.arange(len(upper)), peak] ** 6)


def _across(ends, step, theta, entrainment, reynolds, going) -> tuple[np.ndarray, np.ndarray]:
    """One cell, in Heun steps, for the angles that are `going`."""
    slope = (ends[1] - ends[0]) / step
    near, far = (np.maximum(end, LEAST_SPEED) for end in ends)
    part = step / SUBSTEPS
    for j in range(SUBSTEPS):
        here = near + (far - near) * j / SUBSTEPS
        there = near + (far - near) * (j + 1) / SUBSTEPS
        first = _rates(theta, entrainment, here, slope, reynolds)
        guess = theta + part * first[0], np.maximum(entrainment + part * first[1], 3.31)
        second = _rates(*guess, there, slope, reynolds)
        theta = np.where(going, theta + part * (first[0] + second[0]) / 2, theta)
        moved = np.maximum(entrainment + part * (first[1] + second[1]) / 2, 3.31)
        entrainment = np.where(going, moved, entrainment)
    return theta, entrainment


def _rates(theta, entrainment, speed, slope, reynolds) -> tuple[np.ndarray, np.ndarray]:
    shape = shape_of(entrainment)
    friction = 0.246 * 10 ** (-0.678 * shape) * np.maximum(speed * theta * reynolds, 20.0) ** -0.268
    growth = friction / 2 - (shape + 2) * theta / speed * slope
    taken_in = 0.0306 * np.maximum(entrainment - 3.0, 1e-3) ** -0.6169
    return growth, (taken_in - entrainment * (growth + theta * slope / speed)) / theta
