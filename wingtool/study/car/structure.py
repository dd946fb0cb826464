"""What stands and spar bear: the wing's worst load at the car's fastest speed, and the proof load for it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.car import (
    BeamLoads,
    MountLoads,
    Mounts,
    ProofRecipe,
    beam,
    mount_loads,
    proof_recipe,
    stand_stations,
    whole_span,
)
from wingtool.errors import StudyError

if TYPE_CHECKING:
    from wingtool.wing import WingPolar


def structure(
    study: Any, wing: WingPolar, mounts: Mounts | None, top: float, circuit_top: float | None = None
) -> tuple[BeamLoads | None, MountLoads | None, ProofRecipe | None, MountLoads | None]:
    """Beam at the angle of greatest downforce at top speed; mounts at the worst of all; high end of the band.

    The coefficients at top speed are those of the nearest speed at which any angle converged. Nothing where
    none of its angles makes downforce: feet and sandbags are for a wing that presses. Last the mounts at the
    fastest speed on the circuit [m/s], where there is one.
    """
    if mounts is None:
        return None, None, None, None
    if mounts.stands == 2 and mounts.spacing_m > wing.wing.span_m:
        raise StudyError(
            f"mounts.spacing: stands {mounts.spacing_m:.4g} m apart do not reach a wing of "
            f"{wing.wing.span_m:.4g} m span; correct one of them"
        )
    k = _nearest(wing, top)
    m = int(np.nanargmax(wing.downforce.high_n[k]))
    if wing.downforce.high_n[k, m] <= 0.0:
        return None, None, None, None
    loads = _worst_loads(wing, mounts, top)
    on_circuit = _worst_loads(wing, mounts, circuit_top) if circuit_top else None
    grow = (top / float(wing.speed_m_s[k])) ** 2
    own = wing.strip_plane == 0  # a second plane hangs on the same stands; its load counts with the first's
    strips = wing.strip_y_m[own]
    y, line = whole_span(strips, wing.strip_load_n_m[k, m, own] * grow, wing.wing.span_m)
    whole = float(np.trapezoid(line, y))
    line = line * (loads.downforce_n / whole) if whole else line  # the high end, in the load's own shape
    spar = study.spar.value(mounts, wing.wing.span_m) if study.spar else None
    twisting = whole_span(strips, wing.strip_moment_n[k, m, own] * grow, wing.wing.span_m)[1]
    beam_loads = beam(y, line, stand_stations(mounts.stands, mounts.spacing_m), spar, twisting)
    return beam_loads, loads, proof_recipe(loads, beam_loads), on_circuit


def _nearest(wing: WingPolar, speed_m_s: float) -> int:
    """Index of the nearest speed at which any angle converged."""
    there = np.isfinite(wing.downforce.high_n).any(axis=1)
    return int(np.argmin(np.where(there, np.abs(wing.speed_m_s - speed_m_s), np.inf)))


def _worst_loads(wing: WingPolar, mounts: Mounts, top: float) -> MountLoads:
    """Mounts over all converged angles and speeds up to the top speed, each with its own pitching moment.

    The coefficients of the nearest speed are taken to the top speed; the moment is raised as the downforce is
    from its middle to the high end of its band.
    """
    speed = np.minimum(wing.speed_m_s, top)
    speed[_nearest(wing, top)] = top
    grow = ((speed / wing.speed_m_s) ** 2)[:, None]
    force, drag = wing.downforce.high_n * grow, wing.drag.high_n * grow
    with np.errstate(divide="ignore", invalid="ignore"):
        raised = np.where(wing.downforce.n > 0.0, wing.downforce.high_n / wing.downforce.n, 1.0)
    moment = wing.pitching_moment_nm * grow * raised
    known = np.isfinite(force) & np.isfinite(drag) & np.isfinite(moment)
    angles, speeds = np.broadcast_arrays(wing.wing_angle_deg[None, :], speed[:, None])
    return mount_loads(mounts, force[known], drag[known], moment[known], speeds[known], angles[known])
