"""The wing's table with the track's answer."""

from dataclasses import replace
from typing import Any

import numpy as np

from wingtool.wing import Force, WingPolar

GROW_WITH = {  # what is multiplied by each factor
    "downforce": ("CL", "CL_far_wake", "CL_other", "CM", "strip_cl", "strip_moment_n", "strip_load_n_m",
                  "pitching_moment_nm"),
    "drag": ("CD", "CD_induced", "CD_profile", "CD_plates", "CD_base", "CD_mounts"),
}  # fmt: skip


def corrected(wing: WingPolar, correction: Any) -> WingPolar:
    """The wing's table with the track's answer: factors on forces, their band in place of the estimate's."""
    if correction is None:
        return wing
    changes: dict[str, Any] = {}
    for name, columns in GROW_WITH.items():
        force = getattr(wing, name)
        factor, low, high = (getattr(correction, f"{name}_{word}") for word in ("factor", "low", "high"))
        if low is None or high is None:
            ends = force.low_n * factor, force.high_n * factor
        else:
            ends = force.n * low, force.n * high  # a negative force turns the two round
        changes[name] = Force(force.n * factor, np.minimum(*ends), np.maximum(*ends))
        changes |= {column: getattr(wing, column) * factor for column in columns}
    return replace(wing, **changes, band_origin=f"corrected by the track: {correction.origin}")
