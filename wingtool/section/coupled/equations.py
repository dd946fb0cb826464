"""Residuals of coupled flows and their exact slopes, all stations of all cases at once.

Three equations belong to each station: momentum, shape and shear of the cell that ends there. The first
station of each side obeys the stagnation flow, the first of the wake gathers both sides and the base. One
more equation for each side places the transition point. Slopes are against theta, shear, mass defect and
edge speed at both ends of the cell; the edge speed's own answer to all mass defects comes in
`wingtool.section.coupled.step`.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.boundary_layer import (
    STAGNATION_H,
    STAGNATION_THETA,
    Dual,
    Stations,
    amplification_rate,
    intermittency,
    laminar_terms,
    partly_turbulent,
    starting_shear,
    surface_balance,
    turbulent_terms,
)
from wingtool.section.coupled.case import LEAST_SPEED, LOWER, UPPER, WAKE
from wingtool.section.coupled.stack import Stack

LEAST_RATE = 1.0  # dN/ds [1/chord] below which the transition equation would send its point off to nowhere
LEAST_GRADIENT = 1e-3
THETA, SHEAR, MASS, SPEED = range(4)
MOMENTUM, SHAPE, LAG = range(3)


@dataclass(frozen=True, eq=False)
class Amplified:
    """Transition equations of both sides: amplification at the point less the critical one, with slopes.

    Parameters
    ----------
    residual, d_transition : ndarray, shape (n, 2)
    slopes : ndarray, shape (4, n, S)
        Of the side's own equation, against its stations.
    least : ndarray, shape (n, 2)
        Smallest growth over a cell that a step may count on.
    """

    residual: np.ndarray
    d_transition: np.ndarray
    slopes: np.ndarray
    least: np.ndarray


@dataclass(frozen=True, eq=False)
class Equations:
    """Residuals and slopes of n cases, stations in the order of the flow.

    Parameters
    ----------
    residual : ndarray, shape (3, n, S)
    own, upstream : ndarray, shape (3, 4, n, S)
        Slopes against the station itself and against the one that it follows.
    base : ndarray, shape (3, 4, n)
        Slopes of the wake's first station against the tail of the lower side.
    by_transition : ndarray, shape (3, n, S)
        Slopes against the place of transition of the station's own side.
    start : ndarray, shape (n, 4)
        Slopes of the momentum equation of both first stations against the speeds about the stagnation point.
    amplified : Amplified
    speed, displacement : ndarray, shape (n, S)
        At the edge, positive downstream; displacement thickness without dead air.
    """

    residual: np.ndarray
    own: np.ndarray
    upstream: np.ndarray
    base: np.ndarray
    by_transition: np.ndarray
    start: np.ndarray
    amplified: Amplified
    speed: np.ndarray
    displacement: np.ndarray


def speed_of(stack: Stack) -> np.ndarray:
    """Edge speed of the stack's mass defects, positive downstream, shape (n, S)."""
    return stack.ue_inviscid + (stack.influence @ stack.mass[:, :, None])[:, :, 0]


def equations(stack: Stack, inv_dt: np.ndarray | float = 0.0, speed: np.ndarray | None = None) -> Equations:
    """All residuals and slopes; `inv_dt`, shape (n,), is one over a pseudo-time step, see `_pseudo_time`."""
    raw = speed_of(stack) if speed is None else speed
    rows = np.arange(len(raw))[:, None]
    held = np.maximum(raw, LEAST_SPEED)
    displacement = stack.mass / held - stack.wake_gap
    displacement[rows, stack.first] = STAGNATION_H * stack.theta[rows, stack.first]
    held[rows, stack.first] = raw[rows, stack.first]
    stations = Stations(
        *(part.ravel() for part in (stack.theta, displacement, stack.shear, held, stack.wake_gap))
    )
    residual, own, upstream, by_transition, start = _cells(stack, stations)
    inv_dt = np.broadcast_to(inv_dt, len(raw))
    if np.any(inv_dt > 0):
        _pseudo_time(own, inv_dt[:, None] * stack.step * held)
    by_speed = _stagnation(stack, raw, residual, own, upstream, start)
    base = _wake_start(stack, residual, own, upstream)
    amplified = _amplified(stack, stations)
    first = stack.count == 0
    first &= stack.side != WAKE
    over = np.where(first, 0.0, 1.0 / np.where(first, 1.0, held))
    _to_mass(own, over, displacement + stack.wake_gap, first)
    followed = [part[rows, stack.upstream] for part in (over, displacement + stack.wake_gap, first)]
    _to_mass(upstream, *followed)
    _to_mass(amplified.slopes[None], over, displacement + stack.wake_gap, first)
    _masses(stack, residual, own, upstream, base, held, displacement)
    return Equations(residual, own, upstream, base, by_transition, by_speed, amplified, held, displacement)


