"""Sections as a class function times a Bernstein polynomial, after Kulfan.

B. M. Kulfan, "Universal Parametric Geometry Representation Method", J. Aircraft 45(1), 2008, equations (1)
to (14): y(x) = sqrt(x) (1 - x) S(x) + x y_tail. The form has a round nose and a tail of finite angle whatever
its weights: its first weight is sqrt(2 R) for the nose radius R, its last the tail slope.

The class function has no term in x itself at the nose, which a cambered nose has: a smooth curve
x = a y^2 + b y^3 gives y = +-sqrt(x / a) - b x / (2 a^2). Without it a fit turns the chord line by a tenth of
a degree. So one weight more, common to both sides, multiplies x (1 - x)^(order + 1/2).

Shape parameters stand in one vector: upper weights, lower weights, nose term, tail gap.
"""

from functools import lru_cache
from math import comb

import numpy as np

SURROGATE_ORDER = 8  # weights a side that the learned surrogate reads


def bernstein(x, order: int) -> np.ndarray:
    """Bernstein polynomials of degree ``order - 1``: shape of `x` plus a last axis of `order`.

    Examples
    --------
    They sum to one everywhere (Kulfan 2008, equation 9).

    >>> bernstein([0.0, 0.3, 1.0], 6).sum(axis=-1)
    array([1., 1., 1.])
    """
    x = np.asarray(x, dtype=float)[..., None]
    i = np.arange(order)
    binomial = np.array([comb(order - 1, k) for k in range(order)], dtype=float)
    return binomial * x**i * (1.0 - x) ** (order - 1 - i)


def side(x, order: int) -> np.ndarray:
    """The columns that a side's weights multiply: sqrt(x) (1 - x) B_i(x)."""
    x = np.asarray(x, dtype=float)
    return (np.sqrt(x) * (1.0 - x))[..., None] * bernstein(x, order)


def side_rows(x, order: int) -> tuple[np.ndarray, np.ndarray]:
    """Rows from shape parameters to the ordinates of upper and lower side at stations `x` (n,).

    Returns
    -------
    upper, lower : ndarray, shape (n, 2 order + 2)
    """
    x = np.asarray(x, dtype=float)
    columns = side(x, order)
    zero, half = np.zeros_like(columns), 0.5 * x[:, None]
    nose = (x * np.maximum(1.0 - x, 0.0) ** (order + 0.5))[:, None]
    return np.hstack([columns, zero, nose, half]), np.hstack([zero, columns, nose, -half])


@lru_cache(maxsize=8)
def loop_matrix(order: int, points: int) -> tuple[np.ndarray, np.ndarray]:
    """Stations of a closed loop and the matrix from shape parameters to its ordinates.

    Parameters
    ----------
    order : int
        Weights a side.
    points : int
        Stations a side, tail to nose, spaced by the cosine rule.

    Returns
    -------
    x : ndarray, shape (2 points - 1,)
        From the tail over the upper side to the nose and back.
    matrix : ndarray, shape (2 points - 1, 2 order + 2)
        ``y = matrix @ shape``, all over the chord.
    """
    x_side = 0.5 * (1.0 - np.cos(np.pi * np.arange(points) / (points - 1)))
    upper, lower = side_rows(x_side, order)
    x = np.concatenate([x_side[::-1], x_side[1:]])
    matrix = np.vstack([upper[::-1], lower[1:]])
    x.setflags(write=False)
    matrix.setflags(write=False)
    return x, matrix


def outline(shape: np.ndarray, points: int = 101) -> np.ndarray:
    """The loop (2 points - 1, 2), unit chord, of shape parameters.

    Examples
    --------
    Weights of one give the class function itself (Kulfan 2008, figure 3): at x = 1/4, sqrt(x) (1 - x) = 3/8.

    >>> loop = outline(np.array([1.0] * 4 + [-1.0] * 4 + [0.0, 0.0]), points=4)
    >>> [round(float(v), 4) for v in loop[2]]
    [0.25, 0.375]
    """
    x, matrix = loop_matrix((len(shape) - 2) // 2, points)
    return np.column_stack([x, matrix @ shape])


@lru_cache(maxsize=4)
def surrogate_matrix(order: int) -> np.ndarray:
    """Matrix (18, 2 order + 2) to a shape of eight weights a side, by least squares on the ordinates."""
    wanted = loop_matrix(order, 120)[1]
    return np.linalg.lstsq(loop_matrix(SURROGATE_ORDER, 120)[1], wanted, rcond=None)[0]
