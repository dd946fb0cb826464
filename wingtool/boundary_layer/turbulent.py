"""Turbulent closure: friction, energy shape, dissipation, and shear stress that lags behind equilibrium.

From Drela & Giles, AIAA J. 25(10), 1987 (constants from memory): friction and energy shape after Swafford
(AIAA J. 21(6), 1983), equilibrium shear from the G-beta locus (A = 6.7, B = 0.75), lag after Green, Weeks &
Brooman (R&M 3791, 1973). Our own are the energy shape of a wake, and what keeps H above 1:
`low_h_correction`, and `limited_shape` for the other relations. Incompressible: no correction for Mach
number.
"""

import numpy as np

from wingtool.boundary_layer.dual import Dual, exp, log, maximum, power, tanh, where

LAG_RATE = 4.2
SHEAR_AT_TRANSITION = 0.7  # of the equilibrium value of its square root
_LEAST_RE_THETA = 200.0  # below it the energy shape relation has no meaning
_LEAST_WALL_H, _STEEPER = 1.2, 4.0  # own choice; its effect: `low_h_correction`
_BEND_H, _LEAST_H = 1.05, 1.01  # own choice


def skin_friction(shape: Dual, re_theta: Dual) -> Dual:
    """cf/2 of a turbulent layer; negative in reversed flow."""
    decades = maximum(log(re_theta) * (1 / np.log(10.0)), 1.3)
    power_law = exp(-1.33 * shape - (1.74 + 0.31 * shape) * log(decades))
    return 0.15 * power_law + 0.000055 * (tanh(4.0 - shape * (1 / 0.875)) - 1.0)


def energy_shape(shape: Dual, re_theta: Dual) -> Dual:
    """H* of a turbulent layer on a wall."""
    re = maximum(re_theta, _LEAST_RE_THETA)
    inverse = 1.0 / re
    least = where(re.value < 400.0, 4.0 + 0.0 * re, 3.0 + 400.0 * inverse)
    attached = 0.165 - 1.6 * power(re, -0.5)
    return 1.505 + 4.0 * inverse + _above_least(shape, re, least, attached)


def wake_energy_shape(shape: Dual, re_theta: Dual) -> Dual:
    """H* of a wake: the relation of a wall without the viscous layer next to it.

    Up to H = 3 at an endless Re_theta. Exact for a small defect: H* = 2 at H = 1, from where it falls like
    3 - H (the relation has 2.005 and a slope of -0.9). With the wall's Re_theta it is less than 2, mixing
    never ends, and H falls below 1. Beyond H = 3, behind a separated tail, the rise over the least value is
    the wall's, at the wake's own Re_theta: at an endless one the relation has no bound.
    """
    re = maximum(re_theta, _LEAST_RE_THETA)
    return 1.505 + _above_least(shape, re, 3.0 + 0.0 * re, 0.165 + 0.0 * re)


def _above_least(shape: Dual, re: Dual, least: Dual, attached: Dual) -> Dual:
    """H* above its least value, on both sides of the H where it has that."""
    ahead = maximum(least - shape, 1e-9)
    beyond = maximum(shape - least, 1e-9)
    log_re = log(re)
    inner = beyond + 4.0 / log_re
    separated = beyond * beyond * (0.04 / shape + 0.007 * log_re / (inner * inner))
    return where(shape.value < least.value, attached * power(ahead, 1.6) / shape, separated)


def low_h_correction(shape: Dual) -> Dual:
    """What is added to H* on a wall below H = 1.2: it keeps a strongly accelerated layer above H = 1.

    The published relation ends below 1 there and the iteration has no answer. Solutions do run through it:
    the lower side of a strongly cambered section holds H of 1.05 to 1.2 (s1223, race, Reynolds number 2e5:
    on up to a fifth of its turbulent stations, at Re_theta 150 to 810). Nothing measured stands behind
    those H: so accelerated a layer may turn laminar again, which no relation here knows. They are a floor,
    not data. That section's lift and drag hang little on the two numbers: twice or half the steepness
    changes cl by 0.001 and cd by 0.03 %, a start at 1.1 or 1.3 by 0.0023 and 0.13 %; without it 4 and 8
    degrees have no solution.

    It takes H as it is, not as bent by `limited_shape`, which would level it where it is needed.
    """
    short = maximum(_LEAST_WALL_H - shape, 0.0)
    return _STEEPER * short * short


def slip(h_star: Dual, shape: Dual) -> Dual:
    """Speed at the inner edge of the outer layer, over the edge speed."""
    return h_star * 0.5 * (4.0 / shape - 1.0) * (1 / 3.0)


def equilibrium_shear(h_star: Dual, shape: Dual, inner_speed: Dual) -> Dual:
    """Square root of the equilibrium shear stress coefficient."""
    excess = shape - 1.0
    square = 0.015 * h_star * excess * excess * excess / ((1.0 - inner_speed) * shape * shape * shape)
    return power(maximum(square, 1e-12), 0.5)


def layer_thickness(theta: Dual, displacement: Dual, shape: Dual) -> Dual:
    """Thickness of the whole layer."""
    return theta * (3.15 + 1.72 / (shape - 1.0)) + displacement


def limited_shape(shape: Dual) -> Dual:
    """H bent, below 1.05, towards 1.01, where the relations break down; the bend keeps a slope for Newton."""
    low = _BEND_H - _LEAST_H
    below = low * np.exp(np.minimum(shape.value - _BEND_H, 0.0) / low)
    inside = shape.value < _BEND_H
    return shape.chain(np.where(inside, _LEAST_H + below, shape.value), np.where(inside, below / low, 1.0))
