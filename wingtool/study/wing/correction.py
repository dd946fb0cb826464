"""The wing's table with the track's answer."""

from dataclasses import replace
from typing import Any

import numpy as np

from wingtool.wing import Force, WingPolar


def corrected(wing: WingPolar, correction: Any) -> WingPolar:
    """The wing's table with the track's answer: factors on forces, their band in place of the estimate's."""
    if correction is None:
        return wing
    changes: dict[str, Any] = {}
    for name, factor, low, high in (
        ("downforce", correction.downforce_factor, correction.downforce_low, correction.downforce_high),
        ("drag", correction.drag_factor, correction.drag_low, correction.drag_high),
    ):
        force = getattr(wing, name)
        if low is None or high is None:
            ends = force.low_n * factor, force.high_n * factor
        else:
            ends = force.n * low, force.n * high  # a negative force turns the two round
        changes[name] = Force(force.n * factor, np.minimum(*ends), np.maximum(*ends))
    changes["pitching_moment_nm"] = wing.pitching_moment_nm * correction.downforce_factor
    down, drag = correction.downforce_factor, correction.drag_factor
    by_downforce = ("CL", "CL_far_wake", "CL_other", "CM", "strip_cl", "strip_moment_n")
    by_drag = ("CD", "CD_induced", "CD_profile", "CD_plates", "CD_base", "CD_mounts")
    for name, factor in [(n, down) for n in by_downforce] + [(n, drag) for n in by_drag]:
        changes[name] = getattr(wing, name) * factor
    changes["strip_load_n_m"] = wing.strip_load_n_m * correction.downforce_factor
    return replace(wing, **changes, band_origin=f"corrected by the track: {correction.origin}")
