"""Where a laminar layer turns turbulent: rate of amplification, intermittency, the shear it starts with."""

import numpy as np

from wingtool.boundary_layer.amplification import theta_amplification_rate
from wingtool.boundary_layer.cells import Stations, TurbulentTerms
from wingtool.boundary_layer.dual import Dual, maximum, variables
from wingtool.boundary_layer.turbulent import LAG_RATE, SHEAR_AT_TRANSITION


def amplification_rate(at: Stations, viscosity: np.ndarray | float):
    """dN/ds at laminar stations as a `Dual` against theta, displacement, shear, speed."""
    theta, displacement, _, speed = variables(at.theta, at.displacement, at.shear, at.speed)
    return (
        theta_amplification_rate(displacement / theta, maximum(speed * theta * (1 / viscosity), 1.0)) / theta
    )


def starting_shear(turbulent: TurbulentTerms, at: Stations) -> Dual:
    """sqrt(C_tau) with which a turbulent layer starts: part of that in equilibrium, which its lag tells."""
    shear = variables(at.theta, at.displacement, at.shear, at.speed)[2]
    return SHEAR_AT_TRANSITION * (turbulent.lag_source * (2 / LAG_RATE) + shear)


def intermittency(place: np.ndarray, transition: np.ndarray | float) -> tuple[np.ndarray, np.ndarray]:
    """Part of the time that stations are turbulent, and its slope against the place of transition.

    Places are counted in cells. A sharp change is seen by a station through a hat over the two cells beside
    it: the change moves smoothly from station to station, and its middle stays where transition is (second
    order in the step).
    """
    z = np.clip(place - transition, -1.0, 1.0)
    gamma = np.where(z < 0, 0.5 * (1 + z) ** 2, 1 - 0.5 * (1 - z) ** 2)
    return gamma, -(1 - np.abs(z))
