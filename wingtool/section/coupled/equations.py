"""Residuals of the coupled flow and their exact slopes, all stations at once.

Three equations belong to each station: momentum, shape and shear of the cell that ends there. The first
station of each side obeys the stagnation flow, the first of the wake gathers both sides and the base. One
more equation for each side places the transition point. Slopes are against theta, shear, mass defect and
edge speed at both ends of the cell; the edge speed's own answer to all mass defects comes in
`coupled.step`.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.boundary_layer import (
    STAGNATION_H,
    STAGNATION_THETA,
    Dual,
    adams_weights,
    amplification_rate,
    intermittency,
    laminar_terms,
    partly_turbulent,
    starting_shear,
    surface_balance,
    turbulent_terms,
)
from wingtool.section.coupled.case import Case, Edge, Order, State

LEAST_SPEED = 1e-4
LEAST_RATE = 1.0  # dN/ds [1/chord] below which the transition equation would send its point off to nowhere
THETA, SHEAR, MASS, SPEED = range(4)


@dataclass(frozen=True, eq=False)
class Equations:
    """Residuals (3, S), and slopes (3, 4, S) against the stations `upstream` and the station itself.

    `base` holds slopes against the second near station of the wake's first station, `base_at`.
    `by_transition` (3, S, 2): slopes against the places of transition. `start` holds slopes of the first
    theta of both sides against the surface speeds at `start_at`. `amplified`: one `Amplified` for each side.
    """

    residual: np.ndarray
    upstream_at: np.ndarray
    upstream: np.ndarray
    downstream: np.ndarray
    base_at: int
    base: np.ndarray
    by_transition: np.ndarray
    start_at: np.ndarray
    start: np.ndarray
    amplified: tuple["Amplified", "Amplified"]


@dataclass(frozen=True, eq=False)
class Amplified:
    """Transition equation of one side: amplification at its point less the critical one, with slopes.

    `least` is the smallest growth over a cell that a step may count on.
    """

    residual: float
    by_place: float
    stations: np.ndarray
    slopes: np.ndarray
    least: float


def stagnation_slope(arc: np.ndarray, gamma: np.ndarray, stagnation_node: int):
    """Speed gradient at the stagnation point, the nodes it depends on, and its slopes against their speed.

    Parabolas through three nodes give the gradient at the two nodes beside the point; between them it
    runs linearly, so that it does not jump as the point passes a node.
    """
    at = np.arange(stagnation_node - 1, stagnation_node + 3)
    s, g = arc[at], gamma[at]
    rows = np.zeros((2, 4))
    for row in range(2):
        one, two = s[row + 1] - s[row], s[row + 2] - s[row + 1]
        rows[row, row : row + 3] = [two / one, one / two - two / one, -one / two]
        rows[row] /= one + two
    fall = g[1] - g[2]
    share = np.clip(g[1] / fall, 0.0, 1.0)
    gradients = rows @ g
    slopes = (1 - share) * rows[0] + share * rows[1]
    if 0.0 < share < 1.0:
        jump = gradients[1] - gradients[0]
        slopes[1] -= jump * g[2] / fall**2
        slopes[2] += jump * g[1] / fall**2
    return (1 - share) * gradients[0] + share * gradients[1], at, slopes


def edge(case: Case, state: State, ordering: Order) -> Edge:
    """Edge speed and layer displacement of a state."""
    gamma = case.response.ue_inviscid + case.response.influence @ state.mass
    speed = ordering.sign * gamma
    starts = [ordering.upper[0], ordering.lower[0]]
    displacement = ordering.sign * state.mass / np.maximum(speed, LEAST_SPEED) - case.dead_air
    displacement[starts] = STAGNATION_H * state.theta[starts]
    others = np.maximum(speed, LEAST_SPEED)
    others[starts] = speed[starts]
    return Edge(gamma, others, displacement)


def equations(case: Case, state: State, ordering: Order, inv_dt: float = 0.0) -> Equations:
    """All residuals and slopes of a state; `inv_dt` is one over a time step, see `_pseudo_time`."""
    at = edge(case, state, ordering)
    stations = at.stations(case, state)
    size = len(state.theta)
    residual, upstream, downstream = np.zeros((3, size)), np.zeros((3, 4, size)), np.zeros((3, 4, size))
    by_transition = np.zeros((3, size, 2))
    upstream_at = np.zeros(size, dtype=int)
    upstream_at[ordering.downstream] = ordering.upstream

    parts = _parts(state, ordering)
    cells, idle = _cells(case, ordering, stations, parts)
    residual[:, ordering.downstream] = cells.residual
    upstream[:, :, ordering.downstream], downstream[:, :, ordering.downstream] = (
        cells.upstream[:, :4],
        cells.downstream[:, :4],
    )
    for which in (0, 1):
        slope = parts[1][:, which]
        by_transition[:, ordering.downstream, which] = (
            cells.upstream[:, 4] * slope[ordering.upstream]
            + cells.downstream[:, 4] * slope[ordering.downstream]
        )
    if inv_dt > 0:
        _pseudo_time(downstream, case, ordering, stations, inv_dt)
    start_at, start = _starts(residual, downstream, case, state, at, ordering, idle)
    base_at, base = _gather(residual, upstream, downstream, upstream_at, state, ordering)
    amplified = (
        _amplified(case, state, stations, ordering, 0),
        _amplified(case, state, stations, ordering, 1),
    )
    _to_mass(upstream, upstream_at, at, case, ordering)
    _to_mass(downstream, np.arange(size), at, case, ordering)
    for side in amplified:
        _to_mass(side.slopes[None], side.stations, at, case, ordering)
    _masses(residual, upstream, downstream, case, state, at, ordering, base)
    return Equations(
        residual, upstream_at, upstream, downstream, base_at, base, by_transition, start_at, start, amplified
    )


def _parts(state: State, ordering: Order) -> tuple[np.ndarray, np.ndarray]:
    """Turbulent part of each station, and its slopes against both places of transition."""
    part, slope = np.ones(len(state.theta)), np.zeros((len(state.theta), 2))
    for which in (0, 1):
        side = ordering.side(which)
        part[side], slope[side, which] = intermittency(np.arange(len(side)), state.transition[which])
    return part, slope


def _cells(case, ordering, stations, parts):
    """Balance of all cells, those of the wake as wholly turbulent; and where an idle shear stands."""
    laminar = laminar_terms(stations, case.viscosity)
    turbulent = turbulent_terms(stations, case.viscosity, np.arange(len(parts[0])) >= case.nodes)
    terms = partly_turbulent(laminar, turbulent, parts[0])
    start = starting_shear(turbulent, stations)
    start = start.chain(np.log(start.value), 1.0 / start.value)
    whole = np.vstack([start.slope, np.zeros(len(parts[0]))])
    upstream, downstream = ordering.upstream, ordering.downstream
    balance = surface_balance(
        terms.take(upstream),
        terms.take(downstream),
        Dual(start.value[downstream], whole[:, downstream]),
        (parts[0][upstream], parts[0][downstream]),
        np.abs(case.response.arc[downstream] - case.response.arc[upstream]),
        case.roughness_theta,
    )
    return balance, (terms.log_shear, start)


def _pseudo_time(downstream, case, ordering, stations, inv_dt):
    """Slopes of the unsteady terms of momentum and energy equation, which hold a step back.

    Per unit length they are u d(delta)/dt and u d(theta + delta)/dt (delta the displacement thickness);
    the shape equation has their difference, the first times H*, here 1.6 (a slope only: the answer is not
    touched).
    """
    step = np.abs(case.response.arc[ordering.downstream] - case.response.arc[ordering.upstream])
    rate = inv_dt * step * stations.speed[ordering.downstream]
    downstream[0, 1, ordering.downstream] += rate
    downstream[1, 0, ordering.downstream] += rate
    downstream[1, 1, ordering.downstream] -= 0.6 * rate


def _amplified(case, state, stations, ordering, which) -> Amplified:
    """Amplification at the transition point, from the stations before it.

    The station just before it is already partly turbulent. In that measure its own rate is replaced by
    that which runs straight on from the two before it.
    """
    side = ordering.side(which)
    step = np.abs(np.diff(case.response.arc[side]))
    transition = state.transition[which]
    cell = int(np.clip(np.floor(transition), 1, len(step) - 1))
    index = side[: cell + 1]
    rate = amplification_rate(stations.take(index), case.viscosity)
    weights = adams_weights(step[: cell + 1], transition - cell)
    share = weights[0].copy()
    share[:-1] += weights[1][1:]
    touched = np.clip(1.0 - (transition - cell), 0.0, 1.0)
    mix, mix_slope = touched * touched * (3 - 2 * touched), -6 * touched * (1 - touched)
    value = rate.value.copy()
    by_place = 0.0
    if cell >= 2:
        ratio = step[cell - 1] / step[cell - 2]
        extrapolate = value[cell - 1] + ratio * (value[cell - 1] - value[cell - 2])
        by_place += share[cell] * mix_slope * (extrapolate - value[cell])
        value[cell] = (1 - mix) * value[cell] + mix * extrapolate
        last = share[cell]
        share[cell] = (1 - mix) * last
        share[cell - 1] += mix * last * (1 + ratio)
        share[cell - 2] -= mix * last * ratio
    total = float(share @ rate.value)
    slope = (value[cell] - value[cell - 1]) / step[cell - 1]
    local = value[cell] + (transition - cell) * step[cell] * slope
    by_place += local * step[cell]
    return Amplified(total - case.critical, by_place, index, rate.slope * share, LEAST_RATE * step[cell])


def _starts(residual, downstream, case, state, at, ordering, idle):
    """Stagnation flow at the first station of both sides: theta^2 = 0.0855 viscosity / gradient."""
    gradient, nodes, slopes = stagnation_slope(
        case.response.arc[: case.nodes], at.gamma, state.stagnation_node
    )
    gradient = max(gradient, 1e-3)
    theta = np.sqrt(STAGNATION_THETA * case.viscosity / gradient)
    log_shear, start = idle
    for first in (ordering.upper[0], ordering.lower[0]):
        residual[0, first] = state.theta[first] - theta
        downstream[0, 0, first] = 1.0
        residual[2, first] = log_shear.value[first] - start.value[first]
        downstream[2, :, first] = log_shear.slope[:4, first] - start.slope[:, first]
    return nodes, 0.5 * theta / gradient * slopes


def _gather(residual, upstream, downstream, upstream_at, state, ordering):
    """First station of the wake: both layers and the base, shear weighted by momentum thickness."""
    one, other, wake = ordering.upper[-1], ordering.lower[-1], ordering.wake[0]
    upstream_at[wake] = one
    theta = state.theta[one] + state.theta[other]
    shear = (state.shear[one] * state.theta[one] + state.shear[other] * state.theta[other]) / theta
    residual[0, wake] = state.theta[wake] - theta
    residual[2, wake] = state.shear[wake] - shear
    downstream[0, 0, wake] = downstream[2, 2, wake] = 1.0
    base = np.zeros((3, 4))
    base[0, THETA] = -1.0
    base[2, SHEAR] = -state.theta[other] / theta
    base[2, THETA] = -(state.shear[other] - shear) / theta
    upstream[0, 0, wake] = -1.0
    upstream[2, 2, wake] = -state.theta[one] / theta
    upstream[2, 0, wake] = -(state.shear[one] - shear) / theta
    return other, base


def _to_mass(slopes, stations, at, case, ordering):
    """Slopes against theta, displacement, shear, speed into those against theta, shear, mass, speed."""
    displacement = slopes[:, 1].copy()
    slopes[:, 1] = slopes[:, 2]
    first = (stations == ordering.upper[0]) | (stations == ordering.lower[0])
    over = np.where(first, 0.0, 1.0 / np.where(first, 1.0, at.speed[stations]))
    slopes[:, 2] = displacement * over
    slopes[:, 3] -= displacement * (at.displacement[stations] + case.dead_air[stations]) * over
    slopes[:, 0] += displacement * np.where(first, STAGNATION_H, 0.0)


def _masses(residual, upstream, downstream, case, state, at, ordering, base):
    """Mass defect of the first stations: it stands where other stations have the shape equation."""
    mass = ordering.sign * state.mass
    for first in (ordering.upper[0], ordering.lower[0]):
        residual[1, first] = mass[first] - at.speed[first] * at.displacement[first]
        downstream[1, :, first] = [-at.speed[first] * STAGNATION_H, 0.0, 1.0, -at.displacement[first]]
    wake, one, other = ordering.wake[0], ordering.upper[-1], ordering.lower[-1]
    gap = case.dead_air[wake]
    residual[1, wake] = mass[wake] - mass[one] - mass[other] - at.speed[wake] * gap
    downstream[1, :, wake] = [0.0, 0.0, 1.0, -gap]
    upstream[1, :, wake] = [0.0, 0.0, -1.0, 0.0]
    base[1, MASS] = -1.0
