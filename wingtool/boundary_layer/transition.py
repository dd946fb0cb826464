"""Where a laminar layer turns turbulent: amplification gathered along it, and the state at the point.

Amplification is gathered by the two-step Adams-Bashforth rule (second order). It looks upstream only, so that
the point moves without a jump from one cell into the next and never depends on the layer that follows it.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.boundary_layer.amplification import theta_amplification_rate
from wingtool.boundary_layer.cells import Stations, TurbulentTerms, turbulent_terms
from wingtool.boundary_layer.dual import Dual, maximum, variables
from wingtool.boundary_layer.turbulent import LAG_RATE, SHEAR_AT_TRANSITION


def amplification_rate(at: Stations, viscosity: np.ndarray | float):
    """dN/ds at laminar stations as a `Dual` against theta, displacement, shear, speed."""
    theta, displacement, _, speed = variables(at.theta, at.displacement, at.shear, at.speed)
    return (
        theta_amplification_rate(displacement / theta, maximum(speed * theta * (1 / viscosity), 1.0)) / theta
    )


def adams_weights(step: np.ndarray, last: float = 1.0) -> np.ndarray:
    """Weights of dN/ds at the near station of each cell and at the one before it, shape ``(2, n)``.

    The last cell may be taken as a part `last` of its length.
    """
    reach = step.copy()
    reach[-1:] *= last
    before = np.concatenate([step[:1], step[:-1]])
    half = 0.5 * reach * reach / before
    half[0] = 0.0
    return np.stack([reach + half, -half])


def starting_shear(turbulent: TurbulentTerms, at: Stations) -> Dual:
    """sqrt(C_tau) with which a turbulent layer starts: part of that in equilibrium, which its drive tells."""
    slope = turbulent.drive.slope * (2 / LAG_RATE)
    slope[2] += 1.0  # against the shear itself
    equilibrium = Dual(turbulent.drive.value * (2 / LAG_RATE) + at.shear, slope)
    return SHEAR_AT_TRANSITION * equilibrium


def _stations(rows: np.ndarray) -> Stations:
    return Stations(rows[0], rows[1], rows[2], rows[3], np.zeros_like(rows[0]))


def intermittency(place: np.ndarray, transition: np.ndarray | float) -> tuple[np.ndarray, np.ndarray]:
    """Part of the time that stations are turbulent, and its slope against the place of transition.

    Places are counted in cells. A sharp change is seen by a station through a hat over the two cells beside
    it: the change moves smoothly from station to station, and its middle stays where transition is (second
    order in the step).
    """
    z = np.clip(place - transition, -1.0, 1.0)
    gamma = np.where(z < 0, 0.5 * (1 + z) ** 2, 1 - 0.5 * (1 - z) ** 2)
    return gamma, -(1 - np.abs(z))


@dataclass(frozen=True, eq=False)
class Point:
    """Transition point inside cells: a part `fraction` of the way from the near to the far station.

    Slopes of its state (theta, displacement, shear, speed) have shape ``(4, 4, n)`` against the state at
    the near and far station.
    """

    state: Stations
    upstream: np.ndarray
    downstream: np.ndarray


def point_between(
    upstream: Stations,
    downstream: Stations,
    fraction: np.ndarray,
    viscosity: np.ndarray | float,
    roughness_theta: np.ndarray | float = 0.0,
) -> tuple[Point, Point]:
    """State at the transition point at the end of the laminar part and at the start of the turbulent part.

    theta, displacement and speed run linearly between the stations, as in Drela & Giles (1987).
    `roughness_theta` is momentum thickness that a rough nose adds there, in a layer of shape factor 1.4.
    """
    size = len(fraction)
    eye = np.eye(4)[:, :, None] * np.ones(size)
    eye[2] = 0.0
    rows = ("theta", "displacement", "shear", "speed")
    one, other = (np.stack([getattr(side, row) for row in rows]) for side in (upstream, downstream))
    mixed = (1 - fraction) * one + fraction * other
    laminar = Point(_stations(mixed), (1 - fraction) * eye, fraction * eye)
    grown = mixed.copy()
    grown[0] += roughness_theta
    grown[1] += 1.4 * roughness_theta
    start = starting_shear(turbulent_terms(_stations(grown), viscosity), _stations(grown))
    grown[2] = start.value
    into = eye.copy()
    into[2] = start.slope
    turbulent = Point(_stations(grown), (1 - fraction) * into, fraction * into)
    return laminar, turbulent
