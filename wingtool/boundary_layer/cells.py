"""Integral equations of the layer between neighbouring stations, with their exact slopes.

Momentum and energy-shape equation of Drela & Giles (AIAA J. 25(10), 1987), multiplied through by the edge
speed so that nothing is divided by it: at the stagnation point they hold exactly, whatever the step. With
theta, displacement d, shear s = sqrt(C_tau), edge speed u, and g the dead air behind a blunt tail::

    (u^2 theta)' + u (d + g) u'                        = u^2 cf/2
    u theta H*'  + H* (theta - d - g) u'               = u (2 cD - H* cf/2)
    delta (ln s)'                                      = (4.2/2) (s_eq - s)

Laminar cells take the mean of both ends (second order). In turbulent cells the weight of the far end is that
of the exponentially fitted rule for the lag equation, 1/(1 - exp(-z)) - 1/z with z = step times lag rate: one
half as the step goes to zero, one where the step is long against the lag. It follows from the equation;
nobody chooses it.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.boundary_layer.dual import Dual, log, maximum, variables, where
from wingtool.boundary_layer.laminar import laminar_closure
from wingtool.boundary_layer.turbulent import (
    LAG_RATE,
    energy_shape,
    equilibrium_shear,
    layer_thickness,
    limited_shape,
    low_h_correction,
    skin_friction,
    slip,
    wake_energy_shape,
)


@dataclass(frozen=True, eq=False)
class Stations:
    """State at stations, each array of shape ``(n,)``.

    Parameters
    ----------
    theta, displacement : ndarray
        Momentum and displacement thickness (without dead air) over the chord.
    shear : ndarray
        sqrt(C_tau); without meaning in a laminar layer.
    speed : ndarray
        Edge speed over that of the stream.
    wake_gap : ndarray
        Thickness of the dead air behind a blunt tail over the chord.
    """

    theta: np.ndarray
    displacement: np.ndarray
    shear: np.ndarray
    speed: np.ndarray
    wake_gap: np.ndarray

    def take(self, index: np.ndarray) -> "Stations":
        """The stations of an index array."""
        return Stations(*(getattr(self, name)[index] for name in self.__dataclass_fields__))


@dataclass(frozen=True, eq=False)
class Terms:
    """What the equations are made of at each station, slopes against theta, displacement, shear, speed."""

    momentum: Dual
    dstar_ue: Dual
    speed: Dual
    theta_ue: Dual
    h_star: Dual
    h_star_du: Dual
    friction: Dual
    dissipation: Dual

    def take(self, index: np.ndarray) -> "Terms":
        """The terms at the stations of an index array."""
        return Terms(*(getattr(self, name).take(index) for name in self.__dataclass_fields__))


@dataclass(frozen=True, eq=False)
class TurbulentTerms:
    """Terms of a turbulent layer: those of any layer, and those of the lag equation."""

    common: Terms
    log_shear: Dual
    thickness: Dual
    lag_source: Dual
    rate: Dual

    def take(self, index: np.ndarray) -> "TurbulentTerms":
        """The terms at the stations of an index array."""
        return TurbulentTerms(*(getattr(self, name).take(index) for name in self.__dataclass_fields__))


def wall_friction(at: Stations, viscosity: float) -> tuple[np.ndarray, np.ndarray]:
    """u^2 cf/2 of a laminar and of a turbulent layer at stations on a wall, without slopes."""
    without = np.zeros((0, len(at.theta)))
    whole = Dual(at.displacement / at.theta, without)
    re_theta = at.speed * at.theta / viscosity
    laminar = laminar_closure(whole)[1].value / re_theta
    turbulent = skin_friction(limited_shape(whole), maximum(Dual(re_theta, without), 1.0)).value
    return at.speed**2 * laminar, at.speed**2 * turbulent


def laminar_terms(at: Stations, viscosity: np.ndarray | float) -> Terms:
    """Terms of a laminar layer; `viscosity` is 1/Reynolds number."""
    theta, displacement, _, speed = variables(at.theta, at.displacement, at.shear, at.speed)
    h_star, friction, dissipation = laminar_closure(displacement / theta)
    theta_ue = speed * theta
    rate = viscosity / theta
    return Terms(
        momentum=speed * theta_ue,
        dstar_ue=speed * displacement,
        speed=speed,
        theta_ue=theta_ue,
        h_star=h_star,
        h_star_du=h_star * (theta - displacement),
        friction=speed * rate * friction,
        dissipation=rate * dissipation,
    )


def turbulent_terms(
    at: Stations, viscosity: np.ndarray | float, wake: np.ndarray | None = None
) -> TurbulentTerms:
    """Terms of a turbulent layer, and of a wake at the stations that `wake` marks.

    A wake is two layers back to back without a wall: no friction, twice the dissipation of one, and the lag
    works over the thickness of each half (derived here from the equations of one half).
    """
    wake = np.zeros(at.theta.shape, dtype=bool) if wake is None else wake
    theta, displacement, shear, speed = variables(at.theta, at.displacement, at.shear, at.speed)
    whole = displacement / theta
    shape = limited_shape(whole)
    re_theta = maximum(speed * theta * (1 / viscosity), 1.0)
    h_star = energy_shape(shape, re_theta) + low_h_correction(whole)
    if wake.any():
        h_star = where(wake, wake_energy_shape(whole, re_theta), h_star)
    inner = slip(h_star, shape)
    outer = shear * shear * (1.0 - inner)
    square = speed * speed
    half_friction = skin_friction(shape, re_theta) * np.where(wake, 0.0, 1.0)
    total = displacement + at.wake_gap
    common = Terms(
        momentum=square * theta,
        dstar_ue=speed * total,
        speed=speed,
        theta_ue=speed * theta,
        h_star=h_star,
        h_star_du=h_star * (theta - total),
        friction=square * half_friction,
        dissipation=speed * (half_friction * (2.0 * inner - h_star) + np.where(wake, 4.0, 2.0) * outer),
    )
    thickness = layer_thickness(theta, displacement, shape) * np.where(wake, 0.5, 1.0)
    return TurbulentTerms(
        common,
        log_shear=log(shear),
        thickness=thickness,
        lag_source=(equilibrium_shear(h_star, shape, inner) - shear) * (LAG_RATE / 2),
        rate=shear * (LAG_RATE / 2) / thickness,
    )


def partly_turbulent(laminar: Terms, turbulent: TurbulentTerms, intermittency: np.ndarray) -> TurbulentTerms:
    """Terms of stations that are turbulent for a share of the time; a fifth slope is against that share."""
    rest = 1.0 - intermittency

    def mixed(name):
        one, other = getattr(laminar, name), getattr(turbulent.common, name)
        both = rest * one + intermittency * other
        return Dual(both.value, np.vstack([both.derivative, other.value - one.value]))

    def plain(dual):
        return Dual(dual.value, np.vstack([dual.derivative, np.zeros_like(dual.value)]))

    rate = turbulent.rate
    return TurbulentTerms(
        Terms(*(mixed(name) for name in Terms.__dataclass_fields__)),
        log_shear=plain(turbulent.log_shear),
        thickness=plain(turbulent.thickness),
        lag_source=plain(turbulent.lag_source),
        rate=Dual(intermittency * rate.value, np.vstack([intermittency * rate.derivative, rate.value])),
    )


@dataclass(frozen=True, eq=False)
class Balance:
    """Residuals of cells, ``(e, n)``; slopes against the state at both ends, ``(e, 4, n)``."""

    residual: np.ndarray
    upstream: np.ndarray
    downstream: np.ndarray


def _step(one: Dual, other: Dual) -> Dual:
    """Change of a quantity over cells; its slopes are those against the upstream, then the downstream end."""
    return Dual(other.value - one.value, np.concatenate([-one.derivative, other.derivative]))


def _mean(one: Dual, other: Dual) -> Dual:
    return 0.5 * Dual(one.value + other.value, np.concatenate([one.derivative, other.derivative]))


def fitted_weight(z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Weight of the far end and its slope; z is step over relaxation length."""
    small = z < 0.1
    safe = np.where(small, 1.0, z)
    decay = np.exp(-safe)
    weight = 1.0 / (1.0 - decay) - 1.0 / safe
    slope = 1.0 / (safe * safe) - decay / (1.0 - decay) ** 2
    return (
        np.where(small, 0.5 + z / 12 - z**3 / 720, weight),
        np.where(small, 1 / 12 - z * z / 240, slope),
    )


