"""Corners: speed against radius, the speed below which the parts add nothing that a driver feels."""

from dataclasses import dataclass

import numpy as np

from wingtool.car.areas import AxleAreas
from wingtool.car.tyre import LATERAL_LIMIT
from wingtool.car.vehicle import NEUTRAL, Car
from wingtool.constants import GRAVITY_M_S2

FELT = 0.02  # gain of sideways g that a driver feels: common practice, no source
FASTEST_M_S = 140.0
ROUNDS = 40


def corner_speed_m_s(
    car: Car, areas: AxleAreas, density_kg_m3: float, curvature_1_m, camber_rad=0.0, law: str = "weaker axle"
) -> np.ndarray:
    """Greatest steady speed [m/s] through a corner.

    Solves V^2 k = a(V) + g sin b (per cos b of the road's tilt), with a the sideways limit of the tyres at
    that speed's axle loads (`wingtool.car.tyre`). The limit is concave in V^2, so Newton's steps in V^2 from
    above come down on the root without passing it. Where downforce grows faster than the corner asks there
    is no root, and the answer is 140 m/s.

    Parameters
    ----------
    areas : AxleAreas
        Of the whole car; fields broadcast against `curvature_1_m`.
    curvature_1_m, camber_rad : float or ndarray
        Curvature [1/m] (0 on a straight) and road tilt towards the inside [rad].
    law : str
        ``weaker axle`` or ``retuned``.

    Notes
    -----
    With n = 0 and downforce shared as the weight is, V^2 = mu g / (k - mu rho ClA / (2 m)).
    On a tilted road the load is m (g cos b + V^2 k sin b) and the asked force m (V^2 k cos b - g sin b).
    """
    limit = LATERAL_LIMIT[law]
    k, tilt = np.asarray(curvature_1_m, float), np.asarray(camber_rad, float)
    half_rho = 0.5 * density_kg_m3
    ceiling = np.full(np.broadcast_shapes(k.shape, tilt.shape, np.shape(areas.cla_front_m2)), FASTEST_M_S**2)

    def spare(square):
        pressed = np.cos(tilt) + square * k * np.sin(tilt) / GRAVITY_M_S2
        pressed = np.maximum(pressed, 1e-9)  # a road that falls away outwards lifts a fast car off
        share = limit(car, areas, half_rho * square / pressed)
        return pressed ** (1.0 - car.tyre.load_sensitivity) * share - (
            square * k * np.cos(tilt) - GRAVITY_M_S2 * np.sin(tilt)
        )

    square = ceiling
    free = spare(ceiling) >= 0.0
    for _ in range(ROUNDS):
        here = spare(square)
        slope = (spare(square * (1 + 1e-6)) - here) / (square * 1e-6)
        step = np.where(free | (slope >= 0.0), 0.0, here / np.where(slope < 0.0, slope, -1.0))
        square = np.clip(square - step, 1e-6, ceiling)
        if np.all(np.abs(step) <= 1e-10 * square):
            break
    return np.sqrt(np.where(free, ceiling, square))


@dataclass(frozen=True, eq=False)
class CornerTable:
    """Speed against radius with and without the parts.

    Arrays (n,): `radius_m`; `with_m_s`, `without_m_s`; `retuned_m_s` if springs and bars are retuned to
    the new loads; `gain_m_s`; `with_g`, `without_g`; `weaker` the axle that gives up first with the parts;
    `break_even_m_s` the speed below which the sideways g gained is under `felt` (nan: never gained),
    `break_even_retuned_m_s` the same with springs and bars retuned.
    """

    radius_m: np.ndarray
    with_m_s: np.ndarray
    without_m_s: np.ndarray
    retuned_m_s: np.ndarray
    with_g: np.ndarray
    without_g: np.ndarray
    weaker: np.ndarray
    break_even_m_s: float
    break_even_retuned_m_s: float
    felt: float
    note: str

    @property
    def gain_m_s(self) -> np.ndarray:
        """Speed gained [m/s]."""
        return self.with_m_s - self.without_m_s


def corner_table(
    car: Car, whole: AxleAreas, bare: AxleAreas, density_kg_m3: float, radius_m: np.ndarray
) -> CornerTable:
    """Corner speeds over radius for the whole car and the bare one (plain-number areas)."""
    k = 1.0 / np.asarray(radius_m, float)
    with_parts = corner_speed_m_s(car, whole, density_kg_m3, k)
    without = corner_speed_m_s(car, bare, density_kg_m3, k)
    retuned = corner_speed_m_s(car, whole, density_kg_m3, k, law="retuned")
    front = whole.cla_front_m2 / car.static_front_n
    rear = whole.cla_rear_m2 / car.static_rear_n
    weaker = np.full(len(k), "front" if front < rear else "rear")
    return CornerTable(
        np.asarray(radius_m, float), with_parts, without, retuned,
        with_parts**2 * k / GRAVITY_M_S2, without**2 * k / GRAVITY_M_S2, weaker,
        break_even_m_s(car, whole, bare, density_kg_m3),
        break_even_m_s(car, whole, bare, density_kg_m3, law="retuned"), FELT,
        f"{NEUTRAL}; {FELT:.0%} more sideways g is what a driver feels: common practice, no source",
    )  # fmt: skip


def break_even_m_s(
    car: Car, whole: AxleAreas, bare: AxleAreas, density_kg_m3: float, felt: float = FELT,
    law: str = "weaker axle",
) -> float:  # fmt: skip
    """Lowest speed [m/s] at which the parts raise the sideways limit by `felt`; nan if they never do."""
    speed = np.linspace(1.0, FASTEST_M_S, 2000)
    q = 0.5 * density_kg_m3 * speed**2
    limit = LATERAL_LIMIT[law]
    without = np.maximum(limit(car, bare, q), 1e-9)
    gain = limit(car, whole, q) / without - 1.0
    over = np.flatnonzero(gain >= felt)
    if not over.size:
        return float("nan")
    i = over[0]
    return float(speed[0] if i == 0 else np.interp(felt, gain[i - 1 : i + 1], speed[i - 1 : i + 1]))
