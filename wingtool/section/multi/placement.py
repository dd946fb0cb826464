"""Several elements with slots: further elements placed behind the main one by gap and overlap."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wingtool.errors import RangeError
from wingtool.geometry import Section, polyline, repanel

PANELS = 160
HEIGHTS = 200  # tried for a flap, from below
MOST_CHORD = 1.5  # of a flap over the main element's


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
    from scipy.spatial.distance import cdist

    placed = [repanel(main, panels).xy]
    for number, flap in enumerate(flaps, 1):
        for name, least, most in (("chord", 0.0, MOST_CHORD), ("gap", 0.0, 0.5), ("overlap", -0.5, 0.5)):
            if not least < (size := getattr(flap, name)) <= most:
                raise RangeError(
                    f"element[{number}].{name} is {100 * size:.3g} % of the main chord, outside"
                    f" {100 * least:g} to {100 * most:g} %; check value and unit"
                )
        placed.append(_behind(placed[-1], flap, panels, number))
    for one in range(len(placed)):
        for other in range(one + 1, len(placed)):
            if cdist(placed[one], placed[other]).min() < 0.5 * min(flap.gap for flap in flaps):
                ahead = f"element[{one}]" if one else "the main element"
                raise RangeError(f"element[{other}] touches {ahead}: widen its gap or take less overlap")
    return tuple(placed)


def along_chord(outline: np.ndarray) -> tuple[np.ndarray, float]:
    """Places (N,) of an element's nodes along its own chord, 0 at the nose, 1 at the tail; its chord."""
    tail = (outline[0] + outline[-1]) / 2
    away = np.hypot(*(outline - tail).T)
    nose = outline[np.argmax(away)]
    return (outline - nose) @ (tail - nose) / np.sum((tail - nose) ** 2), float(away.max())


def _behind(ahead: np.ndarray, flap: Flap, panels: int, number: int) -> np.ndarray:
    """The flap turned, its nose placed by the overlap, then lowered until the slot is as wide as the gap."""
    from scipy.optimize import brentq

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
        least, most = -100 * flap.gap, 100 * (np.ptp(turned[:, 0]) + flap.gap)
        raise RangeError(
            f"element[{number}].overlap is {100 * flap.overlap:.3g} % of the main chord; a slot of this gap"
            f" needs {least:.2g} to {most:.2g} %: change overlap or gap"
        )
    first = int(np.argmax(narrow))
    height = brentq(lambda one: _gap(turned, tail, one) - flap.gap, heights[first - 1], heights[first])
    return turned + [0.0, height]


def _gap(outline: np.ndarray, point: np.ndarray, raised: float) -> float:
    """Shortest distance from a point to an outline that is raised by some height."""
    _, _, away = polyline.feet(polyline.closed(outline), (point - [0.0, raised])[None])
    return float(np.hypot(*away[0]))
