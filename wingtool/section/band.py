"""The band of coupled section data, by regime, from the comparison with published measurements.

Compared (tests/test_coupled.py, `wingtool trust`, and the 6-series of USAF Datcom, 1978, table 4.1.1-B, from
memory), with 200 panels: lift slope of thirteen four-digit, five-digit and 6-series sections, 3.5 % high in
the mean, 4.8 % rms (four-digit sections 2 to 9 %, 6-series -1 to 2 %); zero-lift angle of the same, 0.25
degrees rms, 0.028 in cl; greatest lift of fourteen sections at Re 2e5 to 9e6, thick enough not to stall from
the nose, 1.3 % low in the mean, 4.1 % rms, worst 10.5 %; drag of the 0012, 1.4 %, and least drag of four
sections, 5 %. Bands are about twice these; all lift of the compared sections from -2 to 6 degrees lies
inside. Drag at Re below 1e6 and beyond stall had no measurement to go by; its band there is own choice.
"""

from dataclasses import replace

import numpy as np

from wingtool.files import words_beside
from wingtool.geometry import Section
from wingtool.section.curves import first_peak
from wingtool.section.polar import BEYOND_STALL, CONVERGED, LOW_CONFIDENCE, SectionPolar
from wingtool.section.surface import trip_of

LEAST_CL = 0.05
ATTACHED_CL, NEAR_STALL_CL, STALLED_CL = 0.08, 0.11, 0.25  # part of cl
ATTACHED_CD, NEAR_STALL_CD, STALLED_CD = 0.12, 0.25, 0.50  # part of cd
LOW_REYNOLDS, LOW_REYNOLDS_CD = 1e6, 0.20
# A tripped wing over a moving road made up to about half more than computed, more than 10 % more below 0.3
# chord (Zhang, Toet & Zerihan, Applied Mechanics Reviews 59(1), 2006, fig. 8a, second hand): its layer
# separates later than computed here; `wing/README.md` has the figures.
GROUND_TRIPPED_CL, GROUND_TRIPPED_FROM, TRIPPED_X = 0.5, 0.6, 0.3  # part of cl, height [chord], x/c
GROUND_TRIPPED_DOUBT = 0.3  # height [chord] below which a separated point says low confidence
GROUND_TRIPPED_NOTE: str = words_beside(__file__, "band")["tripped"]
NEAR_STALL = 0.8  # of the greatest lift
# Gault, NACA TN 3963 (1957), from memory: below this ordinate of the upper side at x/c 0.0125 stall is
# from the nose. Measured 0006 and 0009 stall at 0.58 and 0.78 of the lift computed here.
NOSE_X, NOSE_Y, NOSE_STALL_FROM, NOSE_STALL_CL = 0.0125, 0.0165, 0.55, 0.45
ORIGIN = "coupled: about twice the rms difference from published measurements, by regime"


def sides_of(section: Section) -> tuple[np.ndarray, np.ndarray]:
    """Points of the upper and the lower side, both from the nose on."""
    nose = int(section.xy[:, 0].argmin())
    return section.xy[nose::-1], section.xy[nose:]


def nose_stall(section: Section, upper: bool = True) -> bool:
    """Whether a nose is so sharp that stall of a side comes from it (Gault 1957), outside the method."""
    side = sides_of(section)[0] if upper else sides_of(section)[1] * [1.0, -1.0]
    return bool(np.interp(NOSE_X, *side.T) < NOSE_Y)


def with_band(polar: SectionPolar) -> SectionPolar:
    """The same polar with its band; angles of a sharp nose near its stall become ``low confidence``."""
    status = np.array(polar.status, dtype=object)
    sharp = np.zeros(status.shape, dtype=bool)
    attached_cd = np.where(polar.reynolds < LOW_REYNOLDS, LOW_REYNOLDS_CD, ATTACHED_CD)[:, None]
    share, stalled = _towards_stall(polar)
    near, beyond = share > NEAR_STALL, stalled | (status == BEYOND_STALL)
    cl_part = np.select([beyond, near], [STALLED_CL, NEAR_STALL_CL], ATTACHED_CL)
    cd_part = np.select([beyond, near], [STALLED_CD, NEAR_STALL_CD], attached_cd)
    if polar.section is not None:
        noses = [nose_stall(polar.section, upper) for upper in (True, False)]
        sharp = np.where(polar.cl > 0, *noses) & (share > NOSE_STALL_FROM)
    tripped = _ground_tripped(polar)
    early = np.zeros_like(sharp)
    if tripped and polar.height_chord < GROUND_TRIPPED_DOUBT and polar.separation_upper is not None:
        early = (polar.separation_upper < 1.0) & (polar.cl > 0) & (status == CONVERGED)
    status[early | (sharp & (status == CONVERGED))] = LOW_CONFIDENCE
    cl_part, cd_part = np.where(sharp, NOSE_STALL_CL, cl_part), np.where(sharp, STALLED_CD, cd_part)
    less = LEAST_CL + cl_part * np.abs(polar.cl)  # towards none
    more = np.where(sharp, LEAST_CL, less) + tripped * np.abs(polar.cl)
    up = polar.cl > 0
    return replace(
        polar,
        status=status,
        cl_low=polar.cl - np.where(up, less, more),
        cl_high=polar.cl + np.where(up, more, less),
        cd_low=polar.cd * (1 - np.minimum(cd_part, 0.5)),
        cd_high=polar.cd * (1 + cd_part),
        band_origin=ORIGIN,
        notes=(*polar.notes, *([GROUND_TRIPPED_NOTE] if early.any() else [])),
    )


def _ground_tripped(polar: SectionPolar) -> float:
    """Part of cl by which the lift of a tripped section near the ground may be greater."""
    return GROUND_TRIPPED_CL * towards_ground(polar) * (trip_of(polar.surface, polar.trip_x) < TRIPPED_X)


def towards_ground(polar: SectionPolar) -> float:
    """0 from `GROUND_TRIPPED_FROM` up, 1 on the ground."""
    return max(1.0 - polar.height_chord / GROUND_TRIPPED_FROM, 0.0)


def _towards_stall(polar: SectionPolar) -> tuple[np.ndarray, np.ndarray]:
    """Lift over the greatest on its side, and whether the angle is beyond that side's first peak."""
    share, stalled = np.zeros(polar.cl.shape), np.zeros(polar.cl.shape, dtype=bool)
    for sign in (1, -1):
        alpha = sign * polar.alpha_deg
        separated = polar.separation_upper if sign > 0 else None
        for k, cl in enumerate(sign * polar.cl):
            aft = None if separated is None else separated[k]
            peak, most, seen = first_peak(alpha[::sign], cl[::sign], aft)
            if most > 0:
                share[k] = np.where(cl > 0, cl / most, share[k])
                stalled[k] |= seen & (alpha > peak + 1e-9)
    return share, stalled


def with_second_solution(polar: SectionPolar, cl: np.ndarray, cd: np.ndarray) -> SectionPolar:
    """The same polar with its band stretched to a second solution, shape ``(k, m)``, nan where none."""
    edges = {
        "cl_low": (np.fmin, cl),
        "cl_high": (np.fmax, cl),
        "cd_low": (np.fmin, cd),
        "cd_high": (np.fmax, cd),
    }
    return replace(
        polar, **{name: further(getattr(polar, name), to) for name, (further, to) in edges.items()}
    )
