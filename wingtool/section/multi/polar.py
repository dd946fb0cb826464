"""The polar of several elements: with boundary layers, or inviscid where that fails or is asked for."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from wingtool.errors import RangeError
from wingtool.geometry import Section
from wingtool.section.cache import cached_rows
from wingtool.section.multi.coupled import GroupPoint, march_elements, prepare_elements
from wingtool.section.multi.inviscid import inviscid_elements_polar
from wingtool.section.multi.placement import Flap, place_elements
from wingtool.section.polar import NOT_CONVERGED, SectionPolar, status_from_shape
from wingtool.section.surface import Surface, surface_state

PANELS = 120  # for each element
LEAST_POINTS = 3  # of a Reynolds number, below which the row is no polar
NUMBERS = ("cl", "cd", "cm", "circulation")
NOTE = (
    "several elements, boundary layers coupled in turn; wakes do not merge with the layers below them; no "
    "measured section of several elements is among the checks"
)
BAND_ORIGIN = "several elements: lift 12 %, drag -30 to +50 %; common practice, no measurement"


def elements_polar(
    main: Section,
    flaps: Sequence[Flap],
    reynolds: ArrayLike,
    alpha_deg: ArrayLike,
    surface: str = "race",
    trip_x: float | None = None,
    height_chord: float = np.inf,
    method: str = "coupled",
) -> SectionPolar:
    """Polar of several elements together, coefficients on the main element's chord.

    Parameters
    ----------
    main : Section
    flaps : sequence of Flap
        From front to rear.
    reynolds : float or array, shape (k,)
        On the main element's chord.
    alpha_deg : float or array, shape (m,)
        Of the main element's chord line, increasing [deg].
    surface : str
        ``smooth``, ``race`` or ``dirty``.
    trip_x : float, optional
        Trip on every element at this share of its own chord, in place of the surface's own.
    height_chord : float
        Lowest point of all elements turned over, above the ground, over the main chord; inf in free air.
    method : str
        ``coupled`` or ``inviscid``.

    Returns
    -------
    SectionPolar
        Its `method` says which part of the work was inviscid: all of it where a Reynolds number has fewer
        than three coupled points; a note then says why.

    Raises
    ------
    RangeError
        Unknown method or surface; a slot that cannot be.
    """
    if method not in ("coupled", "inviscid"):
        raise RangeError(f"several elements: method {method!r} is not known; choose coupled or inviscid")
    rows = np.atleast_1d(np.asarray(reynolds, dtype=float))
    alpha = np.atleast_1d(np.asarray(alpha_deg, dtype=float))
    if method == "inviscid":
        return inviscid_elements_polar(main, flaps, rows, alpha, height_chord)
    outlines = place_elements(main, flaps, PANELS)
    state = surface_state(surface)
    solved = [_row(outlines, alpha, float(row), state, trip_x, height_chord) for row in rows]
    needed = min(LEAST_POINTS, len(alpha))
    for reynolds_number, row in zip(rows, solved, strict=True):
        if np.isfinite(row["cl"]).sum() < needed:
            plain = inviscid_elements_polar(main, flaps, rows, alpha, height_chord)
            reason = next(filter(None, row["why"]), "no reason given")
            failed = f"coupled solution failed at Reynolds {reynolds_number:.3g}: {reason}"
            return replace(plain, notes=(failed, *plain.notes))
    return _labelled(main, rows, alpha, solved, surface, trip_x, height_chord)


def _row(
    outlines: tuple[np.ndarray, ...],
    alpha_deg: np.ndarray,
    reynolds: float,
    state: Surface,
    trip_x: float | None,
    height_chord: float,
) -> dict[str, np.ndarray]:
    """One Reynolds number, kept or computed."""

    def computed(_missing) -> list[dict[str, np.ndarray]]:
        group = prepare_elements(outlines, height_chord)
        points, why = march_elements(group, alpha_deg, reynolds, state, trip_x)
        nothing = (np.nan,) * len(NUMBERS)
        table = np.array([_numbers(point) if point else nothing for point in points]).T
        return [dict(zip(NUMBERS, table, strict=True)) | {"why": np.array(why, dtype=str)}]

    facts = (*outlines, alpha_deg, reynolds, state, trip_x, height_chord)
    return cached_rows([facts], (*NUMBERS, "why"), computed)[0]


def _numbers(point: GroupPoint) -> tuple[float, ...]:
    return float(point.cl.sum()), float(point.cd.sum()), point.cm, point.circulation


def _labelled(main, rows, alpha, solved, surface, trip_x, height_chord) -> SectionPolar:
    numbers: dict[str, Any] = {name: np.stack([row[name] for row in solved]) for name in NUMBERS}
    cl, cd = numbers["cl"], numbers["cd"]
    status = status_from_shape(alpha, cl)
    for i, row in enumerate(solved):
        for j in np.flatnonzero(~np.isfinite(cl[i])):
            status[i, j] = f"{NOT_CONVERGED}: {row['why'][j]}"
    return SectionPolar(
        alpha_deg=alpha,
        reynolds=rows,
        **numbers,
        status=status,
        method="coupled",
        section=main,
        surface=surface,
        trip_x=trip_x,
        height_chord=height_chord,
        cl_low=np.minimum(0.88 * cl, 1.12 * cl),
        cl_high=np.maximum(0.88 * cl, 1.12 * cl),
        cd_low=0.7 * cd,
        cd_high=1.5 * cd,
        band_origin=BAND_ORIGIN,
        notes=(NOTE,),
    )
