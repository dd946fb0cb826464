"""A first guess of the layers from the inviscid edge speed, by quadrature.

Heuristic: the three numbers below (own choice) affect only whether the iteration starts.
"""

import numpy as np

from wingtool.boundary_layer import Stations, amplification_rate
from wingtool.section.coupled.case import Case, Ordering, State, order

_LEAST_SPEED = 0.3  # at the tail
SHAPE_LAG = 0.1  # [chord] over which H follows the pressure
_TAIL = 0.06  # over this length before the tail the layer keeps the flow from slowing to rest


def first_guess(case: Case) -> State:
    """Laminar layer by Thwaites (1949), turbulent by Spence (J. Aero. Sci. 23, 1956), a decaying wake."""
    gamma = case.response.ue_inviscid[: case.nodes]
    stagnation_node = int(np.argmax((gamma[:-1] > 0) & (gamma[1:] <= 0) & (np.arange(case.nodes - 1) > 1)))
    stations = len(case.response.ue_inviscid)
    ordering = order(case.nodes, stations, stagnation_node)
    theta, displacement = np.empty(stations), np.empty(stations)
    speed = ordering.sign * case.response.ue_inviscid
    transition = np.zeros(2)
    for which in (0, 1):
        side = ordering.part(which)
        theta[side], displacement[side], transition[which], speed[side] = _side(
            case, ordering, which, stagnation_node
        )
    _wake(case, ordering, theta, displacement, speed)
    mass = ordering.sign * speed * (displacement + case.wake_gap)
    return State(theta, np.full(stations, 0.05), mass, transition, stagnation_node)


def _side(case: Case, ordering: Ordering, which: int, stagnation_node: int):
    from scipy.integrate import cumulative_trapezoid

    side = ordering.part(which)
    arc = case.response.arc[side]
    speed = np.abs(case.response.ue_inviscid[side])
    start = arc[0]
    s = np.abs(arc - start) + 0.5 * abs(arc[1] - arc[0])
    at_tail = np.interp(s[-1] - _TAIL, s, speed)
    late = s > 0.3
    speed[late] = np.maximum(speed[late], max(at_tail, _LEAST_SPEED))
    speed = np.maximum(speed, 1e-3)

    def integral(f):
        return f[0] * s[0] / 6 + cumulative_trapezoid(f, s, initial=0.0)

    theta = np.sqrt(0.45 * case.viscosity * integral(speed**5) / speed**6)
    gradient = np.gradient(speed, s)
    fall = np.clip(theta**2 * gradient / case.viscosity, -0.085, 0.09)
    shape = np.where(fall > 0, 2.61 - 3.75 * fall + 5.24 * fall**2, 2.088 + 0.0731 / (0.14 + fall))
    trip = case.trip[1] - stagnation_node - 1 if which else stagnation_node - case.trip[0]
    separated = np.nonzero((fall <= -0.085) & (np.arange(len(s)) > 2))[0]
    at = int(np.clip(np.ceil(trip), 1, len(s) - 1))
    if len(separated):
        at = min(at, int(separated[0]) + 2)
    at = min(at, _amplified_at(case, theta, shape * theta, speed, s))
    at = min(max(at, 1), len(s) - 2)
    grown = 0.0106 * case.viscosity**0.2 * (integral(speed**4) - integral(speed**4)[at])
    turbulent = ((theta[at] ** 1.2 * speed[at] ** 4 + np.maximum(grown, 0)) / speed**4) ** (1 / 1.2)
    later = np.arange(len(s)) > at
    theta = np.where(later, turbulent, theta)
    shape = np.where(later, _turbulent_shape(case, turbulent, speed, s, s[at]), shape)
    return theta, shape * theta, at + 0.5, speed


def _turbulent_shape(case: Case, theta, speed, s, start):
    """H of a turbulent layer from Buri's parameter (1931), 1.4 on a plate, 2.4 near separation.

    It follows with a lag of a tenth of the chord: a guess with kinks would be a row of strong sources.
    """
    from scipy.integrate import cumulative_trapezoid

    parameter = theta / speed * np.gradient(speed, s) * (speed * theta / case.viscosity) ** 0.25
    wanted = np.clip(1.4 - 20.0 * parameter, 1.35, 3.0) - 1.4
    run = np.maximum(s - start, 0.0) / SHAPE_LAG
    weighted = wanted * np.exp(run)
    return 1.4 + cumulative_trapezoid(weighted, run, initial=0.0) * np.exp(-run)


def _amplified_at(case: Case, theta, displacement, speed, s) -> int:
    """First station of a side at which amplification has passed its critical value."""
    from scipy.integrate import cumulative_trapezoid

    layer = Stations(theta, displacement, np.full_like(theta, 0.03), speed, np.zeros_like(theta))
    rate = amplification_rate(layer, case.viscosity).value
    over = np.nonzero(cumulative_trapezoid(rate, s, initial=0.0) > case.critical)[0]
    return int(over[0]) if len(over) else len(theta)


def _wake(case: Case, ordering: Ordering, theta, displacement, speed):
    wake, arc = ordering.wake, case.response.arc[ordering.wake]
    one, other = ordering.upper[-1], ordering.lower[-1]
    at_tail = 0.5 * (speed[one] + speed[other])
    speed[wake] = 1.0 + (at_tail - 1.0) * np.exp(-arc / 0.2)
    first = theta[one] + theta[other]
    theta[wake] = first * (speed[wake[0]] / speed[wake]) ** 3.2
    shape = 1.05 + ((displacement[one] + displacement[other]) / first - 1.05) * np.exp(-arc / 0.2)
    displacement[wake] = shape * theta[wake]
    displacement[wake[0]] = displacement[one] + displacement[other]
