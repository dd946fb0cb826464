"""Where a straightedge lies on the wing's top, and what the gauge on it shows against the chord line."""

from dataclasses import dataclass

import numpy as np

from wingtool.geometry import Section, polyline

SHORTEST = 0.25  # of the chord: on less a straightedge rocks


@dataclass(frozen=True)
class TopFace:
    """Where a straightedge touches the side that is the top on the car [chord]; the gauge shows the chord's
    angle less `offset_deg`.
    """

    first: float
    last: float
    offset_deg: float


def top_face(section: Section) -> TopFace | None:
    """The longest line that touches the top twice; None where the top is round.

    Parameters
    ----------
    section : Section
        As drawn, lifting upwards: its lower side is the top on the car.

    Examples
    --------
    >>> from wingtool.geometry import four_digit
    >>> top_face(four_digit("0012")) is None
    True
    """
    first, last = section.xy[list(polyline.rest_line(section.xy))]
    along, up = last - first
    if along < SHORTEST:
        return None
    return TopFace(float(first[0]), float(last[0]), float(np.degrees(np.arctan2(up, along))))
