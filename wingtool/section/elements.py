"""Several elements with slots: placed by gap and overlap; their polar in potential flow with a stall limit.

Lift, moment and pressure are inviscid here (`wingtool.section.elements_coupled` has the boundary layers).
Two things are added so that the answer can be used with care:

- Drag: turbulent skin friction 0.074 Re^(-1/5) (Prandtl; Schlichting, Boundary-Layer Theory) of each element
  on its own chord, weighted by the square of the local speed all round; no pressure drag.
- A stall limit: the angle from which turbulent flow under this pressure (`wingtool.section.attached`) leaves
  the last fifth of an element's upper side or more (common practice, no source). Past it there are no
  numbers: potential flow does not lose the lift that a real wing would.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from wingtool.errors import RangeError
from wingtool.geometry import Section, repanel
from wingtool.panels import InviscidFlow, solve
from wingtool.section.attached import separation
from wingtool.section.polar import LOW_CONFIDENCE, NOT_CONVERGED, SectionPolar

PANELS = 160
HEIGHTS = 200  # tried for a flap, from below
ATTACHED = 0.8  # share of an element's chord
PAST_LIMIT = f"{NOT_CONVERGED}: past the stall limit, where inviscid lift means nothing"
NOTE = (
    "several elements: inviscid lift, friction drag only, stall limit by Head's method; "
    "near and beyond that angle do not trust it"
)
BAND_ORIGIN = "several elements: lift up to 25 % too high, drag from half to three times; common practice"


@dataclass(frozen=True)
class Flap:
    """A further element behind another one; lengths over the main element's chord.

    Parameters
    ----------
    section : Section
    chord : float
    angle_deg : float
        Against the main element's chord line, positive tail down as drawn, which makes more lift [deg].
    gap : float
        Shortest distance from the tail of the element ahead to this element's surface.
    overlap : float
        How far its nose lies ahead of that tail, along the main element's chord.
    """

    section: Section
    chord: float
    angle_deg: float
    gap: float
    overlap: float


def place_elements(main: Section, flaps: Sequence[Flap], panels: int = PANELS) -> tuple[np.ndarray, ...]:
    """Outlines of all elements in the frame of the main one, each shape (panels + 1, 2).

    Raises
    ------
    RangeError
        A slot that cannot be had with this overlap, or elements that touch.
    """
    placed = [repanel(main, panels).xy]
    for number, flap in enumerate(flaps, 2):
        if not (0 < flap.chord <= 1.5 and 0 < flap.gap < 0.5 and abs(flap.overlap) < 0.5):
            raise RangeError(f"element {number}: chord, gap or overlap out of range (over the main chord)")
        placed.append(_behind(placed[-1], flap, panels, number))
    for one in range(len(placed)):
        for other in range(one + 1, len(placed)):
            if _distance(placed[one], placed[other]) < 0.5 * min(flap.gap for flap in flaps):
                raise RangeError(f"elements {one + 1} and {other + 1} touch; widen the gap or overlap less")
    return tuple(placed)


def _behind(ahead: np.ndarray, flap: Flap, panels: int, number: int) -> np.ndarray:
    """The flap turned, its nose placed by the overlap, then lowered until the slot is as wide as the gap."""
    tail = (ahead[0] + ahead[-1]) / 2
    outline = repanel(flap.section, panels).xy * flap.chord
    turn = -np.radians(flap.angle_deg)
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    turned = outline @ rotation.T
    turned = turned - [turned[:, 0].min() - (tail[0] - flap.overlap), 0.0]
    # raised from far below, the slot narrows: the first height at which it is no wider than the gap
    lowest = tail[1] - turned[:, 1].max() - 1.1 * flap.gap
    heights = np.linspace(lowest, tail[1] - turned[:, 1].min(), HEIGHTS)
    narrow = np.array([_gap(turned, tail, height) <= flap.gap for height in heights])
    if narrow[0] or not narrow.any():
        raise RangeError(f"element {number}: overlap {flap.overlap:g} leaves no slot of {flap.gap:g} chord")
    low, high = heights[np.argmax(narrow) - 1], heights[np.argmax(narrow)]
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if _gap(turned, tail, middle) > flap.gap else (low, middle)
    return turned + [0.0, low]


def _gap(outline: np.ndarray, point: np.ndarray, raised: float) -> float:
    """Shortest distance from a point to an outline that is raised by some height."""
    start = outline + [0.0, raised] - point
    step = np.roll(start, -1, axis=0) - start
    length = np.maximum((step**2).sum(axis=1), 1e-30)
    share = np.clip(-(start * step).sum(axis=1) / length, 0, 1)
    return float(np.sqrt(((start + share[:, None] * step) ** 2).sum(axis=1).min()))


def _distance(one: np.ndarray, other: np.ndarray) -> float:
    return float(np.sqrt(((one[:, None] - other) ** 2).sum(axis=2).min()))


def inviscid_elements_polar(
    main: Section,
    flaps: Sequence[Flap],
    reynolds: ArrayLike,
    alpha_deg: ArrayLike,
    height_chord: float = np.inf,
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
        Of the main element's chord line [deg].
    height_chord : float
        Lowest point of all elements turned over, above the ground, over the main chord; inf in free air.

    Returns
    -------
    SectionPolar
        Status ``low confidence`` up to the stall limit; nan, and a status that says so, past it.
    """
    rows = np.atleast_1d(np.asarray(reynolds, dtype=float))
    alpha = np.atleast_1d(np.asarray(alpha_deg, dtype=float))
    outlines = place_elements(main, flaps)
    ground = height_chord if np.isfinite(height_chord) else None
    flow = solve(outlines, alpha, ground_height=ground)
    shape = (len(rows), len(alpha))
    cl, cm, ring = (
        np.broadcast_to(part.sum(axis=1), shape).copy() for part in (flow.cl, flow.cm, flow.circulation)
    )
    cd = friction_drag(flow, rows)
    attached = np.stack([attached_to(flow, row).min(axis=1) >= ATTACHED for row in rows])
    status = np.where(attached, LOW_CONFIDENCE, PAST_LIMIT).astype(object)
    cl, cd, cm, ring = (np.where(attached, column, np.nan) for column in (cl, cd, cm, ring))
    return SectionPolar(
        alpha_deg=alpha,
        reynolds=rows,
        cl=cl,
        cd=cd,
        cm=cm,
        status=status,
        method="inviscid",
        section=main,
        height_chord=height_chord,
        circulation=ring,
        cl_low=np.minimum(cl, 0.75 * cl),
        cl_high=np.maximum(cl, 0.75 * cl),
        cd_low=0.5 * cd,
        cd_high=3 * cd,
        band_origin=BAND_ORIGIN,
        notes=(NOTE,),
    )


