"""A quasi-steady lap: the corner speeds, then what power allows going forward and brakes going backward.

The usual method (the car is in steady balance at every point): at each step of the lap the speed may not
exceed what the corner allows; a pass along the lap limits it by driving force, a pass against it by
braking. Tyre force is shared between turning and driving or braking by the friction ellipse. All set-ups
go round together, so the loop runs over distance only.

Left out: shift times, load transfer along the car, the drag of turned tyres, slopes. They are alike with
and without the parts, so differences are worth more than lap times.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wingtool.car import (
    FASTEST_M_S,
    LATERAL_LIMIT,
    AxleAreas,
    Car,
    axle_capacity,
    brake_limit_m_s2,
    corner_speed_m_s,
    power_at_wheels_w,
    top_speed_m_s,
    traction_limit_n,
)
from wingtool.constants import GRAVITY_M_S2
from wingtool.errors import RangeError
from wingtool.files import words_beside
from wingtool.track.circuit import Circuit

WORDS = words_beside(__file__, "lap")
POWER_POINTS = 281  # of the power curve over speed, 0 to 140 m/s
CREEPING = 1.0  # squared speed [m^2/s^2] that a car without push keeps: it creeps, the lap goes on


@dataclass(frozen=True, eq=False)
class Lap:
    """One lap for each of p set-ups.

    Parameters
    ----------
    circuit : Circuit
    speed_m_s : ndarray, shape (p, n)
        At the end of each step [m/s].
    time_s : ndarray, shape (p, n)
        Since the start line, at the end of each step [s].
    lateral_g : ndarray, shape (p, n)
        Held by the tyres, over gravity (the road's tilt taken off).
    """

    circuit: Circuit
    speed_m_s: np.ndarray
    time_s: np.ndarray
    lateral_g: np.ndarray

    @property
    def lap_time_s(self) -> np.ndarray:
        """Time of the whole lap, shape (p,)."""
        return self.time_s[:, -1]

    @property
    def top_speed_m_s(self) -> np.ndarray:
        """Fastest point of the lap, shape (p,)."""
        return self.speed_m_s.max(axis=1)


def lap(car: Car, areas: AxleAreas, circuit: Circuit, density_kg_m3: float, law: str = "weaker axle") -> Lap:
    """The lap of one or many set-ups; see `laps`."""
    return laps(car, [(areas, law)], circuit, density_kg_m3)[0]


def laps(
    car: Car, asked: Sequence[tuple[AxleAreas, str]], circuit: Circuit, density_kg_m3: float
) -> list[Lap]:
    """Laps of several groups of set-ups, all driven side by side: many cost little more than one.

    Parameters
    ----------
    asked : sequence of (AxleAreas, str)
        Of the whole car, fields plain numbers or (p,); and what limits a corner: ``weaker axle`` or
        ``retuned``.

    Raises
    ------
    RangeError
        A part of the circuit that no speed gets round.

    Notes
    -----
    Over a step of length ds the square of the speed changes by 2 a ds, a taken at the step's start in the
    direction of the pass (first order; the error is halved when the step is).
    """
    groups = [np.broadcast_arrays(*map(np.atleast_1d, areas.columns)) for areas, _ in asked]
    front, rear, drag = (np.concatenate(column, dtype=float) for column in zip(*groups, strict=True))
    counts = [group[0].size for group in groups]
    whole, law = AxleAreas(front, rear, drag), np.repeat([law for _, law in asked], counts)
    corner = _corner_speeds(car, whole, circuit, density_kg_m3, law)
    _drivable(corner, circuit)
    top = top_speed_m_s(car, drag, front + rear, density_kg_m3)
    limit_square = np.minimum(corner, top[:, None]) ** 2
    square = _passes(car, whole, circuit, density_kg_m3, law, limit_square)
    speed = np.sqrt(square)
    time = np.cumsum(2.0 * circuit.step_m / (speed + np.roll(speed, 1, axis=1)), axis=1)
    curvature, tilt = circuit.curvature_1_m, circuit.camber_rad
    lateral = square * curvature * np.cos(tilt) / GRAVITY_M_S2 - np.sin(tilt)
    lateral = np.where(curvature > 0.0, lateral, 0.0)
    ends = np.cumsum(counts)[:-1]
    columns = zip(*(np.split(column, ends) for column in (speed, time, lateral)), strict=True)
    return [Lap(circuit, *column) for column in columns]


def _by_law(areas: AxleAreas, law: np.ndarray):
    """Each law with the rows of its set-ups and their areas."""
    for name in np.unique(law):
        rows = np.flatnonzero(law == name)
        yield str(name), rows, areas.at(rows)


def _corner_speeds(car, areas, circuit, density_kg_m3, law) -> np.ndarray:
    """Corner speeds (p, n); equal curvature and camber are solved once."""
    pairs = np.stack([circuit.curvature_1_m, circuit.camber_rad], axis=1)
    unique, back = np.unique(pairs, axis=0, return_inverse=True)
    speed = np.empty((len(law), len(unique)))
    for name, rows, some in _by_law(areas, law):
        columns = AxleAreas(*(column[:, None] for column in vars(some).values()))
        speed[rows] = corner_speed_m_s(car, columns, density_kg_m3, unique[:, 0], unique[:, 1], name)
    return speed[:, back.ravel()]


def _drivable(corner_speed: np.ndarray, circuit: Circuit) -> None:
    impossible = np.flatnonzero((corner_speed**2 < CREEPING).any(axis=0))
    if impossible.size:
        raise RangeError(WORDS["impossible"].format(circuit.names[circuit.part[impossible[0]]]))


def _passes(car, areas, circuit, density_kg_m3, law, limit_square) -> np.ndarray:
    """Squared speed at every step, each set-up started from its own slowest corner."""
    p, n = limit_square.shape
    start = np.argmin(limit_square, axis=1)
    order, rows = (start + np.arange(n)[:, None]) % n, np.arange(p)
    limit = limit_square[rows, order]
    curvature, camber = circuit.curvature_1_m[order], circuit.camber_rad[order]
    tilted, turning = camber.any(axis=1), curvature.any(axis=1)
    tyres = _tyre_limits(car, areas, density_kg_m3, law)
    gain, lose = _step_laws(car, areas, circuit, density_kg_m3, tyres)

    def left(square: np.ndarray, j: int) -> np.ndarray | float:
        return tyres.left(square, curvature[j], camber[j], tilted[j]) if turning[j] else 1.0

    square = np.empty((n, p))
    here = limit[0]
    for i in range(2 * n):  # the second time round only until it meets the first
        j = i % n
        added = gain(here, left(here, j - 1)) if i else 0.0
        new = np.minimum(limit[j], np.maximum(here + added, CREEPING)) if i else here
        if i >= n and np.all(new >= square[j] * (1.0 - 1e-12)):
            break
        square[j] = here = new if i < n else np.minimum(square[j], new)
    here = square[0]
    for i in range(2 * n):
        j = (n - 1 - i) % n
        after = (j + 1) % n
        new = np.minimum(square[j], here + lose(here, left(here, after)))
        if i >= n and np.all(new >= square[j] * (1.0 - 1e-12)):
            break
        square[j] = here = new
    result = np.empty((p, n))
    result[rows, order] = square
    return result


@dataclass(frozen=True, eq=False)
class _TyreLimits:
    """What the tyres of each set-up can do on a level road: parabolas over squared speed, shape ``(3, p)``.

    `lateral` and `brake` [m/s^2], `traction` [N]: through the tyre law at rest, 35 and 70 m/s, within 0.1 %
    of it there. `load_sensitivity` is that of the tyre law.
    """

    lateral: np.ndarray
    brake: np.ndarray
    traction: np.ndarray
    load_sensitivity: float

    def left(self, square: np.ndarray, curvature: np.ndarray, camber: np.ndarray, tilted: bool) -> np.ndarray:
        """Share of the grip left for driving or braking: friction ellipse of lateral demand over capacity.

        Both are taken at the actual speed. On a tilted road the load is that of `corner_speed_m_s`.
        """
        demand, capacity = square * curvature, at_square(self.lateral, square)
        if tilted:
            load_factor = np.cos(camber) + square * curvature * np.sin(camber) / GRAVITY_M_S2
            load_factor = np.maximum(load_factor, 1e-9)
            capacity = axle_capacity(load_factor, self.load_sensitivity)
            capacity = capacity * at_square(self.lateral, square / load_factor)
            demand = np.where(curvature > 0.0, demand * np.cos(camber) - GRAVITY_M_S2 * np.sin(camber), 0.0)
        return np.sqrt(np.maximum(1.0 - (demand / np.maximum(capacity, 1e-9)) ** 2, 0.0))


def at_square(parabola: np.ndarray, square: np.ndarray) -> np.ndarray:
    """A parabola (3, p) over squared speed (p,), not below zero."""
    return np.maximum(parabola[0] + square * (parabola[1] + square * parabola[2]), 0.0)


def _tyre_limits(car: Car, areas: AxleAreas, density_kg_m3: float, law: np.ndarray) -> _TyreLimits:
    square = np.array([0.0, 35.0, 70.0]) ** 2
    q = 0.5 * density_kg_m3 * square[:, None]
    to_parabola = np.linalg.inv(np.vander(square, increasing=True))
    lateral = np.empty((3, len(law)))
    for name, rows, some in _by_law(areas, law):
        lateral[:, rows] = to_parabola @ LATERAL_LIMIT[name](car, some, q)
    brake, traction = (to_parabola @ limit(car, areas, q) for limit in (brake_limit_m_s2, traction_limit_n))
    return _TyreLimits(lateral, brake, traction, car.tyre.load_sensitivity)


def _step_laws(car: Car, areas: AxleAreas, circuit: Circuit, density_kg_m3: float, tyres: _TyreLimits):
    """Two functions of squared speed and grip left: what a step adds to the squared speed.

    At full throttle from its start, and against the lap, at full braking, from its end.
    """
    grid = np.linspace(0.0, FASTEST_M_S, POWER_POINTS)
    power = power_at_wheels_w(car, grid)
    flat = car.gears is None
    per_force = 2.0 * circuit.step_m / car.effective_mass_kg
    drag, roll = _resistance_law(car, areas, density_kg_m3)

    def gain(square, left):
        speed = np.sqrt(square)
        engine = (car.power_w if flat else np.interp(speed, grid, power)) / np.maximum(speed, 1.0)
        grip = at_square(tyres.traction, square) * left
        return per_force * (np.minimum(engine, grip) - roll - drag * square)

    def lose(square, left):
        brakes = car.mass_kg * at_square(tyres.brake, square) * left
        return per_force * (brakes + roll + drag * square)

    return gain, lose


def _resistance_law(car: Car, areas: AxleAreas, density_kg_m3: float):
    """Resistance = roll + drag V^2: the two coefficients for each set-up."""
    half_rho = 0.5 * density_kg_m3
    return half_rho * (areas.cda_m2 + car.rolling * areas.cla_m2), car.rolling * car.weight_n
