"""A layer under a given edge speed, station by station: holds the closures against published layers."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from wingtool.boundary_layer.cells import (
    Stations,
    TurbulentTerms,
    laminar_terms,
    partly_turbulent,
    turbulent_balance,
    turbulent_terms,
)
from wingtool.boundary_layer.dual import Dual
from wingtool.boundary_layer.laminar import STAGNATION_H, STAGNATION_THETA, laminar_closure
from wingtool.boundary_layer.transition import amplification_rate, starting_shear

_STEPS = 40


@dataclass(frozen=True, eq=False)
class Layer:
    """A layer, each array of shape ``(n,)``; nan beyond `ends_at`.

    Parameters
    ----------
    arc_length, edge_speed : ndarray
        As given, over a length and speed of reference.
    theta, displacement, shear, friction : ndarray
        Momentum and displacement thickness, sqrt(C_tau), cf on the local edge speed.
    amplification : ndarray
        Exponent N; stands still behind transition.
    transition : float
        Arc length of transition; nan where there is none.
    ends_at : float
        Arc length of the last station solved. A given edge speed cannot be followed through separation
        (Goldstein 1948); the layer ends there.
    """

    arc_length: np.ndarray
    edge_speed: np.ndarray
    theta: np.ndarray
    displacement: np.ndarray
    shear: np.ndarray
    friction: np.ndarray
    amplification: np.ndarray
    transition: float
    ends_at: float

    @property
    def shape(self) -> np.ndarray:
        """H."""
        return self.displacement / self.theta


def _stations(rows: np.ndarray) -> Stations:
    return Stations(rows[0], rows[1], rows[2], rows[3], np.zeros_like(rows[0]))


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
    into[2] = start.derivative
    turbulent = Point(_stations(grown), (1 - fraction) * into, fraction * into)
    return laminar, turbulent


def similar_start(
    arc_length: float, edge_speed: float, exponent: float, viscosity: float
) -> tuple[float, float]:
    """theta and displacement of the similar layer under u ~ s^exponent, from the laminar closure."""

    def spread(shape):
        _, friction, _ = _closure(shape)
        return friction / ((2 + shape) * exponent + 0.5 * (1 - exponent))

    def excess(shape):
        h_star, _, lost = _closure(shape)
        return (1 - shape) * exponent * spread(shape) - lost / h_star

    shape = brentq(excess, 2.17, 4.02, xtol=1e-14)
    theta = np.sqrt(spread(shape) * viscosity * arc_length / edge_speed)
    return theta, shape * theta


def _closure(shape: float) -> tuple[float, float, float]:
    h_star, friction, lost = laminar_closure(Dual(np.array([shape]), np.ones((1, 1))))
    return float(h_star.value[0]), float(friction.value[0]), float(lost.value[0])


def _first(arc_length, edge_speed, viscosity):
    if edge_speed[0] == 0.0:
        theta = np.sqrt(STAGNATION_THETA * viscosity * (arc_length[1] - arc_length[0]) / edge_speed[1])
        return theta, STAGNATION_H * theta
    exponent = np.log(edge_speed[1] / edge_speed[0]) / np.log(arc_length[1] / arc_length[0])
    return similar_start(arc_length[0], edge_speed[0], exponent, viscosity)


def _station(theta, displacement, shear, speed) -> Stations:
    return Stations(*(np.array([value]) for value in (theta, displacement, shear, speed, 0.0)))


def _newton(start: np.ndarray, speed: float, equations) -> np.ndarray | None:
    """Solve a station's unknowns (theta, displacement[, shear]); None where the iteration does not settle."""
    state = start.copy()
    count = len(state)
    for _ in range(_STEPS):
        shear = state[2] if count == 3 else 0.03
        residual, slope = equations(_station(state[0], state[1], shear, speed))
        try:
            change = np.linalg.solve(slope[:count, :count], -residual[:count])
        except np.linalg.LinAlgError:
            return None
        bound = 0.3 / max(0.3, np.abs(change / state).max())
        state = state + bound * change
        if not np.all(np.isfinite(state)):
            return None
        if bound == 1.0 and np.abs(change / state).max() < 1e-10:
            return state
    return None


def _laminar(at: Stations, viscosity: float) -> TurbulentTerms:
    """Terms of a layer that is turbulent at no time, as the solver takes it."""
    return partly_turbulent(laminar_terms(at, viscosity), turbulent_terms(at, viscosity), np.zeros(1))


def _laminar_cell(upstream: Stations, step: float, viscosity: float):
    known = _laminar(upstream, viscosity)

    def equations(downstream):
        balance = turbulent_balance(known, _laminar(downstream, viscosity), np.array([step]))
        return balance.residual[:, 0], balance.downstream[:, :, 0]

    return equations


def _turbulent_cell(upstream: Stations, step: float, viscosity: float):
    known = turbulent_terms(upstream, viscosity)

    def equations(downstream):
        balance = turbulent_balance(known, turbulent_terms(downstream, viscosity), np.array([step]))
        return balance.residual[:, 0], balance.downstream[:, :, 0]

    return equations


