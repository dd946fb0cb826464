"""The band of coupled section data, by regime, from the comparison with published measurements.

Compared (tests/test_coupled.py, `wingtool trust`): lift slope of ten four-digit, five-digit and 6-series
sections and of the tripped 0012, 3.2 % high in the mean, 4.4 % rms; greatest lift of fifteen sections at Re
2e5 to 9e6, thick enough not to stall from the nose, 1.9 % low in the mean, 5.3 % rms, worst 13 %; drag of the
0012, 1.5 %, and least drag of four sections, 10 %. Bands are about twice these. Drag at Re below 1e6 and
beyond stall had no measurement to go by; its band there is own choice. These means are of the
first build with 160 panels; on the headlines they share, the two builds differ by less than 1 % in clmax.
"""

from dataclasses import replace

import numpy as np

from wingtool.geometry import Section
from wingtool.section.polar import BEYOND_STALL, CONVERGED, LOW_CONFIDENCE, SectionPolar

LEAST_CL = 0.03
ATTACHED_CL, NEAR_STALL_CL, STALLED_CL = 0.08, 0.11, 0.25  # part of cl
ATTACHED_CD, NEAR_STALL_CD, STALLED_CD = 0.12, 0.25, 0.50  # part of cd
LOW_REYNOLDS, LOW_REYNOLDS_CD = 1e6, 0.20
NEAR_STALL = 0.8  # of the greatest lift
# Gault, NACA TN 3963 (1957), from memory: below this ordinate of the upper side at x/c 0.0125 stall is
# from the nose. Measured 0006 and 0009 stall at 0.58 and 0.78 of the lift computed here.
NOSE_X, NOSE_Y, NOSE_STALL_FROM, NOSE_STALL_CL = 0.0125, 0.0165, 0.55, 0.45
ORIGIN = "coupled: about twice the rms difference from published measurements, by regime"


def nose_stall(section: Section) -> bool:
    """Whether a nose is so sharp that stall comes from it (Gault 1957), which is outside the method."""
    xy = np.asarray(section.xy)
    upper = xy[: int(np.argmin(xy[:, 0])) + 1][::-1]
    return bool(np.interp(NOSE_X, upper[:, 0], upper[:, 1]) < NOSE_Y)


def banded(polar: SectionPolar) -> SectionPolar:
    """The same polar with its band; angles of a sharp nose near its stall become ``low confidence``."""
    status = np.array(polar.status, dtype=object)
    cl_part, cd_part = np.empty(status.shape), np.empty(status.shape)
    sharp = polar.section is not None and nose_stall(polar.section)
    for k, (reynolds, most) in enumerate(zip(polar.reynolds, polar.stall()[1], strict=True)):
        lift = polar.cl[k] / most if most > 0 else np.zeros(len(polar.alpha_deg))
        near, beyond = lift > NEAR_STALL, status[k] == BEYOND_STALL
        attached_cd = LOW_REYNOLDS_CD if reynolds < LOW_REYNOLDS else ATTACHED_CD
        cl_part[k] = np.select([beyond, near], [STALLED_CL, NEAR_STALL_CL], ATTACHED_CL)
        cd_part[k] = np.select([beyond, near], [STALLED_CD, NEAR_STALL_CD], attached_cd)
        if sharp:
            doubtful = (np.abs(lift) > NOSE_STALL_FROM) & ((status[k] == CONVERGED) | beyond)
            status[k, doubtful & ~beyond] = LOW_CONFIDENCE
            cl_part[k, doubtful], cd_part[k, doubtful] = NOSE_STALL_CL, STALLED_CD
    width = LEAST_CL + cl_part * np.abs(polar.cl)
    return replace(
        polar,
        status=status,
        cl_low=polar.cl - width,
        cl_high=polar.cl + np.where(cl_part == NOSE_STALL_CL, LEAST_CL, width),
        cd_low=polar.cd * (1 - np.minimum(cd_part, 0.5)),
        cd_high=polar.cd * (1 + cd_part),
        band_origin=ORIGIN,
    )