def turbulent_balance(upstream: TurbulentTerms, downstream: TurbulentTerms, step: np.ndarray) -> Balance:
    """Momentum, shape and lag equation of turbulent or wake cells."""
    one, other = upstream.common, downstream.common
    z = _mean(upstream.rate, downstream.rate) * step
    weight = z.chain(*fitted_weight(z.value))

    def fitted(near: Dual, far: Dual) -> Dual:
        begin = Dual(near.value, np.concatenate([near.derivative, np.zeros_like(far.derivative)]))
        return begin + weight * _step(near, far)

    faster = _step(one.speed, other.speed)
    momentum = (
        _step(one.momentum, other.momentum)
        + _mean(one.dstar_ue, other.dstar_ue) * faster
        - _mean(one.friction, other.friction) * step
    )
    shape = (
        _mean(one.theta_ue, other.theta_ue) * _step(one.h_star, other.h_star)
        + _mean(one.h_star_du, other.h_star_du) * faster
        - fitted(one.dissipation, other.dissipation) * step
    )
    thickness = _mean(upstream.thickness, downstream.thickness)
    lag = thickness * _step(upstream.log_shear, downstream.log_shear)
    lag = lag - fitted(upstream.lag_source, downstream.lag_source) * step
    rows = (momentum, shape, lag)
    slopes = np.stack([row.derivative for row in rows])
    ends = np.split(slopes, [slopes.shape[1] // 2], axis=1)
    return Balance(np.stack([row.value for row in rows]), *ends)


def surface_balance(
    upstream: TurbulentTerms,
    downstream: TurbulentTerms,
    start: Dual,
    intermittency: tuple[np.ndarray, np.ndarray],
    step: np.ndarray,
    roughness_theta: np.ndarray | float = 0.0,
) -> Balance:
    """Three equations of cells; both stations of each are turbulent for `intermittency` of the time.

    As far as the downstream station is turbulent its shear obeys the lag equation; as far as it is laminar,
    its logarithm is that with which a turbulent layer would start, `start`, with slopes like the terms.
    `roughness_theta` is momentum thickness that a rough nose adds at transition.
    """
    whole = turbulent_balance(upstream, downstream, step)
    idle = downstream.thickness * (downstream.log_shear - start)
    here = intermittency[1]
    whole.upstream[2] *= here
    whole.downstream[2] = here * whole.downstream[2] + (1 - here) * idle.derivative
    whole.downstream[2, 4] += whole.residual[2] - idle.value
    whole.residual[2] = here * whole.residual[2] + (1 - here) * idle.value
    speed, added = downstream.common.speed.value, roughness_theta * (here - intermittency[0])
    whole.residual[0] -= added * speed**2
    whole.downstream[0, 3] -= 2 * added * speed
    whole.downstream[0, 4] -= roughness_theta * speed**2
    whole.upstream[0, 4] += roughness_theta * speed**2
    return whole
