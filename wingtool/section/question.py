"""What is asked of a method: which section, at which Reynolds numbers and angles, in which state."""

from dataclasses import dataclass

import numpy as np

from wingtool.geometry import Section


@dataclass(frozen=True, eq=False)
class Question:
    """A section polar that is wanted.

    Parameters
    ----------
    section : Section
    reynolds : float or array, shape (k,)
        Chord Reynolds numbers, increasing; kept as an array.
    alpha_deg : float or array, shape (m,)
        Angles of attack [deg] of the section as drawn (lifting upwards), increasing; kept as an array.
    surface : str
        ``smooth``, ``race`` or ``dirty``.
    trip_x : float, optional
        Forced transition on both sides at this x/c, in place of the surface's own.
    tab_chord : float
        Height of the trailing-edge tab over the chord.
    height_chord : float
        Lowest point of the turned-over section above the ground, over the chord; inf in free air.
    """

    section: Section
    reynolds: np.ndarray
    alpha_deg: np.ndarray
    surface: str = "race"
    trip_x: float | None = None
    tab_chord: float = 0.0
    height_chord: float = np.inf

    def __post_init__(self) -> None:
        for name in ("reynolds", "alpha_deg"):
            object.__setattr__(self, name, np.atleast_1d(np.asarray(getattr(self, name), dtype=float)))
