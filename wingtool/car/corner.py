"""Corners: speed against radius, the speed below which the parts add nothing that a driver feels."""

from dataclasses import dataclass

import numpy as np

from wingtool.car.areas import AxleAreas
from wingtool.car.tyre import LATERAL_LIMIT, axle_capacity
from wingtool.car.vehicle import FASTEST_M_S, NEUTRAL, Car
from wingtool.constants import GRAVITY_M_S2

FELT = 0.02  # gain of lateral g that a driver feels: common practice, no source
SLOWEST_M2_S2 = 1e-6  # squared speed of a road that cannot be driven


def corner_speed_m_s(
    car: Car, areas: AxleAreas, density_kg_m3: float, curvature_1_m, camber_rad=0.0, law: str = "weaker axle"
) -> np.ndarray:
    """Greatest steady speed [m/s] through a corner.

    Solves V^2 k = a(V) + g sin b (per cos b of the road's tilt), with a the lateral limit of the tyres at
    that speed's axle loads (`wingtool.car.tyre`). Where downforce grows faster than the corner asks there is
    no root, and the answer is 140 m/s.

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
    from scipy.optimize.elementwise import find_root

    limit, half_rho = LATERAL_LIMIT[law], 0.5 * density_kg_m3

    def residual(square, k, tilt, front, rear):
        load_factor = np.cos(tilt) + square * k * np.sin(tilt) / GRAVITY_M_S2
        load_factor = np.maximum(load_factor, 1e-9)  # a road that falls away outwards lifts a fast car off
        share = limit(car, AxleAreas(front, rear, 0.0), half_rho * square / load_factor)
        demand = square * k * np.cos(tilt) - GRAVITY_M_S2 * np.sin(tilt)
        return axle_capacity(load_factor, car.tyre.load_sensitivity) * share - demand

    case = np.broadcast_arrays(
        *(np.asarray(a, float) for a in (curvature_1_m, camber_rad, areas.cla_front_m2, areas.cla_rear_m2))
    )
    slow, fast = SLOWEST_M2_S2, FASTEST_M_S**2
    root = find_root(residual, (slow, fast), args=tuple(case))
    return np.sqrt(np.where(root.success, root.x, np.where(residual(fast, *case) >= 0.0, fast, slow)))


@dataclass(frozen=True, eq=False)
class CornerTable:
    """Speed against radius with and without the parts, each state beside its own bare car.

    Arrays (n,): `radius_m`; `with_m_s`, `without_m_s` as fitted, `with_g`, `without_g` their lateral g;
    `retuned_m_s`, `retuned_without_m_s` with springs and bars retuned to the loads of each; `weaker` the axle
    that gives up first as fitted with the parts.
    """

    radius_m: np.ndarray
    with_m_s: np.ndarray
    without_m_s: np.ndarray
    retuned_m_s: np.ndarray
    retuned_without_m_s: np.ndarray
    with_g: np.ndarray
    without_g: np.ndarray
    weaker: np.ndarray
    note: str = f"{NEUTRAL}; {FELT:.0%} more lateral g is what a driver feels: common practice, no source"


def corner_table(
    car: Car, whole: AxleAreas, bare: AxleAreas, density_kg_m3: float, radius_m: np.ndarray
) -> CornerTable:
    """Corner speeds over radius for the whole car and the bare one (plain-number areas)."""
    radius = np.asarray(radius_m, float)
    fitted, retuned = (
        [corner_speed_m_s(car, areas, density_kg_m3, 1.0 / radius, law=law) for areas in (whole, bare)]
        for law in ("weaker axle", "retuned")
    )
    front, rear = whole.cla_front_m2 / car.static_front_n, whole.cla_rear_m2 / car.static_rear_n
    return CornerTable(
        radius_m=radius,
        with_m_s=fitted[0],
        without_m_s=fitted[1],
        retuned_m_s=retuned[0],
        retuned_without_m_s=retuned[1],
        with_g=fitted[0] ** 2 / radius / GRAVITY_M_S2,
        without_g=fitted[1] ** 2 / radius / GRAVITY_M_S2,
        weaker=np.full(len(radius), "front" if front < rear else "rear"),
    )


def break_even_m_s(
    car: Car, whole: AxleAreas, bare: AxleAreas, density_kg_m3: float, felt: float = FELT,
    law: str = "weaker axle",
) -> float:  # fmt: skip
    """Lowest speed [m/s] at which the parts raise the lateral limit by `felt`; nan if they never do."""
    speed = np.linspace(1.0, FASTEST_M_S, 2000)
    q = 0.5 * density_kg_m3 * speed**2
    limit = LATERAL_LIMIT[law]
    without = np.maximum(limit(car, bare, q), 1e-9)
    gain = limit(car, whole, q) / without - 1.0
    over = np.flatnonzero(gain >= felt)
    if not over.size:
        return float("nan")
    about = slice(max(over[0] - 1, 0), over[0] + 1)
    return float(np.interp(felt, gain[about], speed[about]))