def _turning_cell(upstream: Stations, step: float, part: float, viscosity: float):
    known = _laminar(upstream, viscosity)

    def equations(downstream):
        before, after = point_between(upstream, downstream, np.array([part]), viscosity)
        laminar = turbulent_balance(known, _laminar(before.state, viscosity), np.array([part * step]))
        turbulent = turbulent_balance(
            turbulent_terms(after.state, viscosity),
            turbulent_terms(downstream, viscosity),
            np.array([(1 - part) * step]),
        )
        residual = turbulent.residual[:, 0].copy()
        slope = turbulent.downstream[:, :, 0] + turbulent.upstream[:, :, 0] @ after.downstream[:, :, 0]
        residual[:2] += laminar.residual[:2, 0]
        slope[:2] += laminar.downstream[:2, :4, 0] @ before.downstream[:, :, 0]
        return residual, slope

    return equations


class _Amplified:
    """Amplification gathered along the march."""

    def __init__(self, arc_length, critical, trip):
        self.arc, self.critical = arc_length, critical
        self.trip = np.inf if trip is None else trip
        self.rate, self.total = [0.0], [0.0]

    def part_of_cell(self, i: int) -> float:
        """Part of the cell ending at station i that is laminar; 1 where all of it is."""
        step = np.diff(self.arc[max(0, i - 2) : i + 1])
        before = self.rate[-2] if len(self.rate) > 1 else self.rate[-1]
        slope = (self.rate[-1] - before) / step[0]
        reach = np.linspace(0.0, step[-1], 201)
        total = self.total[-1] + self.rate[-1] * reach + 0.5 * slope * reach**2
        self.next = total[-1]
        over = np.argmax(total >= self.critical) if total.max() >= self.critical else 200
        if total.max() >= self.critical and over > 0:
            left = (self.critical - total[over - 1]) / (total[over] - total[over - 1])
            part = (over - 1 + left) / 200
        else:
            part = over / 200
        return min(part, max(0.0, (self.trip - self.arc[i - 1]) / step[-1]), 1.0)

    def accept(self, state: Stations, viscosity: float) -> None:
        self.rate.append(float(amplification_rate(state, viscosity).value[0]))
        self.total.append(self.next)


def solve_layer(
    arc_length: np.ndarray,
    edge_speed: np.ndarray,
    reynolds: float,
    critical: float = 9.0,
    trip: float | None = None,
    first: tuple[float, float] | None = None,
) -> Layer:
    """Layer on a wall under a given edge speed.

    Parameters
    ----------
    arc_length : ndarray, shape (n,)
        Distance along the wall over a reference length, increasing.
    edge_speed : ndarray, shape (n,)
        Edge speed over a reference speed. Zero at the first station: a stagnation point.
    reynolds : float
        On both references.
    critical : float
        Amplification exponent N at transition.
    trip : float, optional
        Arc length at which the layer is made turbulent at the latest.
    first : (theta, displacement), optional
        At the first station; else the similar layer that fits the first two edge speeds.

    Examples
    --------
    The flat plate: theta sqrt(Re_x)/x = 0.664 (Blasius 1908).

    >>> s = np.linspace(0.1, 1.0, 40)
    >>> layer = solve_layer(s, np.ones(40), 1e5)
    >>> round(float(layer.theta[-1] * 1e5**0.5), 3)
    0.664
    """
    viscosity = 1.0 / reynolds
    state = np.array(_first(arc_length, edge_speed, viscosity) if first is None else first)
    states = [state]
    amplified = _Amplified(arc_length, critical, trip)
    transition = np.nan
    for i in range(1, len(arc_length)):
        step = arc_length[i] - arc_length[i - 1]
        upstream = _station(state[0], state[1], state[2] if len(state) == 3 else 0.03, edge_speed[i - 1])
        if len(state) == 3:
            found = _newton(state, edge_speed[i], _turbulent_cell(upstream, step, viscosity))
        else:
            part = amplified.part_of_cell(i)
            if part >= 1.0:
                found = _newton(state, edge_speed[i], _laminar_cell(upstream, step, viscosity))
            else:
                transition = arc_length[i - 1] + part * step
                guess = np.array([state[0] * 1.05, state[0] * 1.8, 0.05])
                found = _newton(guess, edge_speed[i], _turning_cell(upstream, step, part, viscosity))
        if found is None or found[1] < found[0]:
            break
        state = found
        states.append(state)
        if len(state) == 2:
            amplified.accept(_station(state[0], state[1], 0.03, edge_speed[i]), viscosity)
    return _collected(arc_length, edge_speed, viscosity, states, amplified.total, transition)


def _collected(arc_length, edge_speed, viscosity, states, total, transition) -> Layer:
    size, done, laminar = len(arc_length), len(states), len(total)
    table = np.full((3, size), np.nan)
    for i, state in enumerate(states):
        table[: len(state), i] = state
    amplification = np.full(size, np.nan)
    amplification[:done] = total[-1]
    amplification[: min(laminar, done)] = total[:done]
    friction = np.full(size, np.nan)
    speed = np.where(edge_speed > 0, edge_speed, np.nan)
    whole = Stations(table[0], table[1], np.where(np.isfinite(table[2]), table[2], 0.03), speed, 0 * speed)
    part = np.arange(size) < min(laminar, done)
    friction[part] = 2 * (laminar_terms(whole.take(part), viscosity).friction.value) / speed[part] ** 2
    rest = (np.arange(size) < done) & ~part
    friction[rest] = 2 * turbulent_terms(whole.take(rest), viscosity).common.friction.value / speed[rest] ** 2
    return Layer(
        arc_length, edge_speed, table[0], table[1], table[2], friction, amplification, transition,
        float(arc_length[done - 1]),
    )  # fmt: skip
