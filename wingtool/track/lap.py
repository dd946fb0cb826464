"""A quasi-steady lap: the corner speeds, then what power allows going forward and brakes going backward.

The usual method (the car is in steady balance at every point): at each step of the lap the speed may not
exceed what the corner allows; a pass along the lap limits it by driving force, a pass against it by
braking. Tyre force is shared between turning and driving or braking by the friction ellipse. All set-ups
go round together, so the loop runs over distance only.

Left out: shift times, load transfer along the car, the drag of turned tyres, slopes. They are alike with
and without the parts, so differences are worth more than lap times.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.car import (
    LATERAL_LIMIT,
    AxleAreas,
    Car,
    brake_limit_m_s2,
    corner_speed_m_s,
    power_at_wheels_w,
    top_speed_m_s,
    traction_limit_n,
)
from wingtool.constants import GRAVITY_M_S2
from wingtool.errors import RangeError
from wingtool.track.circuit import Circuit

POWER_POINTS = 281  # of the power curve over speed, 0 to 140 m/s
TABLE_POINTS = 561  # of the tyres' limits over squared speed, 0 to 140 m/s: 35 m^2/s^2 apart
FASTEST_M_S = 140.0
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
    lap_time_s : ndarray, shape (p,)
    lateral_g : ndarray, shape (p, n)
        What the tyres hold sideways, over gravity (the road's tilt taken off).
    drive_n : ndarray, shape (p, n)
        Force at the wheels over each step, negative when braking [N].
    resistance_n : ndarray, shape (p, n)
        Drag and rolling resistance over each step [N].
    top_speed_m_s : ndarray, shape (p,)
        Fastest point of the lap.
    """

    circuit: Circuit
    speed_m_s: np.ndarray
    time_s: np.ndarray
    lap_time_s: np.ndarray
    lateral_g: np.ndarray
    drive_n: np.ndarray
    resistance_n: np.ndarray
    top_speed_m_s: np.ndarray


def lap(car: Car, areas: AxleAreas, circuit: Circuit, density_kg_m3: float, law: str = "weaker axle") -> Lap:
    """The lap of one or many set-ups.

    Parameters
    ----------
    areas : AxleAreas
        Of the whole car, fields plain numbers or (p,).
    law : str
        What limits a corner: ``weaker axle`` or ``retuned``.

    Raises
    ------
    RangeError
        A part of the circuit that no speed gets round.

    Notes
    -----
    Over a step of length ds the square of the speed changes by 2 a ds, a taken at the step's start in the
    direction of the pass (first order; the error is halved when the step is).
    """
    front, rear, drag = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(a, float)) for a in (areas.cla_front_m2, areas.cla_rear_m2, areas.cda_m2))
    )
    whole = AxleAreas(front, rear, drag)
    columns = AxleAreas(front[:, None], rear[:, None], drag[:, None])
    corner = _corner_speeds(car, columns, circuit, density_kg_m3, law)
    _drivable(corner, circuit)
    top = top_speed_m_s(car, drag, front + rear, density_kg_m3)
    roof = np.minimum(corner, top[:, None]) ** 2
    square = _passes(car, whole, circuit, density_kg_m3, law, roof)
    return _lap(car, whole, circuit, density_kg_m3, square)


def _corner_speeds(car, columns, circuit, density_kg_m3, law) -> np.ndarray:
    """Corner speeds (p, n); equal curvature and camber are solved once."""
    pairs = np.stack([circuit.curvature_1_m, circuit.camber_rad], axis=1)
    unique, back = np.unique(pairs, axis=0, return_inverse=True)
    speed = corner_speed_m_s(car, columns, density_kg_m3, unique[:, 0], unique[:, 1], law)
    return speed[:, back.ravel()]


def _drivable(corner_speed: np.ndarray, circuit: Circuit) -> None:
    impossible = np.flatnonzero((corner_speed**2 < CREEPING).any(axis=0))
    if impossible.size:
        name = circuit.names[circuit.part[impossible[0]]]
        raise RangeError(
            f"circuit: {name!r} cannot be driven, the road leans or turns more than the tyres hold; "
            "check its camber_deg and radius and car.tyre.grip"
        )


def _passes(car, areas, circuit, density_kg_m3, law, roof) -> np.ndarray:
    """Squared speed at every step, each set-up started from its own slowest corner."""
    p, n = roof.shape
    start = np.argmin(roof, axis=1)
    order = (start[:, None] + np.arange(n)) % n
    rows = np.arange(p)[:, None]
    limit = roof[rows, order].T
    curvature, camber = circuit.curvature_1_m[order].T, circuit.camber_rad[order].T
    tyres = _tyre_tables(car, areas, density_kg_m3, law)
    gain = _gain_forward(car, areas, circuit, density_kg_m3, tyres)
    lose = _gain_backward(car, areas, density_kg_m3, circuit.step_m, tyres)
    square = np.empty((n, p))
    here = limit[0]
    for i in range(2 * n):  # the second time round only until it meets the first
        j = i % n
        added = gain(here, curvature[j - 1], camber[j - 1]) if i else 0.0
        new = np.minimum(limit[j], np.maximum(here + added, CREEPING)) if i else here
        if i >= n and np.all(new >= square[j] * (1.0 - 1e-12)):
            break
        square[j] = here = new if i < n else np.minimum(square[j], new)
    here = square[0]
    for i in range(2 * n):
        j = (n - 1 - i) % n
        after = (j + 1) % n
        new = np.minimum(square[j], here + lose(here, curvature[after], camber[after]))
        if i >= n and np.all(new >= square[j] * (1.0 - 1e-12)):
            break
        square[j] = here = new
    result = np.empty((p, n))
    result[rows, order] = square.T
    return result


