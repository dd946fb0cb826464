"""Aero balance: axle loads, the front that keeps the balance, the balance when a part comes off."""

from dataclasses import dataclass

import numpy as np

from wingtool.car.areas import AxleAreas, placed, total
from wingtool.car.tyre import axle_loads_n
from wingtool.car.vehicle import Car, body_areas
from wingtool.files import words_beside

BALANCE_CAUTION = words_beside(__file__, "balance")["caution"]
OVERSTEER_POINTS = 0.5  # % of the load onto the front axle that drivers accept; common practice, no source


@dataclass(frozen=True, eq=False)
class AxleLoads:
    """Loads over speed and wing angle [N].

    `speed_m_s` (k,), `wing_angle_deg` (m,); `front_n`, `rear_n` (k, m) on the ground, at constant speed;
    `front_air_n`, `rear_air_n` what the air adds; `front_share` of the load; `air_front_share` of the added
    downforce (nan where there is next to none); `static_front_share`.
    """

    speed_m_s: np.ndarray
    wing_angle_deg: np.ndarray
    front_n: np.ndarray
    rear_n: np.ndarray
    front_air_n: np.ndarray
    rear_air_n: np.ndarray
    front_share: np.ndarray
    air_front_share: np.ndarray
    static_front_share: float


def axle_loads(
    car: Car, parts: AxleAreas, density_kg_m3: float, speed_m_s: np.ndarray, wing_angle_deg: np.ndarray
) -> AxleLoads:
    """Axle loads of the car with parts, over speed and angle.

    Parameters
    ----------
    parts : AxleAreas
        All parts together, fields (m,) or (k, m); the bare car is added here.
    """
    q = 0.5 * density_kg_m3 * np.asarray(speed_m_s)[:, None] ** 2
    whole = total(body_areas(car), parts)
    shape = (len(speed_m_s), len(wing_angle_deg))
    front_air, rear_air, added, added_front = (
        np.broadcast_to(q * np.asarray(area), shape)
        for area in (whole.cla_front_m2, whole.cla_rear_m2, parts.cla_m2, parts.cla_front_m2)
    )
    front, rear = car.static_front_n + front_air, car.static_rear_n + rear_air
    known = np.abs(added) > 1e-3 * car.weight_n
    share = np.divide(added_front, added, out=np.full(shape, np.nan), where=known)
    return AxleLoads(
        speed_m_s, wing_angle_deg, front, rear, front_air, rear_air, front / (front + rear), share,
        car.front_share,
    )  # fmt: skip


@dataclass(frozen=True, eq=False)
class MatchedSettings:
    """For each wing angle (m,) the front that keeps the balance, from low to high downforce.

    `matched_front_n` is the downforce needed at the front part's own place at `speed_m_s`; `over_fitted` the
    same over the middle estimate of the fitted front parts, whose band is `fitted_front_low_n` to
    `fitted_front_high_n`.
    """

    wing_angle_deg: np.ndarray
    speed_m_s: float
    wing_downforce_n: np.ndarray
    wing_drag_n: np.ndarray
    matched_front_n: np.ndarray
    over_fitted: np.ndarray
    fitted_front_low_n: float
    fitted_front_high_n: float


def matched_settings(
    car: Car,
    wing: AxleAreas,
    wing_angle_deg: np.ndarray,
    front_lever_m: float,
    fitted_m2: tuple[float, float, float],
    density_kg_m3: float,
    speed_m_s: float,
) -> MatchedSettings:
    """The front downforce that keeps the front's share of the load at rest.

    The load added by wing and front part must fall on the axles as the weight does:
    (W_f + F (1 + l/L)) = s (W_f + W_r + F), with W the wing's axle areas, F the front part's area at l ahead
    of the front axle, s the static share. The bare body is left as it is: the car was driven with it.

    Parameters
    ----------
    wing : AxleAreas
        Over angle, fields (m,).
    front_lever_m : float
        Front part's force ahead of the front axle [m].
    fitted_m2 : tuple
        Downforce area of the fitted front parts, low, middle, high [m^2].
    """
    q = 0.5 * density_kg_m3 * speed_m_s**2
    share = car.front_share
    needed = (share * wing.cla_m2 - wing.cla_front_m2) / (1.0 + front_lever_m / car.wheelbase_m - share)
    low, middle, high = fitted_m2
    return MatchedSettings(
        wing_angle_deg, speed_m_s, q * wing.cla_m2, q * np.asarray(wing.cda_m2), q * needed,
        needed / (middle if middle > 0.0 else np.nan), q * low, q * high,
    )  # fmt: skip


