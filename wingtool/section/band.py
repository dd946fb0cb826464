"""The band of coupled section data, from the comparison with published measurements in `trust`."""

from dataclasses import replace

import numpy as np

from wingtool.section.polar import BEYOND_STALL, SectionPolar

ATTACHED_CL, STALLED_CL = 0.06, 0.15  # part of cl
LEAST_CL = 0.03
ATTACHED_CD, STALLED_CD = 0.12, 0.30  # part of cd
ORIGIN = "coupled: comparison with published measurements"


def banded(polar: SectionPolar) -> SectionPolar:
    """The same polar with its band."""
    loose = np.asarray(polar.status) == BEYOND_STALL
    cl_part = np.where(loose, STALLED_CL, ATTACHED_CL)
    cd_part = np.where(loose, STALLED_CD, ATTACHED_CD)
    width = LEAST_CL + cl_part * np.abs(polar.cl)
    return replace(
        polar,
        cl_low=polar.cl - width,
        cl_high=polar.cl + width,
        cd_low=polar.cd * (1 - cd_part),
        cd_high=polar.cd * (1 + cd_part),
        band_origin=ORIGIN,
    )
