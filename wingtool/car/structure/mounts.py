"""What the wing puts into its stands, feet and bolts, and the proof load in sandbags."""

from dataclasses import dataclass

import numpy as np

from wingtool.car.structure.spar import BeamLoads, running
from wingtool.constants import GRAVITY_M_S2
from wingtool.files import words_beside

WORDS = words_beside(__file__, "mounts")
MOUNT_CAUTION, MOUNTS_FAIL_FIRST, PROOF_LOAD_FIRST = (
    WORDS[name] for name in ("beside", "fail_first", "proof_first")
)
FACTOR_ORIGIN = "gust, shock and proof factors, stands and wake until measured: common practice, no source"
NOT_INCLUDED = "not included: side wind on the endplates, the sideways moment in a bolt's pull"


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
    """Greatest loads over all angles and speeds of the table, gust and shock included; the two feet alike.

    `moment_nm` (nose-up, about the foot's middle; the larger of with and without the download, whose relief
    is not counted on), `bolt_tension_n` of the pulled row and `bolt_shear_n` belong to one and the same
    `speed_m_s` and `wing_angle_deg`: where the foot moment is greatest. `downforce_n`, `drag_n` of the whole
    wing before any factor and, per foot, `down_n` (of two feet the one towards which the sideways shock tips
    the wing), `foot_drag_n`, `side_n` (shock alone), `sideways_moment_nm` are each the greatest of all.
    `proof_down_n`, `proof_drag_n` for the whole wing, the bags `proof_aft_m` behind the wing's reference
    point: together they make `mounts.proof_factor` times the foot moment.
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
    proof_aft_m: float
    caution: str = MOUNT_CAUTION
    factor_origin: str = FACTOR_ORIGIN


@dataclass(frozen=True, eq=False)
class ProofRecipe:
    """Sandbags: `bag_kg` (n,) at `station_y_m` (n,) from the middle."""

    station_y_m: np.ndarray
    bag_kg: np.ndarray


def mount_loads(mounts: Mounts, downforce_n, drag_n, moment_nm, speed_m_s, wing_angle_deg) -> MountLoads:
    """Foot and bolt loads by statics from the whole wing's force and its nose-up moment.

    Parameters
    ----------
    downforce_n, drag_n, moment_nm, speed_m_s, wing_angle_deg : float or ndarray, shape (c,)
        High ends of the wing's bands [N], nose-up moment about the reference point [N m], before any factor,
        at c angles and speeds.
    """
    columns = (downforce_n, drag_n, moment_nm, speed_m_s, wing_angle_deg)
    force, aft, about, speed, angle = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(a, float)) for a in columns)
    )
    weight = mounts.wing_mass_kg * GRAVITY_M_S2
    shock = mounts.shock_g * weight
    down, aero_drag = force * mounts.gust_factor + shock + weight, aft * mounts.gust_factor
    air = aero_drag * mounts.stand_height_m + about * mounts.gust_factor
    both = np.stack([air + down * mounts.foot_ahead_m, air + (weight - shock) * mounts.foot_ahead_m])
    moments = np.take_along_axis(both, np.abs(both).argmax(axis=0)[None], axis=0)[0]
    worst = int(np.argmax(np.abs(moments)))
    moment, most_down, most_drag = float(moments[worst]), float(down.max()), float(aero_drag.max())
    proof_down, proof_drag = most_down * mounts.proof_factor, most_drag * mounts.proof_factor
    bags_moment = mounts.proof_factor * moment - proof_drag * mounts.stand_height_m
    per = 1.0 / mounts.stands
    tipping = shock * mounts.stand_height_m / mounts.spacing_m if mounts.stands == 2 else 0.0
    row = max(mounts.bolts_per_foot // 2, 1)
    return MountLoads(
        mounts=mounts,
        speed_m_s=float(speed[worst]),
        wing_angle_deg=float(angle[worst]),
        downforce_n=float(force.max()),
        drag_n=float(aft.max()),
        down_n=most_down * per + tipping,
        foot_drag_n=most_drag * per,
        side_n=shock * per,
        moment_nm=moment * per,
        sideways_moment_nm=shock * mounts.stand_height_m * per,
        bolt_tension_n=abs(moment) * per / mounts.bolt_rows_m / row,
        bolt_shear_n=float(np.hypot(most_drag, shock)) * per / mounts.bolts_per_foot,
        proof_down_n=proof_down,
        proof_drag_n=proof_drag,
        proof_aft_m=bags_moment / proof_down - mounts.foot_ahead_m,
    )


def proof_recipe(loads: MountLoads, beam: BeamLoads) -> ProofRecipe:
    """The proof load as bags along the span that bend the wing as the air does.

    The span is cut at the stands and where the shear between them is zero, the stations of the greatest
    bending, and each piece again into two of equal load; a bag stands at the centre of each part's load. So
    shear and bending at every cut are the air's times one factor. Who shows a bag rounds it up.
    """
    y, load = beam.y_m, np.maximum(beam.load_n_m, 0.0)
    force, first = running(load, y), running(load * y, y)
    cuts = [y[0], *beam.support_y_m, y[-1]]
    inside = (y > beam.support_y_m[0]) & (y < beam.support_y_m[-1])
    if inside.any():
        cuts.append(float(np.interp(0.0, -beam.shear_n[inside], y[inside])))
    at_cuts = np.interp(np.unique(cuts), y, force)
    marks = np.unique(np.r_[at_cuts, (at_cuts[1:] + at_cuts[:-1]) / 2])
    marks = marks[np.r_[True, np.diff(marks) > 1e-4 * force[-1]]]
    marks[-1] = force[-1]
    part = np.diff(marks)
    centre = np.diff(np.interp(marks, force, first)) / part
    return ProofRecipe(centre, part / force[-1] * loads.proof_down_n / GRAVITY_M_S2)
