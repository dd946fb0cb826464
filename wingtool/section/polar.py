"""The section polar: coefficients over Reynolds number and angle, with their band and a status for each point."""

from dataclasses import dataclass, field

import numpy as np

from wingtool.geometry import Section

CONVERGED = "converged"
BEYOND_STALL = "beyond stall"
TWO_SOLUTIONS = "two solutions"
LOW_CONFIDENCE = "low confidence"
NOT_CONVERGED = "not converged"  # always followed by ": why"


@dataclass(frozen=True, eq=False)
class SectionPolar:
    """Coefficients of one section in one surface state, with one tab, at one height.

    Signs are those of the section as drawn (lifting upwards). Arrays have shape ``(k, m)``: k Reynolds
    numbers by m angles. A point that did not converge is nan and its status says why.

    Parameters
    ----------
    alpha_deg : ndarray, shape (m,)
        Angles of attack [deg], increasing.
    reynolds : ndarray, shape (k,)
        Chord Reynolds numbers, increasing.
    cl, cd, cm : ndarray, shape (k, m)
        Lift, drag, and quarter-chord moment (nose-up positive).
    status : ndarray of str, shape (k, m)
        ``converged``, ``beyond stall``, ``two solutions``, ``low confidence`` or ``not converged: why``.
    method : str
        ``coupled``, ``surrogate``, ``inviscid`` or ``given``.
    circulation : ndarray, shape (k, m), optional
        2 Gamma / (U c). In free air it equals cl and is left out; near the ground it differs.
    cl_low, cl_high, cd_low, cd_high : ndarray, shape (k, m), optional
        The band; `band_origin` names where it comes from.
    transition_upper, transition_lower : ndarray, shape (k, m), optional
        x/c of transition.
    height_chord : float
        Lowest point of the turned-over section above the ground, over the chord; inf in free air.
    tab_chord : float
        Height of the trailing-edge tab over the chord.
    """

    alpha_deg: np.ndarray
    reynolds: np.ndarray
    cl: np.ndarray
    cd: np.ndarray
    cm: np.ndarray
    status: np.ndarray
    method: str
    section: Section | None = None
    surface: str = "smooth"
    trip_x: float | None = None
    tab_chord: float = 0.0
    height_chord: float = np.inf
    circulation: np.ndarray | None = None
    cl_low: np.ndarray | None = None
    cl_high: np.ndarray | None = None
    cd_low: np.ndarray | None = None
    cd_high: np.ndarray | None = None
    band_origin: str = ""
    transition_upper: np.ndarray | None = None
    transition_lower: np.ndarray | None = None
    notes: tuple[str, ...] = field(default=())
