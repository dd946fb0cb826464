"""The learned surrogate as a second opinion on a coupled section polar, and where the two part."""

import numpy as np

from wingtool.section import SOLVED, SectionPolar, polar

SOUND_BELOW_STALL = ("converged", "two solutions")


def second_polar(first: SectionPolar) -> SectionPolar | None:
    """The surrogate at the same angles and Reynolds numbers; None with a tab, ground, itself."""
    known = first.tab_chord == 0.0 and not np.isfinite(first.height_chord)
    if first.method not in SOLVED or not known or first.section is None:
        return None
    return polar(first.section, first.reynolds, first.alpha_deg, "surrogate", first.surface, first.trip_x)


def outside_band(polar: SectionPolar, second: SectionPolar) -> np.ndarray:
    """Where below stall the second opinion lies outside the polar's own band of cl, boolean (k, m).

    Two methods that differ by more than either's error are how a solution on the wrong branch shows itself.
    """
    if polar.cl_low is None or polar.cl_high is None:
        return np.zeros(polar.cl.shape, bool)
    outside = (second.cl < polar.cl_low) | (second.cl > polar.cl_high)
    return outside & np.isin(polar.status, SOUND_BELOW_STALL)
