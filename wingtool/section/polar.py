"""The section polar (coefficients with band and status) and the question that it answers."""

from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from wingtool.errors import RangeError
from wingtool.geometry import Section
from wingtool.section.curves import (
    CurveTable,
    Lookup,
    bilinear,
    curve_table,
    first_peak,
    look_up,
    over_log_reynolds,
)

CONVERGED = "converged"
BEYOND_STALL = "beyond stall"
TWO_SOLUTIONS = "two solutions"
LOW_CONFIDENCE = "low confidence"
NOT_CONVERGED = "not converged"  # always followed by ": why"


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


@dataclass(frozen=True, eq=False)
class SectionPolar:
    """Coefficients of one section in one surface state, with one tab, at one height.

    Signs are those of the section as drawn (lifting upwards). Arrays have shape ``(k, m)``: k Reynolds
    numbers by m angles. A point that did not converge is nan and its status says why.

    Parameters
    ----------
    alpha_deg : ndarray, shape (m,)
        Angles of attack [deg], increasing.
    reynolds : ndarray, shape (k,)
        Chord Reynolds numbers, increasing.
    cl, cd, cm : ndarray, shape (k, m)
        Lift, drag, and quarter-chord moment (nose-up positive).
    status : ndarray of str, shape (k, m)
        ``converged``, ``beyond stall``, ``two solutions``, ``low confidence`` or ``not converged: why``.
    method : str
        ``coupled``, ``surrogate``, ``inviscid`` or ``given``.
    section : Section, optional
        The outline, where the numbers come from one.
    surface : str
        A name of `SURFACES`.
    trip_x : float, optional
        x/c of the trip on both sides, in place of the surface's own.
    circulation : ndarray, shape (k, m), optional
        2 Gamma / (U c). In free air it equals cl and is left out; near the ground it differs.
    cl_low, cl_high, cd_low, cd_high : ndarray, shape (k, m), optional
        The band; `band_origin` names where it comes from.
    transition_upper, transition_lower : ndarray, shape (k, m), optional
        x/c of transition.
    separation_upper, separation_lower : ndarray, shape (k, m), optional
        x/c of turbulent separation, 1 where there is none; that of the lifting side counts for the stall.
    re_theta_upper, re_theta_lower : ndarray, shape (k, m), optional
        Momentum-thickness Reynolds number at transition.
    tail_theta_lower, tail_shape_lower : ndarray, shape (k, m), optional
        Momentum thickness [chord] and shape factor at the tail of the lower side.
    confidence : ndarray, shape (k, m), optional
        The surrogate's own, 0 to 1.
    height_chord : float
        Lowest point of the turned-over section above the ground, over the chord; inf in free air.
    tab_chord : float
        Height of the trailing-edge tab over the chord.
    notes : tuple of str
        What the reader must know of it.
    """

    alpha_deg: np.ndarray
    reynolds: np.ndarray
    cl: np.ndarray
    cd: np.ndarray
    cm: np.ndarray
    status: np.ndarray
    method: str
    section: Section | None = None
    surface: str = "smooth"
    trip_x: float | None = None
    tab_chord: float = 0.0
    height_chord: float = np.inf
    circulation: np.ndarray | None = None
    cl_low: np.ndarray | None = None
    cl_high: np.ndarray | None = None
    cd_low: np.ndarray | None = None
    cd_high: np.ndarray | None = None
    band_origin: str = ""
    transition_upper: np.ndarray | None = None
    transition_lower: np.ndarray | None = None
    separation_upper: np.ndarray | None = None
    separation_lower: np.ndarray | None = None
    re_theta_upper: np.ndarray | None = None
    re_theta_lower: np.ndarray | None = None
    tail_theta_lower: np.ndarray | None = None
    tail_shape_lower: np.ndarray | None = None
    confidence: np.ndarray | None = None
    notes: tuple[str, ...] = field(default=())

    @cached_property
    def table(self) -> CurveTable:
        """The columns as piecewise cubics, built on first use."""
        return curve_table(self.alpha_deg, self.reynolds, self.columns(), self.known(), self.doubtful())

    def only(self, alpha_deg: np.ndarray) -> "SectionPolar":
        """The same polar at some of its angles."""
        at = np.searchsorted(self.alpha_deg, np.asarray(alpha_deg) - 1e-9)
        columns = {one.name: getattr(self, one.name) for one in fields(self)}
        taken = {name: column[:, at] for name, column in columns.items() if np.ndim(column) == 2}
        return replace(self, alpha_deg=self.alpha_deg[at], **taken)

    def known(self) -> np.ndarray:
        """True where a point holds numbers, shape ``(k, m)``."""
        return np.isfinite(self.cl) & np.isfinite(self.cd) & np.isfinite(self.cm)

    def doubtful(self) -> np.ndarray:
        """True where the status says low confidence, shape ``(k, m)``."""
        return np.asarray(self.status) == LOW_CONFIDENCE

    def columns(self) -> np.ndarray:
        """cl, cd, cm, circulation stacked, shape ``(k, m, 4)``."""
        circulation = self.cl if self.circulation is None else self.circulation
        return np.stack([self.cl, self.cd, self.cm, circulation], axis=-1)

    def at(self, alpha_deg: np.ndarray | float, reynolds: np.ndarray | float) -> Lookup:
        """Coefficients at any angles and Reynolds numbers, arrays of any shapes that broadcast.

        Monotone cubics over the angle (Fritsch & Carlson, SIAM J. Numer. Anal. 17(2), 1980), linear in the
        logarithm of the Reynolds number. Outside the data and across a gap in them the answer is nan and
        `Lookup.inside` False.

        Parameters
        ----------
        alpha_deg : ndarray
            Angles [deg].
        reynolds : ndarray
            Chord Reynolds numbers. Beyond the first and last the nearest row answers; a polar with one row
            is taken to hold at every Reynolds number.

        Examples
        --------
        >>> flat = polar_from_arrays([-10, 0, 10], [-1.0, 0.0, 1.0], [0.01, 0.01, 0.01])
        >>> round(float(flat.at(5.0, 1e6).cl), 3)
        0.5
        >>> bool(flat.at(11.0, 1e6).inside)
        False
        """
        lookup = look_up(self.table, np.asarray(alpha_deg, float), np.asarray(reynolds, float))
        names = ("cl", "cd", "cm", "circulation")
        return replace(lookup, **{n: np.where(lookup.inside, getattr(lookup, n), np.nan) for n in names})

    def half_widths(self, alpha_deg: np.ndarray, reynolds: np.ndarray) -> tuple[np.ndarray, ...]:
        """Band of cl and of cd below and above the value, four arrays; zero where no band is stated.

        Outside the data the band of the nearest point is held.
        """
        names = (("cl", "cl_low"), ("cl_high", "cl"), ("cd", "cd_low"), ("cd_high", "cd"))
        return tuple(self._half_width(*pair, alpha_deg, reynolds) for pair in names)

    def _half_width(self, upper: str, lower: str, alpha_deg, reynolds) -> np.ndarray:
        high, low = getattr(self, upper), getattr(self, lower)
        if high is None or low is None:
            return np.zeros(np.broadcast(alpha_deg, reynolds).shape)
        return bilinear(self.alpha_deg, self.reynolds, high - low, alpha_deg, reynolds)

    def stall(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Stall angle [deg], highest lift, and whether the data reach stall; each shape ``(k,)``."""
        angle, lift, seen = np.array(_peaks(self.alpha_deg, self.cl, self.separation_upper)).T
        return angle, lift, seen.astype(bool)

    def stall_alpha_deg(self, reynolds: np.ndarray | float) -> np.ndarray:
        """Angle from which lift has stopped rising [deg]; the last with data where they end before."""
        return over_log_reynolds(self.stall()[0], self.reynolds, reynolds)

    def shows_stall(self, reynolds: np.ndarray | float) -> np.ndarray:
        """Whether the data beside a Reynolds number reach stall, on both sides of it; shape of `reynolds`."""
        seen = self.stall()[2].astype(float)
        return over_log_reynolds(seen, self.reynolds, reynolds) > 1 - 1e-9


def polar_from_arrays(
    alpha_deg: ArrayLike,
    cl: ArrayLike,
    cd: ArrayLike,
    cm: ArrayLike | None = None,
    reynolds: ArrayLike = 1e6,
    **facts: Any,
) -> SectionPolar:
    """Section polar from somebody's own numbers, one row or one row for each Reynolds number.

    Parameters
    ----------
    alpha_deg : array, shape (m,)
        Angles of attack [deg], increasing.
    cl, cd, cm : array, shape (m,) or (k, m)
        Coefficients of the section as drawn, lifting upwards; nan where there is none. Without `cm`, zero.
    reynolds : float or array, shape (k,)
        Chord Reynolds numbers, increasing.
    **facts
        Any other field of `SectionPolar`, the band or the height for example.

    Raises
    ------
    RangeError
        Angles or Reynolds numbers that do not increase, or columns whose lengths differ.
    """
    alpha = np.atleast_1d(np.asarray(alpha_deg, float))
    rows = np.atleast_1d(np.asarray(reynolds, float))
    shape = (rows.size, alpha.size)
    _check_axis("angles", alpha)
    _check_axis("Reynolds numbers", rows)
    if alpha.size < 2:
        raise RangeError("section data: one angle is no polar; give at least two")
    columns = {"cl": cl, "cd": cd, "cm": np.zeros(shape) if cm is None else cm}
    arrays: dict[str, Any] = {name: _as_rows(name, column, shape) for name, column in columns.items()}
    bands = ("cl_low", "cl_high", "cd_low", "cd_high", "circulation")
    facts |= {name: _as_rows(name, facts[name], shape) for name in bands if facts.get(name) is not None}
    if "status" not in facts:
        facts["status"] = status_from_shape(alpha, arrays["cl"])
    return SectionPolar(alpha, rows, **arrays, **({"method": "given"} | facts))


def status_from_shape(
    alpha_deg: np.ndarray, cl: np.ndarray, separation: np.ndarray | None = None
) -> np.ndarray:
    """Status of each point by the shape of the lift curve, and by separation if known, shape ``(k, m)``."""
    status = np.full(cl.shape, CONVERGED, dtype=object)
    peaks = _peaks(alpha_deg, cl, separation)
    for row, lift, (peak, _, seen) in zip(status, cl, peaks, strict=True):
        row[(alpha_deg > peak + 1e-9) & seen] = BEYOND_STALL
        row[~np.isfinite(lift)] = f"{NOT_CONVERGED}: no data"
    return status


def _peaks(alpha_deg: np.ndarray, cl: np.ndarray, separation: np.ndarray | None) -> list[tuple]:
    separated = [None] * len(cl) if separation is None else separation
    return [first_peak(alpha_deg, *row) for row in zip(cl, separated, strict=True)]


def _check_axis(what: str, values: np.ndarray) -> None:
    if not np.all(np.isfinite(values)) or np.any(np.diff(values) <= 0):
        raise RangeError(f"section data: {what} must be finite and increase; sort them and drop repeats")


def _as_rows(name: str, values: Any, shape: tuple[int, int]) -> np.ndarray:
    array = np.asarray(values, float)
    array = array[None, :] if array.ndim == 1 and shape[0] == 1 else array
    if array.shape != shape:
        raise RangeError(
            f"section data: {name} has shape {array.shape}; {shape[0]} Reynolds numbers by {shape[1]} angles"
            f" need {shape}"
        )
    return array
