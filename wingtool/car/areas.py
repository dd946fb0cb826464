"""Axle areas: what every part adds to each axle's load and to the drag, over the dynamic pressure.

Everything that the air does to the axles grows with q, levers and the drag couple included. So a part is
three areas [m^2], a car is their sum, and a part that comes off is a sum without it.

Warning: downforce is positive down, drag positive aft. x is measured back from the front axle, so a wing
behind the rear axle has x > wheelbase and a splitter has x < 0. Axle loads follow from statics about the
contact patches: rear = [DF x + D h + M] / L, front = DF - rear, with M the nose-up moment about the point.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from operator import add, sub
from typing import Any

import numpy as np


@dataclass(frozen=True, eq=False)
class AxleAreas:
    """Front and rear load and drag over the dynamic pressure [m^2].

    All fields broadcast together; a part over m wing angles has shape (m,).
    """

    cla_front_m2: Any  # float or ndarray, as all three
    cla_rear_m2: Any
    cda_m2: Any

    @property
    def cla_m2(self) -> Any:
        """Both axles together [m^2]."""
        return self.cla_front_m2 + self.cla_rear_m2

    @property
    def columns(self) -> tuple[np.ndarray, ...]:
        """Front load, rear load and drag, of one shape."""
        return np.broadcast_arrays(self.cla_front_m2, self.cla_rear_m2, self.cda_m2)

    def __add__(self, other: "AxleAreas") -> "AxleAreas":
        return AxleAreas(*map(add, vars(self).values(), vars(other).values()))

    def __sub__(self, other: "AxleAreas") -> "AxleAreas":
        return AxleAreas(*map(sub, vars(self).values(), vars(other).values()))

    def each(self, of: Callable[[Any], Any]) -> "AxleAreas":
        """A function of each column."""
        return AxleAreas(*map(of, vars(self).values()))

    def at(self, index) -> "AxleAreas":
        """The areas at an index of their arrays; plain numbers stay."""
        return AxleAreas(*(column[index] for column in self.columns))


NOTHING = AxleAreas(0.0, 0.0, 0.0)


def total(*parts: AxleAreas) -> AxleAreas:
    """Sum of parts."""
    return sum(parts, NOTHING)


def joined(parts: Sequence[AxleAreas], join: Callable[[Any], np.ndarray]) -> AxleAreas:
    """Columns of several areas put together, as by `numpy.stack` or `numpy.concatenate`."""
    return AxleAreas(*map(join, zip(*(part.columns for part in parts), strict=True)))


def placed(cla_m2, cda_m2, x_m, height_m, wheelbase_m: float, cma_m3=0.0) -> AxleAreas:
    """Axle areas of a force at a point.

    Parameters
    ----------
    cla_m2, cda_m2 : float or ndarray
        Downforce and drag over q [m^2].
    x_m : float or ndarray
        Behind the front axle [m].
    height_m : float or ndarray
        Above the ground [m].
    wheelbase_m : float
        [m].
    cma_m3 : float or ndarray
        Nose-up moment about the point, over q [m^3].

    Examples
    --------
    A wing of 454 N and 45 N drag, 0.6 m behind the rear axle and 1.3 m high on a wheelbase of 2.5 m: it
    loads the rear by 586 N and takes 132 N off the front (statics).

    >>> wing = placed(454.0, 45.0, 3.1, 1.3, 2.5)
    >>> round(wing.cla_rear_m2), round(wing.cla_front_m2)
    (586, -132)
    """
    rear = (cla_m2 * x_m + cda_m2 * height_m + cma_m3) / wheelbase_m
    return AxleAreas(cla_m2 - rear, rear, cda_m2)