@dataclass(frozen=True, eq=False)
class _TyreTables:
    """What the tyres can do over squared speed, shape ``(TABLE_POINTS, p)``, evenly spaced by `step`.

    `lateral` and `brake` [m/s^2] on a level road, `traction` [N].
    """

    step: float
    lateral: np.ndarray
    brake: np.ndarray
    traction: np.ndarray
    exponent: float

    def at(self, table: np.ndarray, square: np.ndarray) -> np.ndarray:
        """A table at one squared speed for each set-up (p,), linear between its points."""
        place = np.minimum(square / self.step, TABLE_POINTS - 1.001)
        low = place.astype(int)
        share, column = place - low, np.arange(table.shape[1])
        return table[low, column] * (1.0 - share) + table[low + 1, column] * share

    def left(self, square: np.ndarray, curvature: np.ndarray, camber: np.ndarray) -> np.ndarray:
        """Share of the grip left for driving or braking: friction ellipse of lateral demand over capacity.

        Both are taken at the actual speed. On a tilted road the load is that of `corner_speed_m_s`.
        """
        pressed = np.maximum(np.cos(camber) + square * curvature * np.sin(camber) / GRAVITY_M_S2, 1e-9)
        capacity = pressed**self.exponent * self.at(self.lateral, square / pressed)
        demand = square * curvature * np.cos(camber) - GRAVITY_M_S2 * np.sin(camber)
        demand = np.where(curvature > 0.0, demand, 0.0)
        return np.sqrt(np.maximum(1.0 - (demand / np.maximum(capacity, 1e-9)) ** 2, 0.0))


def _tyre_tables(car: Car, areas: AxleAreas, density_kg_m3: float, law: str) -> _TyreTables:
    square = np.linspace(0.0, FASTEST_M_S**2, TABLE_POINTS)
    q = 0.5 * density_kg_m3 * square[:, None]
    return _TyreTables(
        step=float(square[1]),
        lateral=LATERAL_LIMIT[law](car, areas, q),
        brake=brake_limit_m_s2(car, areas, q),
        traction=traction_limit_n(car, areas, q),
        exponent=1.0 - car.tyre.load_sensitivity,
    )


def _gain_forward(car: Car, areas: AxleAreas, circuit: Circuit, density_kg_m3: float, tyres: _TyreTables):
    """Function of squared speed and corner: what a step at full throttle adds to the squared speed."""
    grid = np.linspace(0.0, FASTEST_M_S, POWER_POINTS)
    power = power_at_wheels_w(car, grid)
    flat = car.gears is None
    per_mass = 2.0 * circuit.step_m / car.turning_mass_kg
    drag, roll = _resistance_law(car, areas, density_kg_m3)

    def gain(square, curvature, camber):
        speed = np.sqrt(square)
        engine = (car.power_w if flat else np.interp(speed, grid, power)) / np.maximum(speed, 1.0)
        grip = tyres.at(tyres.traction, square) * tyres.left(square, curvature, camber)
        return per_mass * (np.minimum(engine, grip) - roll - drag * square)

    return gain


def _gain_backward(car: Car, areas: AxleAreas, density_kg_m3: float, step_m: float, tyres: _TyreTables):
    """The same against the lap: what a step of full braking takes off, seen from its end."""
    drag, roll = _resistance_law(car, areas, density_kg_m3)
    turning = 1.0 / car.turning_mass_kg

    def lose(square, curvature, camber):
        brakes = car.mass_kg * tyres.at(tyres.brake, square) * tyres.left(square, curvature, camber)
        return 2.0 * step_m * turning * (brakes + roll + drag * square)

    return lose


def _resistance_law(car: Car, areas: AxleAreas, density_kg_m3: float):
    """Resistance = roll + drag V^2: the two coefficients for each set-up."""
    half_rho = 0.5 * density_kg_m3
    return half_rho * (areas.cda_m2 + car.rolling * areas.cla_m2), car.rolling * car.weight_n


def _lap(car: Car, areas: AxleAreas, circuit: Circuit, density_kg_m3: float, square: np.ndarray) -> Lap:
    before = np.roll(square, 1, axis=1)
    speed, speed_before = np.sqrt(square), np.sqrt(before)
    time = np.cumsum(2.0 * circuit.step_m / (speed + speed_before), axis=1)
    drag, roll = _resistance_law(car, areas, density_kg_m3)
    resistance = roll + drag[:, None] * (square + before) / 2.0
    drive = car.turning_mass_kg * (square - before) / (2.0 * circuit.step_m) + resistance
    tilt = circuit.camber_rad
    lateral = square * circuit.curvature_1_m * np.cos(tilt) / GRAVITY_M_S2 - np.sin(tilt)
    lateral = np.where(circuit.curvature_1_m > 0.0, lateral, 0.0)
    return Lap(
        circuit=circuit,
        speed_m_s=speed,
        time_s=time,
        lap_time_s=time[:, -1],
        lateral_g=lateral,
        drive_n=drive,
        resistance_n=resistance,
        top_speed_m_s=speed.max(axis=1),
    )
