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
    study: Any, wing: WingPolar, mounts: Mounts | None, top: float
) -> tuple[BeamLoads | None, MountLoads | None, ProofRecipe | None]:
    """Beam and mounts at the worst converged angle, at the car's top speed, high end of the band.

    The coefficients are those of the nearest speed at which any angle converged. Nothing where none of its
    angles makes downforce: feet and sandbags are for a wing that presses.
    """
    if mounts is None:
        return None, None, None
    if mounts.stands == 2 and mounts.spacing_m > wing.wing.span_m:
        raise StudyError(
            f"mounts.spacing: stands {mounts.spacing_m:.4g} m apart do not reach a wing of "
            f"{wing.wing.span_m:.4g} m span; correct one of them"
        )
    there = np.isfinite(wing.downforce_high_n).any(axis=1)
    k = int(np.argmin(np.where(there, np.abs(wing.speed_m_s - top), np.inf)))
    grow = (top / float(wing.speed_m_s[k])) ** 2
    force = wing.downforce_high_n[k]
    m = int(np.nanargmax(force))
    if force[m] <= 0.0:
        return None, None, None
    down, drag = float(force[m]) * grow, float(np.nanmax(wing.drag_high_n[k])) * grow
    moment = float(wing.pitching_moment_nm[k, m]) * grow
    loads = mount_loads(mounts, down, drag, moment, top, float(wing.wing_angle_deg[m]))
    own = wing.strip_plane == 0  # a second plane hangs on the same stands; its load counts with the first's
    strips = wing.strip_y_m[own]
    y, line = whole_span(strips, wing.strip_load_n_m[k, m, own] * grow, wing.wing.span_m)
    whole = float(np.trapezoid(line, y))
    line = line * (down / whole) if whole else line  # the high end of the band, in the load's own shape
    spar = study.spar.value(mounts, wing.wing.span_m) if study.spar else None
    twisting = whole_span(strips, wing.strip_moment_n[k, m, own] * grow, wing.wing.span_m)[1]
    beam_loads = beam(y, line, stand_stations(mounts.stands, mounts.spacing_m), spar, twisting)
    return beam_loads, loads, proof_recipe(loads, y, np.maximum(line, 0.0))
