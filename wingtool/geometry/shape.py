"""The section value object."""

from dataclasses import dataclass, field, replace

import numpy as np

from wingtool.geometry import polyline


@dataclass(frozen=True, eq=False)
class Section:
    """A section's outline as the trade stores it: lifting upwards.

    Parameters
    ----------
    name : str
        What to call it.
    xy : ndarray, shape (n, 2)
        Unit chord, x 0 at the nose and 1 at the tail, one loop from the tail over the upper side to the
        nose and back along the lower side. Kept read-only.
    origin : str
        Where the shape comes from: file, formula, trace.
    repairs : tuple of str
        What had to be put right when it was read.
    rounding : float
        Half a unit of the last digit that the coordinates were printed to, over the chord; 0 where they are
        exact. Outlines are smoothed within it.
    doubts : tuple of str
        What in the points may be a mistake and was taken as it stands.
    """

    name: str
    xy: np.ndarray
    origin: str = ""
    repairs: tuple[str, ...] = field(default=())
    rounding: float = 0.0
    doubts: tuple[str, ...] = field(default=())

    def __post_init__(self) -> None:
        xy = np.array(self.xy, dtype=float)
        xy.setflags(write=False)
        object.__setattr__(self, "xy", xy)


def turned_over(section: Section) -> Section:
    """The same section upside down, still one loop from the tail over its (new) upper side.

    Examples
    --------
    >>> turned_over(Section("wedge", [[1, 0], [0, 0.1], [1, -0.1]])).xy.tolist()
    [[1.0, 0.1], [0.0, -0.1], [1.0, 0.0]]
    """
    return replace(section, name=f"{section.name} turned over", xy=polyline.turned_over(section.xy))
