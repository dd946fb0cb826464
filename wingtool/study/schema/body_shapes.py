"""Plain side outlines of five body types, without wheels, for a car that nobody has measured point by point.

Drawn for wingtool from common proportions (own sketches, no car in particular); a measured outline is better.
"""

from typing import Literal

import numpy as np

Body = Literal["hatchback", "saloon", "estate", "coupe", "open"]

# x over the length from the nose, height over the roof; one closed loop, nose to the left
SHAPES: dict[str, tuple[tuple[float, float], ...]] = {
    "hatchback": (
        (0.00, 0.24), (0.03, 0.13), (0.97, 0.13), (1.00, 0.32), (0.98, 0.62), (0.90, 0.95), (0.78, 0.99),
        (0.58, 1.00), (0.45, 0.95), (0.30, 0.66), (0.10, 0.57), (0.01, 0.45),
    ),
    "saloon": (
        (0.00, 0.24), (0.03, 0.13), (0.97, 0.13), (1.00, 0.35), (0.99, 0.67), (0.86, 0.71), (0.72, 0.97),
        (0.55, 1.00), (0.44, 0.96), (0.30, 0.66), (0.10, 0.57), (0.01, 0.45),
    ),
    "estate": (
        (0.00, 0.24), (0.03, 0.13), (0.97, 0.13), (1.00, 0.32), (0.99, 0.65), (0.96, 0.93), (0.80, 0.99),
        (0.55, 1.00), (0.43, 0.95), (0.29, 0.66), (0.10, 0.57), (0.01, 0.45),
    ),
    "coupe": (
        (0.00, 0.24), (0.03, 0.13), (0.97, 0.13), (1.00, 0.38), (0.99, 0.66), (0.90, 0.74), (0.68, 0.98),
        (0.56, 1.00), (0.48, 0.96), (0.34, 0.66), (0.10, 0.55), (0.01, 0.44),
    ),
    "open": (
        (0.00, 0.30), (0.03, 0.16), (0.97, 0.16), (1.00, 0.45), (0.98, 0.80), (0.72, 0.80), (0.70, 1.00),
        (0.66, 1.00), (0.64, 0.80), (0.46, 0.80), (0.40, 0.98), (0.33, 0.80), (0.10, 0.68), (0.01, 0.54),
    ),
}  # fmt: skip


def body_outline_m(body: str, length_m: float, height_m: float) -> np.ndarray:
    """Side outline (n, 2) of a body type: x rearwards from the nose and height above the ground [m].

    Examples
    --------
    >>> outline = body_outline_m("saloon", 4.4, 1.4)
    >>> float(outline[:, 0].max()), float(outline[:, 1].max())
    (4.4, 1.4)
    """
    return np.array(SHAPES[body]) * (length_m, height_m)
