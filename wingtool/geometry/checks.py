"""What no outline may do: cross itself, have no inside, be as thick as it is long."""

import numpy as np

from wingtool.geometry.arrange import signed_area

THICKEST = 0.6  # area over chord squared; a circle has 0.785
OPEN_TAIL = 0.15


def first_crossing(xy: np.ndarray) -> tuple[int, int] | None:
    """Indices of the first pair of segments of the open path that cross, or None.

    Every pair is tried at once: end points of each on opposite sides of the other.
    """
    a, b = xy[:-1], xy[1:]
    d = b - a

    def side(points):
        rel = points[None, :, :] - a[:, None, :]
        return d[:, None, 0] * rel[..., 1] - d[:, None, 1] * rel[..., 0]

    tiny = 1e-12
    of_a, of_b = side(a), side(b)
    splits = ((of_a > tiny) & (of_b < -tiny)) | ((of_a < -tiny) & (of_b > tiny))
    i, j = np.nonzero(np.triu(splits & splits.T, 2))
    return (int(i[0]), int(j[0])) if len(i) else None


def complaint(xy: np.ndarray) -> str:
    """Why a loop cannot be a section, or an empty text."""
    area = signed_area(xy)
    gap = float(np.linalg.norm(xy[0] - xy[-1]))
    if area < 1e-4:
        return "the outline has no inside; check that both sides are there and in order"
    if area > THICKEST:
        return "the outline is nearly as thick as it is long; check the columns and their units"
    if gap > OPEN_TAIL:
        return f"the tail is open by {gap:.2g} chord; add the missing points"
    crossing = first_crossing(xy)
    if crossing:
        x, y = xy[crossing[0]]
        return f"the outline crosses itself near x {x:.4g}, y {y:.4g}; check the points there and their order"
    return ""
