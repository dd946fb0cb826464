"""An estimate with its band, and which doubt the band is made of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Estimate:
    """A value with its band; `doubts` (name, half width) make up the band, largest first."""

    value: float
    low: float
    high: float
    doubts: tuple[tuple[str, float], ...] = ()

    def times(self, factor: float) -> Estimate:
        """The same in another unit, or of the other sign."""
        low, high = sorted((factor * self.low, factor * self.high))
        doubts = tuple((name, abs(factor) * half) for name, half in self.doubts)
        return Estimate(factor * self.value, low, high, doubts)

    @property
    def largest_doubt(self) -> str:
        """Name of the doubt that widens the band most; empty without one."""
        return self.doubts[0][0] if self.doubts and self.doubts[0][1] > 0.0 else ""


def in_quadrature(value: float, ends: Mapping[str, Sequence[tuple[float, float]]]) -> Estimate:
    """Band of independent doubts: each one's change of the value down and up, added as squares.

    Parameters
    ----------
    value : float
        With every input at its middle.
    ends : mapping
        Name of the doubt to the values at its ends, a pair for each input that it holds, one input moved at
        a time.

    Examples
    --------
    >>> found = in_quadrature(10.0, {"a": [(7.0, 13.0)], "b": [(14.0, 6.0)]})
    >>> found.low, found.high, found.largest_doubt
    (5.0, 15.0, 'b')
    """
    down, up, doubts = 0.0, 0.0, []
    for name, pairs in ends.items():
        moves = np.array(pairs, float).reshape(-1, 2) - value
        below, above = np.minimum(moves.min(axis=1), 0.0), np.maximum(moves.max(axis=1), 0.0)
        down, up = down + float(below @ below), up + float(above @ above)
        doubts.append((name, float(np.sqrt((below @ below + above @ above) / 2))))
    doubts.sort(key=lambda pair: -pair[1])
    return Estimate(value, value - down**0.5, value + up**0.5, tuple(doubts))