def friction_drag(flow: InviscidFlow, reynolds: np.ndarray) -> np.ndarray:
    """Friction drag of all elements, shape (k, m), on the common chord."""
    total = np.zeros((len(reynolds), len(flow.alpha_deg)))
    first = 0
    for outline in flow.elements:
        speed = flow.gamma[:, first : first + len(outline)]
        first += len(outline)
        coefficient = 0.074 * (reynolds * _chord(outline)) ** -0.2
        total += coefficient[:, None] * np.trapezoid(speed**2, _arc(outline), axis=1)
    return total


def attached_to(flow: InviscidFlow, reynolds: float) -> np.ndarray:
    """Share of each element's chord up to which the upper side's flow stays attached, shape (m, elements)."""
    parts, first = [], 0
    for outline in flow.elements:
        speed = flow.gamma[:, first : first + len(outline)]
        first += len(outline)
        arc = _arc(outline)
        tail = (outline[0] + outline[-1]) / 2
        nose = outline[np.argmax(np.hypot(*(outline - tail).T))]
        along = (outline - nose) @ (tail - nose) / _chord(outline) ** 2
        parts.append(np.interp(separation(speed, arc, reynolds), arc, along))
    return np.stack(parts, axis=1)


def _arc(outline: np.ndarray) -> np.ndarray:
    return np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(outline, axis=0).T))))


def _chord(outline: np.ndarray) -> float:
    return float(np.hypot(*(outline - (outline[0] + outline[-1]) / 2).T).max())
