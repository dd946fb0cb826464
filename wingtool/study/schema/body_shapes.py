"""Plain side outlines of five body types, without wheels, for a car that nobody has measured point by point.

Drawn for wingtool from common proportions (own sketches, no car in particular); a measured outline is better.
"""

from typing import Literal

import numpy as np

from wingtool.files import toml_beside

Body = Literal["hatchback", "saloon", "estate", "coupe", "open"]

SHAPES: dict[str, list[list[float]]] = toml_beside(__file__, "body_shapes.toml")


def body_outline_m(body: str, length_m: float, height_m: float) -> np.ndarray:
    """Side outline (n, 2) of a body type: x rearwards from the nose and height above the ground [m].

    Examples
    --------
    >>> outline = body_outline_m("saloon", 4.4, 1.4)
    >>> float(outline[:, 0].max()), float(outline[:, 1].max())
    (4.4, 1.4)
    """
    return np.array(SHAPES[body]) * (length_m, height_m)
