"""Section data along the span: which polars answer for which strip, with what weight."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wingtool.errors import RangeError
from wingtool.section import ExtendedPolar, SectionPolar, circulation_at, extended


@dataclass(frozen=True, eq=False)
class StationPolars:
    """Section data at one place along the span, at one or more heights.

    Parameters
    ----------
    span_fraction : float
        0 at the centre, 1 at the tip.
    polars : tuple of SectionPolar
        One in free air, or several at different `height_chord`.
    """

    span_fraction: float
    polars: tuple[SectionPolar, ...]

    def __post_init__(self) -> None:
        if not 0.0 <= self.span_fraction <= 1.0 or not self.polars:
            raise RangeError("section data: a station needs a span fraction from 0 to 1 and at least a polar")


Polars = SectionPolar | Sequence[SectionPolar] | Sequence[StationPolars]


@dataclass(frozen=True, eq=False)
class SpanData:
    """Polars with their weight on each strip, shape ``(p, s)``, columns adding up to one."""

    polars: tuple[ExtendedPolar, ...]
    weight: np.ndarray

    def circulation(self, alpha: np.ndarray, reynolds: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Circulation coefficient and its derivative at angles [rad], shape ``(..., s)``."""
        degrees = np.degrees(alpha)
        if len(self.polars) == 1:
            return circulation_at(self.polars[0].table, degrees, reynolds)
        parts = [
            np.stack(circulation_at(p.table, degrees, reynolds)) * w
            for p, w in zip(self.polars, self.weight, strict=True)
        ]
        value, slope = np.sum(parts, axis=0)
        return value, slope

    def blend(self, values: Sequence[np.ndarray]) -> np.ndarray:
        """Weighted sum of one array of shape ``(..., s)`` for each polar."""
        return np.sum([v * w for v, w in zip(values, self.weight, strict=True)], axis=0)

    def stall_rad(self, reynolds: np.ndarray) -> np.ndarray:
        """Stall angle of each strip's section [rad], shape of `reynolds` ``(..., s)``."""
        return np.radians(self.blend([p.polar.stall_alpha_deg(reynolds) for p in self.polars]))

    def shows_stall(self, reynolds: np.ndarray) -> np.ndarray:
        """Whether the data of each strip reach stall, shape of `reynolds` ``(..., s)``."""
        hidden = self.blend([~p.polar.shows_stall(reynolds) for p in self.polars])
        return hidden < 1e-9

    def post_stall_slope(self) -> np.ndarray:
        """Steepest fall of circulation with angle behind stall on each strip [1/rad], shape ``(s,)``."""
        return self.blend([np.full(self.weight.shape[1], p.steepest_fall()) for p in self.polars])

    @property
    def height_chord(self) -> np.ndarray:
        """Height over chord at which each polar was computed, shape ``(p,)``."""
        return np.array([p.polar.height_chord for p in self.polars])


def span_data(
    polars: Polars, span_fraction: np.ndarray, height_chord: np.ndarray, aspect_ratio: float
) -> SpanData:
    """Weights by place along the span (linear) and by height (linear in chord over height).

    Parameters
    ----------
    polars : SectionPolar, sequence of SectionPolar, or sequence of StationPolars
        One for the whole wing; one section at several heights; or stations along the span.
    span_fraction, height_chord : ndarray, shape (s,)
        Of the strips.
    aspect_ratio : float
        For the extension beyond stall.
    """
    stations = as_stations(polars)
    where = np.array([station.span_fraction for station in stations])
    if np.any(np.diff(where) <= 0):
        raise RangeError("section data: stations must run from the centre outwards without repeats")
    flat, weights = [], []
    for index, station in enumerate(stations):
        along = np.interp(span_fraction, where, np.eye(len(where))[index])
        for polar, share in zip(station.polars, _by_height(station.polars, height_chord), strict=True):
            flat.append(extended(polar, aspect_ratio))
            weights.append(along * share)
    return SpanData(tuple(flat), np.array(weights))


def as_stations(polars: Polars) -> tuple[StationPolars, ...]:
    """Section data in whatever way they are given, as stations along the span."""
    if isinstance(polars, SectionPolar):
        return (StationPolars(0.0, (polars,)),)
    if len(polars) == 0:
        raise RangeError("section data: no polar given; compute one or build it from arrays")
    if isinstance(polars[0], StationPolars):
        return tuple(polars)  # type: ignore[arg-type]
    return (StationPolars(0.0, tuple(polars)),)  # type: ignore[arg-type]


def _by_height(polars: tuple[SectionPolar, ...], height_chord: np.ndarray) -> np.ndarray:
    """Weight of each polar of a station on each strip, shape ``(p, s)``."""
    closeness = np.array([1 / polar.height_chord for polar in polars])
    order = np.argsort(closeness)
    if np.any(np.diff(closeness[order]) <= 0):
        raise RangeError("section data: two polars of one station stand at the same height; keep one")
    wanted = 1 / np.asarray(height_chord, float)
    shares = np.array([np.interp(wanted, closeness[order], row) for row in np.eye(len(polars))])
    return shares[np.argsort(order)]