def _cells(stack: Stack, stations: Stations):
    """Balance of the cells that end at all stations, and the shear prescribed at first stations.

    The cell at a side's first station has length 0; its balance, and that of the wake's first station, are
    overwritten by boundary conditions.
    """
    shape, size = stack.shape, stack.theta.size
    per_station = np.repeat(
        np.concatenate([stack.viscosity, stack.roughness_theta], axis=1), shape[1], axis=0
    )
    viscosity, roughness = per_station.T
    place = np.concatenate([stack.transition, np.full((shape[0], 1), -2.0)], axis=1)
    place = place[np.arange(shape[0])[:, None], stack.side]
    turbulent_share, d_transition = (part.ravel() for part in intermittency(stack.count, place))
    laminar = laminar_terms(stations, viscosity)
    turbulent = turbulent_terms(stations, viscosity, stack.side.ravel() == WAKE)
    terms = partly_turbulent(laminar, turbulent, turbulent_share)
    start = starting_shear(turbulent, stations)
    start = start.chain(np.log(start.value), 1.0 / start.value)
    follows = (stack.upstream + shape[1] * np.arange(shape[0])[:, None]).ravel()
    balance = surface_balance(
        terms.take(follows),
        terms,
        Dual(start.value, np.vstack([start.derivative, np.zeros(size)])),
        (turbulent_share[follows], turbulent_share),
        stack.step.ravel(),
        roughness,
    )
    by_transition = balance.upstream[:, 4] * d_transition[follows] + balance.downstream[:, 4] * d_transition
    by_transition = by_transition.reshape(3, *shape)
    by_transition[:, :, stack.nodes :] = 0.0
    idle = turbulent.log_shear - start
    own, upstream = (side[:, :4].reshape(3, 4, *shape) for side in (balance.downstream, balance.upstream))
    idle = Dual(idle.value.reshape(shape), idle.derivative.reshape(4, *shape))
    residual = balance.residual.reshape(3, *shape)
    return residual, own, upstream, by_transition, idle


def _pseudo_time(own: np.ndarray, rate: np.ndarray) -> None:
    """Slopes of the unsteady terms of momentum and energy equation, which hold a step back.

    Per unit length they are u d(delta)/dt and u d(theta + delta)/dt (delta the displacement thickness);
    the shape equation has their difference, the first times H*, here 1.6 (a slope only: the answer is not
    touched).
    """
    own[MOMENTUM, 1] += rate
    own[SHAPE, 0] += rate
    own[SHAPE, 1] -= 0.6 * rate


def _amplified(stack: Stack, stations: Stations) -> Amplified:
    """Amplification at the transition points, from the stations before them.

    Gathered by the two-step Adams-Bashforth rule. The station just before the point is already partly
    turbulent. In that measure its own rate is replaced by that which runs straight on from the two before it.
    """
    shape, sides = stack.shape, np.arange(2)[None, :]
    rows = np.arange(shape[0])[:, None]
    rate = amplification_rate(stations, np.repeat(stack.viscosity[:, 0], shape[1]))
    along = rate.value.reshape(shape)[rows[:, :, None], stack.side_at]
    cell = np.clip(np.floor(stack.transition), 1, stack.side_size - 2).astype(int)
    last = stack.transition - cell
    number = np.arange(stack.nodes)
    reach = stack.side_step * np.where(number == cell[..., None], last[..., None], number < cell[..., None])
    before = np.concatenate([stack.side_step[..., :1], stack.side_step[..., :-1]], axis=-1)
    bend = np.where(reach > 0, 0.5 * reach * reach / np.where(before > 0, before, 1.0), 0.0)
    bend[..., 0] = 0.0
    share = reach + bend
    share[..., :-1] -= bend[..., 1:]

    def at(values, back):
        return values[rows, sides, np.maximum(cell - back, 0)]

    touched = np.where(cell >= 2, np.clip(1.0 - last, 0.0, 1.0), 0.0)
    mix, mix_slope = touched * touched * (3 - 2 * touched), -6 * touched * (1 - touched)
    ratio = at(stack.side_step, 1) / at(stack.side_step, 2)
    straight_on = at(along, 1) + ratio * (at(along, 1) - at(along, 2))
    d_transition = at(share, 0) * mix_slope * (straight_on - at(along, 0))
    here = (1 - mix) * at(along, 0) + mix * straight_on
    moved = mix * at(share, 0)
    for back, part in ((0, -moved), (1, moved * (1 + ratio)), (2, -moved * ratio)):
        share[rows, sides, np.maximum(cell - back, 0)] += part
    slope = (here - at(along, 1)) / at(stack.side_step, 1)
    d_transition += (here + last * at(stack.side_step, 0) * slope) * at(stack.side_step, 0)
    on_side = np.where(stack.side == WAKE, 0, stack.side)
    weight = np.where(stack.side == WAKE, 0.0, share[rows, on_side, stack.count])
    slopes = rate.derivative.reshape(4, *shape) * weight
    residual = (share * along).sum(axis=-1) - stack.critical
    return Amplified(residual, d_transition, slopes, LEAST_RATE * at(stack.side_step, 0))


