"""The learned surrogate for many slightly different shapes at one go: bands from measuring errors."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from wingtool.errors import RangeError
from wingtool.geometry import kulfan
from wingtool.section.surrogate.network import network

COLUMNS = 2 * kulfan.SURROGATE_ORDER + 2


@dataclass(frozen=True, eq=False)
class ShapesCoefficients:
    """Coefficients and the surrogate's own confidence, each (n shapes, m angles)."""

    cl: np.ndarray
    cd: np.ndarray
    cm: np.ndarray
    confidence: np.ndarray


def surrogate_shapes(
    shapes: np.ndarray, reynolds: float, alpha_deg: ArrayLike, trip_x: float = 0.05
) -> ShapesCoefficients:
    """Coefficients of many shapes by the learned surrogate, in free air.

    Parameters
    ----------
    shapes : ndarray, shape (n, 18)
        Rows of Kulfan parameters over the chord: eight upper weights, eight lower weights, the weight of
        x (1 - x)^8.5 common to both sides, the tail gap. B. M. Kulfan, J. Aircraft 45(1), 2008.
    reynolds : float
        Chord Reynolds number.
    alpha_deg : float or array, shape (m,) or (n, m)
        Angle of attack [deg]; rows when each shape has its own.
    trip_x : float
        x/c at which the flow is tripped, both sides; 1 leaves it free.

    Raises
    ------
    RangeError
        Rows of another length.
    """
    shapes = np.atleast_2d(np.asarray(shapes, dtype=float))
    if shapes.shape[1] != COLUMNS:
        raise RangeError(f"surrogate: a shape has {COLUMNS} parameters, not {shapes.shape[1]}")
    alpha = np.atleast_1d(np.asarray(alpha_deg, dtype=float))
    alpha = np.broadcast_to(alpha, (len(shapes), alpha.shape[-1]))
    repeated = np.repeat(shapes, alpha.shape[1], axis=0)
    confidence, *found = network(repeated, float(reynolds), alpha.ravel(), trip_x, "large")[:4]
    return ShapesCoefficients(*(column.reshape(alpha.shape) for column in (*found, confidence)))
