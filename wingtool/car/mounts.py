"""What the wing puts into its stands, feet and bolts, and the proof load in sandbags."""

from dataclasses import dataclass
from math import ceil, floor, log10

import numpy as np

from wingtool.constants import GRAVITY_M_S2

MOUNT_CAUTION = (
    "a wing that comes off at speed takes the car with it: proof-load, tether, re-torque and look for cracks "
    "every session; a taller stand is a larger moment; deck lids, hinges and latches are not made for this; "
    "the event's rules, local law and a licensed engineer come before these numbers"
)
FACTOR_ORIGIN = "gust, shock and proof factors: common practice, no source"
NOT_IN_IT = "side wind on the endplates is not in it, nor the sideways moment in a bolt's pull"


@dataclass(frozen=True)
class Mounts:
    """Stands of the wing.

    Parameters
    ----------
    stands : int
        One or two.
    spacing_m : float
        Between two stands [m].
    stand_height_m : float
        From the foot to the wing's reference point [m].
    foot_ahead_m : float
        Foot's middle ahead of the wing's reference point [m].
    bolts_per_foot : int
        In two rows, fore and aft.
    bolt_rows_m : float
        Between the two rows [m].
    behind_rear_axle_m : float
        Wing's reference point behind the rear axle [m].
    wing_mass_kg : float
        With endplates [kg].
    gust_factor : float
        On the air loads.
    shock_g : float
        Kerbs and bumps, on the wing's own mass, over gravity.
    proof_factor : float
        Proof load over the greatest load, gust and shock included.
    """

    behind_rear_axle_m: float
    stands: int = 2
    spacing_m: float = 0.9
    stand_height_m: float = 0.3
    foot_ahead_m: float = 0.0
    bolts_per_foot: int = 4
    bolt_rows_m: float = 0.1
    wing_mass_kg: float = 6.0
    gust_factor: float = 1.5
    shock_g: float = 3.0
    proof_factor: float = 2.0


@dataclass(frozen=True)
class MountLoads:
    """Loads at the worst point of the table, gust and shock included; the two feet alike.

    `per foot`: down_n (of two feet the one towards which the sideways shock tips the wing), drag_n, side_n
    (shock alone), moment_nm (nose-up, about the foot's middle; the larger of with and without the download,
    whose relief is not counted on), sideways_moment_nm. `per bolt`: bolt_tension_n of the pulled row by
    moment_nm alone, bolt_shear_n. `proof_down_n`, `proof_drag_n`: for the whole wing.
    """

    mounts: Mounts
    speed_m_s: float
    wing_angle_deg: float
    downforce_n: float
    drag_n: float
    down_n: float
    foot_drag_n: float
    side_n: float
    moment_nm: float
    sideways_moment_nm: float
    bolt_tension_n: float
    bolt_shear_n: float
    proof_down_n: float
    proof_drag_n: float
    caution: str = MOUNT_CAUTION
    factor_origin: str = FACTOR_ORIGIN


@dataclass(frozen=True, eq=False)
class ProofRecipe:
    """Sandbags: `bag_kg` (n,) at `station_y_m` (n,) from the middle, and a pull aft `drag_pull_n`."""

    station_y_m: np.ndarray
    bag_kg: np.ndarray
    drag_pull_n: float
    text: str


def mount_loads(
    mounts: Mounts,
    downforce_n: float,
    drag_n: float,
    moment_nm: float,
    speed_m_s: float,
    wing_angle_deg: float,
) -> MountLoads:
    """Foot and bolt loads by statics from the whole wing's force and its nose-up moment.

    Parameters
    ----------
    downforce_n, drag_n : float
        High ends of the wing's bands [N], before any factor.
    moment_nm : float
        Nose-up moment about the reference point [N m].
    """
    weight = mounts.wing_mass_kg * GRAVITY_M_S2
    shock = mounts.shock_g * weight
    aero_down, aero_drag = downforce_n * mounts.gust_factor, drag_n * mounts.gust_factor
    down = aero_down + shock + weight
    air = aero_drag * mounts.stand_height_m + moment_nm * mounts.gust_factor
    moment = max((air + load * mounts.foot_ahead_m for load in (down, weight - shock)), key=abs)
    per = 1.0 / mounts.stands
    tipping = shock * mounts.stand_height_m / mounts.spacing_m if mounts.stands == 2 else 0.0
    row = max(mounts.bolts_per_foot // 2, 1)
    return MountLoads(
        mounts=mounts,
        speed_m_s=speed_m_s,
        wing_angle_deg=wing_angle_deg,
        downforce_n=downforce_n,
        drag_n=drag_n,
        down_n=down * per + tipping,
        foot_drag_n=aero_drag * per,
        side_n=shock * per,
        moment_nm=moment * per,
        sideways_moment_nm=shock * mounts.stand_height_m * per,
        bolt_tension_n=abs(moment) * per / mounts.bolt_rows_m / row,
        bolt_shear_n=float(np.hypot(aero_drag, shock)) * per / mounts.bolts_per_foot,
        proof_down_n=down * mounts.proof_factor,
        proof_drag_n=aero_drag * mounts.proof_factor,
    )


def proof_recipe(loads: MountLoads, y_m: np.ndarray, load_n_m: np.ndarray, stations: int = 7) -> ProofRecipe:
    """The proof load as bags along the span, in the proportion of the load there.

    Bags are rounded up to half a kilogram, so the total is never below the proof load.
    """
    edges = np.linspace(y_m[0], y_m[-1], stations + 1)
    running = np.r_[0.0, np.cumsum((load_n_m[1:] + load_n_m[:-1]) / 2 * np.diff(y_m))]
    share = np.diff(np.interp(edges, y_m, running)) / running[-1]
    bags = np.ceil(np.round(share * loads.proof_down_n / GRAVITY_M_S2 * 2, 6)) / 2
    pull = loads.proof_drag_n
    text = (
        f"On the bench or on the car at rest: {stations} bags side by side along the span, as listed, on the "
        "quarter chord, lowered gently and left for two minutes; pull the wing aft where the stands hold it, "
        f"at its own height, with {_two_up(pull)} N ({_two_up(pull / GRAVITY_M_S2)} kgf). Nobody under or "
        "beside it. After unloading nothing may have moved, cracked or stayed bent. Other series ask for "
        "other loads: read your own rules first."
    )
    return ProofRecipe((edges[1:] + edges[:-1]) / 2, bags, loads.proof_drag_n, text)


def _two_up(value: float) -> str:
    """Two figures, rounded up: a proof load is a least load."""
    if value <= 0.0:
        return "0"
    step = 10.0 ** max(floor(log10(value)) - 1, 0)
    return f"{ceil(round(value / step, 6)) * step:.0f}"
