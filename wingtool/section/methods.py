"""The one door to section data: a polar by the method that the caller names."""

from collections.abc import Callable

import numpy as np

from wingtool.errors import RangeError
from wingtool.geometry import Section
from wingtool.section.polar import SectionPolar


def _surrogate(section, reynolds, alpha_deg, **kind) -> SectionPolar:
    from wingtool.section.surrogate import surrogate_polar

    return surrogate_polar(section, reynolds, alpha_deg, **kind)


def _inviscid(section, reynolds, alpha_deg, **kind) -> SectionPolar:
    from wingtool.section.inviscid import inviscid_polar

    return inviscid_polar(section, reynolds, alpha_deg, **kind)


def _coupled(section, reynolds, alpha_deg, **kind) -> SectionPolar:
    from wingtool.section.coupled.polar import coupled_polar

    return coupled_polar(section, reynolds, alpha_deg, **kind)


def _corrected(section, reynolds, alpha_deg, **kind) -> SectionPolar:
    """The coupled solver corrected by the record; with angles between, so that the stall is seen."""
    from wingtool.section.coupled.polar import coupled_polar
    from wingtool.section.record import with_record

    outside = not alpha_deg[0] <= 0.0 <= alpha_deg[-1]
    ends = np.union1d(alpha_deg, [0.0]) if outside else alpha_deg
    between = [
        np.linspace(one, other, int(np.ceil((other - one) / BETWEEN_DEG - 1e-9)), endpoint=False)
        for one, other in zip(ends[:-1], ends[1:], strict=True)
    ]
    grid = np.append(np.concatenate(between) if between else [], ends[-1])
    return with_record(coupled_polar(section, reynolds, grid, **kind)).only(alpha_deg)


METHODS: dict[str, Callable[..., SectionPolar]] = {
    "corrected": _corrected,
    "coupled": _coupled,
    "surrogate": _surrogate,
    "inviscid": _inviscid,
}
# No method knows a tab itself: it is added to the plain polar, which must reach half its shift further.
TAB_REACH_DEG = np.array([0.5, 1.0, 2.0, 3.0, 4.0])
BETWEEN_DEG = 1.0
SOLVED = ("corrected", "coupled")  # methods that the coupled solver stands behind
DEFAULT_METHOD = "corrected"


def polar(
    section: Section,
    reynolds,
    alpha_deg,
    method: str = DEFAULT_METHOD,
    surface: str = "race",
    trip_x: float | None = None,
    tab_chord: float = 0.0,
    height_chord: float = np.inf,
) -> SectionPolar:
    """Polar of one section by one method.

    Parameters
    ----------
    section : Section
    reynolds : float or array, shape (k,)
        Chord Reynolds numbers.
    alpha_deg : float or array, shape (m,)
        Angles of attack [deg] of the section as drawn (lifting upwards).
    method : str
        A key of `METHODS`.
    surface : str
        ``smooth``, ``race`` or ``dirty``.
    trip_x : float, optional
        Forced transition on both sides at this x/c, in place of the surface's own.
    tab_chord : float
        Height of the trailing-edge tab over the chord.
    height_chord : float
        Lowest point of the turned-over section above the ground, over the chord; inf in free air.

    Raises
    ------
    RangeError
        Unknown method.
    """
    if method not in METHODS:
        raise RangeError(f"method {method!r} is not known; choose one of {', '.join(METHODS)}")
    rows = np.atleast_1d(np.asarray(reynolds, dtype=float))
    alpha = np.atleast_1d(np.asarray(alpha_deg, dtype=float))
    kind = {"surface": surface, "trip_x": trip_x, "height_chord": height_chord}
    if tab_chord:
        from wingtool.section.tab import with_tab

        further = np.concatenate([alpha, alpha[-1] + TAB_REACH_DEG])
        return with_tab(METHODS[method](section, rows, further, tab_chord=0.0, **kind), tab_chord, alpha)
    return METHODS[method](section, rows, alpha, tab_chord=0.0, **kind)
