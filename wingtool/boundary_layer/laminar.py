"""Laminar closure: energy shape, friction and dissipation over the shape factor H.

The relations are those of Drela & Giles (AIAA J. 25(10), 1987): functions of H alone, times 1/Re_theta. Their
printed polynomials are off by 1 % at the stagnation point and by 2 to 4 % in H near separation, so the same
three functions were computed again from the similar solutions (Falkner & Skan 1931; reversed branch,
Stewartson 1954) from H = 2.17 to 16, solved by collocation to 1e-8, and fitted in 1/H within 0.03 %. H*
rises again beyond H = 4.03, where friction vanishes. The fits are used up to H = 20, as bubbles reach it:
there they are off by 0.1, 0.2 and 0.4 % against similar layers solved beyond 16; the straight line on from 16
would be off by up to 1.5 %. At H = 28 friction is 1.3 % off, the others less.
"""

import numpy as np

from wingtool.boundary_layer.dual import Dual

# Polynomials in 1/H, highest power first.
_ENERGY = np.array(
    [103.433, -208.76378, 178.34122, -83.926703, 24.260778, -3.3947158, 1.4759742, 0.041214007]
)  # H*/H
_FRICTION = np.array(
    [136.98442, -267.45326, 226.15276, -110.47721, 30.175818, 0.47317255, -0.95237834, 0.0066794857]
)  # Re_theta cf/2
_DISSIPATION = np.array(
    [-369.40518, 779.66808, -698.7506, 329.21034, -73.156112, 1.8587562, 1.9198055, -0.018048358]
)  # Re_theta 2 cD/H*
_LEAST_H, _MOST_H = 2.17, 20.0  # beyond, the straight lines that continue the fits

STAGNATION_H = 2.21622944  # plane stagnation flow (Hiemenz 1911): H and theta^2 U'/nu, exact
STAGNATION_THETA = 0.08546478


def _fit(coefficients: np.ndarray, inverse: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Value and slope of a fit; beyond its range the straight line that continues it."""
    inside = np.clip(inverse, 1 / _MOST_H, 1 / _LEAST_H)
    slope = np.polyval(np.polyder(coefficients), inside)
    return np.polyval(coefficients, inside) + slope * (inverse - inside), slope


def laminar_closure(shape: Dual) -> tuple[Dual, Dual, Dual]:
    """Energy shape H*, Re_theta cf/2, and Re_theta (2 cD - H* cf/2).

    Parameters
    ----------
    shape : Dual
        H = displacement over momentum thickness.
    """
    inverse = 1.0 / shape.value
    inverse_slope = -inverse * inverse
    energy, slope = _fit(_ENERGY, inverse)
    h_star = shape.chain(energy * shape.value, energy + slope * shape.value * inverse_slope)
    friction_value, friction_slope = _fit(_FRICTION, inverse)
    friction = shape.chain(friction_value, friction_slope * inverse_slope)
    lost_value, lost_slope = _fit(_DISSIPATION, inverse)
    lost = shape.chain(lost_value, lost_slope * inverse_slope)
    return h_star, friction, h_star * (lost - friction)
