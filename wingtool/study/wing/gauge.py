"""Where a straightedge lies on the wing's top, and what the gauge on it shows against the chord line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from wingtool.geometry import Section

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
    from scipy.spatial import ConvexHull

    corners = section.xy[ConvexHull(section.xy).vertices]  # counter-clockwise: along the lower side x grows
    steps = np.roll(corners, -1, axis=0) - corners
    k = int(np.argmax(steps[:, 0]))
    if steps[k, 0] < SHORTEST:
        return None
    first = float(corners[k, 0])
    return TopFace(first, first + float(steps[k, 0]), float(np.degrees(np.arctan2(steps[k, 1], steps[k, 0]))))
