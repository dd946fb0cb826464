"""Growth of the most amplified Tollmien-Schlichting wave, and the amplification at transition.

The envelope of linear stability results for similar layers, after Drela & Giles, AIAA J. 25(10), 1987
(constants from memory). Critical
amplification from the turbulence of the stream after Mack (JPL 77-15, 1977).
"""

import numpy as np

from wingtool.boundary_layer.dual import Dual, exp, log, maximum, tanh

_RAMP_DECADES = 0.08  # the onset at the critical Re_theta is smoothed over this half width; common practice


def critical_amplification(turbulence: float) -> float:
    """Amplification exponent N at transition for a stream turbulence (rms over mean speed).

    Mack (1977): N = -8.43 - 2.4 ln Tu, for 0.0007 < Tu < 0.0298.

    Examples
    --------
    >>> round(critical_amplification(0.0007), 1)
    9.0
    """
    return -8.43 - 2.4 * float(np.log(turbulence))


def critical_re_theta_decades(shape: Dual) -> Dual:
    """log10 of the Re_theta at which waves begin to grow."""
    inverse = 1.0 / (shape - 1.0)
    return (1.415 * inverse - 0.489) * tanh(20.0 * inverse - 12.9) + 3.295 * inverse + 0.44


def theta_amplification_rate(shape: Dual, re_theta: Dual) -> Dual:
    """theta dN/ds."""
    shape = maximum(shape, 2.0)
    decades = log(re_theta) * (1 / np.log(10.0)) - critical_re_theta_decades(shape)
    x = np.clip((decades.value + _RAMP_DECADES) / (2 * _RAMP_DECADES), 0.0, 1.0)
    onset = decades.chain(x * x * (3.0 - 2.0 * x), 6.0 * x * (1.0 - x) / (2 * _RAMP_DECADES))
    steepness = 2.4 * shape - 3.7 + 2.5 * tanh(1.5 * shape - 4.65)
    square = steepness * steepness + 0.25
    per_re = 0.01 * exp(0.5 * log(square))
    length = (6.54 * shape - 14.07) / (shape * shape)
    gap = shape - 4.0
    rate_scale = 0.5 * (0.058 * gap * gap / (shape - 1.0) - 0.068 + length)
    return onset * per_re * maximum(rate_scale, 0.0)