@dataclass(frozen=True)
class PartLoss:
    """Axle loads at one speed without `lost_part`.

    `front_n`, `rear_n` the axle loads, `front_share` the front's share of them, `shift_percent` its change
    against the bare car at the same speed [per cent of the load], `words` for the driver.
    """

    lost_part: str
    front_n: float
    rear_n: float
    front_share: float
    shift_percent: float
    words: str


def part_losses(
    car: Car, parts: dict[str, AxleAreas], density_kg_m3: float, speed_m_s: float
) -> tuple[PartLoss, ...]:
    """Balance with all parts, then without each of them, then without any.

    Parameters
    ----------
    parts : dict
        Name to axle areas (plain numbers).
    """
    cases = {"nothing": parts}
    cases |= {name: {n: p for n, p in parts.items() if n != name} for name in parts}
    cases["all parts"] = {}
    q = 0.5 * density_kg_m3 * speed_m_s**2
    bare_share = front_share(car, body_areas(car), q)
    losses = []
    for lost_part, rest in cases.items():
        front, rear = map(float, axle_loads_n(car, total(body_areas(car), *rest.values()), q))
        share = front / (front + rear)
        shift = float(share - bare_share) * 100.0
        words = f"balance within {OVERSTEER_POINTS:g} % of the bare car's"
        if lost_part == "all parts":
            words = "the reference"
        if abs(shift) > OVERSTEER_POINTS:
            load, steer = ("more", "over") if shift > 0.0 else ("less", "under")
            words = f"front {load} loaded: towards {steer}steer when fast"
        losses.append(PartLoss(lost_part, front, rear, share, shift, words))
    return tuple(losses)


def front_share(car: Car, areas: AxleAreas, dynamic_pressure_pa: float):
    """Front axle's share of the load."""
    front, rear = axle_loads_n(car, areas, dynamic_pressure_pa)
    return front / (front + rear)


@dataclass(frozen=True, eq=False)
class PlaceMap:
    """Balance over where the wing stands: `wing_height_m` (h,), `setback_m` (s,) behind the rear axle.

    `front_air_n`, `rear_air_n` (h, s) added by the wing at `speed_m_s`, `front_share` (h, s) of the whole
    load, `allowed` (h, s) by the user's own rules (all True when none is written).
    """

    wing_height_m: np.ndarray
    setback_m: np.ndarray
    speed_m_s: float
    wing_downforce_n: np.ndarray
    front_air_n: np.ndarray
    rear_air_n: np.ndarray
    front_share: np.ndarray
    allowed: np.ndarray
    note: str


def place_map(
    car: Car,
    cla_m2: np.ndarray | float,
    cda_m2: np.ndarray | float,
    cma_m3: np.ndarray | float,
    others: AxleAreas,
    height_m: np.ndarray,
    setback_m: np.ndarray,
    density_kg_m3: float,
    speed_m_s: float,
    most_height_m: float = np.inf,
    most_setback_m: float = np.inf,
    computed: str = "wing computed at each height",
) -> PlaceMap:
    """Axle loads over height and setback of the wing.

    Parameters
    ----------
    cla_m2, cda_m2, cma_m3 : float or ndarray, shape (h, 1) or (h, s)
        Of the wing [m^2, m^3]. Plain numbers keep the wing's force the same everywhere: the map then shows
        the levers alone, and says so; give arrays when the wing was computed at each height or place.
    computed : str
        Note on the map where arrays are given.
    others : AxleAreas
        Every other part.
    """
    q = 0.5 * density_kg_m3 * speed_m_s**2
    h, x = height_m[:, None], car.wheelbase_m + setback_m[None, :]
    wing = placed(cla_m2, cda_m2, x, h, car.wheelbase_m, cma_m3)
    share = front_share(car, total(body_areas(car), others, wing), q)
    allowed = (h <= most_height_m) & (setback_m <= most_setback_m)
    same = np.ndim(cla_m2) == 0
    note = "levers only: the wing's own force is taken the same everywhere" if same else computed
    downforce, front, rear = (
        np.broadcast_to(q * np.asarray(area), share.shape)
        for area in (cla_m2, wing.cla_front_m2, wing.cla_rear_m2)
    )
    return PlaceMap(height_m, setback_m, speed_m_s, downforce, front, rear, share, allowed, note)