def stagnation_slope(arc: np.ndarray, gamma: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Speed gradient at stagnation points, shape (n,), and its slopes against the four speeds, (n, 4).

    Parabolas through three nodes give the gradient at the two nodes beside the point; between them it
    runs linearly, so that it does not jump as the point passes a node. Arc length and signed speed of the
    four nodes about the point: shape (n, 4).
    """
    step = np.diff(arc, axis=1)
    rows = np.zeros((len(arc), 2, 4))
    for row in range(2):
        one, two = step[:, row], step[:, row + 1]
        rows[:, row, row] = -two / one
        rows[:, row, row + 1] = two / one - one / two
        rows[:, row, row + 2] = one / two
        rows[:, row] /= -(one + two)[:, None]
    fall = gamma[:, 1] - gamma[:, 2]
    share = np.clip(gamma[:, 1] / fall, 0.0, 1.0)
    gradients = (rows * gamma[:, None]).sum(axis=2)
    slopes = (1 - share)[:, None] * rows[:, 0] + share[:, None] * rows[:, 1]
    jump = np.where((share > 0) & (share < 1), (gradients[:, 1] - gradients[:, 0]) / fall**2, 0.0)
    slopes[:, 1] -= jump * gamma[:, 2]
    slopes[:, 2] += jump * gamma[:, 1]
    return (1 - share) * gradients[:, 0] + share * gradients[:, 1], slopes


def _stagnation(stack, speed, residual, own, upstream, idle) -> np.ndarray:
    """Stagnation flow at the first station of both sides: theta^2 = 0.0855 viscosity / gradient."""
    rows = np.arange(len(speed))
    gamma = stack.beside_sign * speed[rows[:, None], stack.beside]
    gradient, slopes = stagnation_slope(stack.beside_arc, gamma)
    gradient = np.maximum(gradient, LEAST_GRADIENT)
    theta = np.sqrt(STAGNATION_THETA * stack.viscosity[:, 0] / gradient)
    for which in (UPPER, LOWER):
        at = (rows, stack.first[:, which])
        upstream[:, :, *at] = 0.0
        own[MOMENTUM][:, *at] = 0.0
        residual[MOMENTUM][at] = stack.theta[at] - theta
        own[MOMENTUM, THETA][at] = 1.0
        residual[LAG][at] = idle.value[at]
        own[LAG][:, *at] = idle.derivative[:, *at]
    return (0.5 * theta / gradient)[:, None] * slopes * stack.beside_sign


def _wake_start(stack, residual, own, upstream) -> np.ndarray:
    """First station of the wake: both layers and the base, shear weighted by momentum thickness."""
    rows, wake = np.arange(len(stack.theta)), stack.nodes
    (theta_up, theta_low), (shear_up, shear_low) = (
        values[rows[:, None], stack.tail].T for values in (stack.theta, stack.shear)
    )
    theta = theta_up + theta_low
    shear = (shear_up * theta_up + shear_low * theta_low) / theta
    residual[MOMENTUM, :, wake] = stack.theta[:, wake] - theta
    residual[LAG, :, wake] = stack.shear[:, wake] - shear
    own[:, :, :, wake] = upstream[:, :, :, wake] = 0.0
    own[MOMENTUM, THETA, :, wake] = own[LAG, 2, :, wake] = 1.0
    upstream[MOMENTUM, THETA, :, wake] = -1.0
    upstream[LAG, 2, :, wake] = -theta_up / theta
    upstream[LAG, THETA, :, wake] = -(shear_up - shear) / theta
    base = np.zeros((3, 4, len(rows)))
    base[MOMENTUM, THETA] = -1.0
    base[LAG, SHEAR] = -theta_low / theta
    base[LAG, THETA] = -(shear_low - shear) / theta
    return base


def _to_mass(slopes, over, thickness, first) -> None:
    """Slopes against theta, displacement, shear, speed into those against theta, shear, mass, speed."""
    displacement = slopes[:, 1].copy()
    slopes[:, 1] = slopes[:, 2]
    slopes[:, 2] = displacement * over
    slopes[:, 3] -= slopes[:, 2] * thickness
    slopes[:, 0] += displacement * np.where(first, STAGNATION_H, 0.0)


def _masses(stack, residual, own, upstream, base, speed, displacement) -> None:
    """Mass defect of the first stations: it stands where other stations have the shape equation."""
    rows, wake = np.arange(len(speed)), stack.nodes
    for which in (UPPER, LOWER):
        at = (rows, stack.first[:, which])
        residual[SHAPE][at] = stack.mass[at] - speed[at] * displacement[at]
        own[SHAPE, THETA][at], own[SHAPE, SHEAR][at] = -speed[at] * STAGNATION_H, 0.0
        own[SHAPE, MASS][at], own[SHAPE, SPEED][at] = 1.0, -displacement[at]
    gap, mass = stack.wake_gap[:, wake], stack.mass
    tails = mass[rows, stack.tail[:, UPPER]] + mass[rows, stack.tail[:, LOWER]]
    residual[SHAPE, :, wake] = mass[:, wake] - tails - speed[:, wake] * gap
    own[SHAPE, :, :, wake] = upstream[SHAPE, :, :, wake] = 0.0
    own[SHAPE, MASS, :, wake], own[SHAPE, SPEED, :, wake] = 1.0, -gap
    upstream[SHAPE, MASS, :, wake] = base[SHAPE, MASS] = -1.0
