"""What a wing is before any air moves: planform, endplates, mounts; and the air behind a roof."""

from dataclasses import dataclass, field
from math import inf, tan

import numpy as np

from wingtool.errors import RangeError

MOST_CHORD_LINE = 0.25  # of the chord: a tip's chord line stands no higher above the wing's lowest point
INFLOW_COLUMNS = ("span_fraction", "angle_deg", "angle_band_deg", "speed_ratio", "speed_ratio_band")


def _within(what: str, value: float | None, low: float, high: float, unit: str = "") -> None:
    if value is not None and not low <= value <= high:
        raise RangeError(f"{what} {value:.6g}{unit} is outside {low:g} to {high:g}{unit}; check the unit")


@dataclass(frozen=True)
class Endplate:
    """A flat upright plate on each tip; both are alike.

    Parameters
    ----------
    height_m : float
        Total height [m].
    above_m : float, optional
        How much of it stands above the tip's chord line, away from the ground [m]; half if not said.
    length_m : float, optional
        Fore-and-aft length [m]; the tip chord if not said.
    overhang_fore_m : float
        How far its front edge lies ahead of the tip's leading edge [m], at the chord line.
    sweep_deg : float
        Rake of its front and rear edge, positive when the top lies further aft [deg].
    outline_m : tuple of (z, x_front, x_rear), optional
        Any other outline: height above the tip's chord line, front and rear edge aft of the tip's leading
        edge [m], from the lowest upwards. Takes the place of all lengths above.
    thickness_m : float
        Sheet thickness [m], for the base drag of its blunt rear edge.
    """

    height_m: float = 0.0
    above_m: float | None = None
    length_m: float | None = None
    overhang_fore_m: float = 0.0
    sweep_deg: float = 0.0
    outline_m: tuple[tuple[float, float, float], ...] = ()
    thickness_m: float = 0.003

    def __post_init__(self) -> None:
        if self.outline_m:
            z, front, rear = np.array(self.outline_m, float).T
            if len(z) < 2 or np.any(np.diff(z) <= 0) or np.any(rear <= front) or z[0] > 0 or z[-1] < 0:
                raise RangeError(
                    "endplate: outline must run upwards through the chord line (z 0), each rear edge behind"
                    " its front edge; check the order of the points"
                )
            object.__setattr__(self, "height_m", float(z[-1] - z[0]))
            object.__setattr__(self, "above_m", float(z[-1]))
        _within("endplate: height", self.height_m, 1e-4, 3.0, " m")
        _within("endplate: part above the wing", self.above_m, 0.0, self.height_m, " m")
        _within("endplate: length", self.length_m, 1e-3, 5.0, " m")
        _within("endplate: overhang", self.overhang_fore_m, -5.0, 5.0, " m")
        _within("endplate: sweep", self.sweep_deg, -60.0, 60.0, " deg")
        _within("endplate: thickness", self.thickness_m, 0.0, 0.1, " m")

    @property
    def top_m(self) -> float:
        """Height of its upper edge above the tip's chord line [m]."""
        return self.height_m / 2 if self.above_m is None else self.above_m

    @property
    def bottom_m(self) -> float:
        """Height of its lower edge against the tip's chord line, negative below [m]."""
        return self.top_m - self.height_m

    def edges_m(self, z_m: np.ndarray, tip_chord_m: float) -> tuple[np.ndarray, np.ndarray]:
        """Front and rear edge aft of the tip's leading edge [m] at heights above the chord line [m]."""
        if self.outline_m:
            z, front, rear = np.array(self.outline_m, float).T
            return np.interp(z_m, z, front), np.interp(z_m, z, rear)
        length = tip_chord_m if self.length_m is None else self.length_m
        front = -self.overhang_fore_m + np.tan(np.radians(self.sweep_deg)) * np.asarray(z_m)
        return front, front + length


@dataclass(frozen=True)
class Station:
    """One place along the span where chord and twist are given.

    Parameters
    ----------
    span_fraction : float
        0 at the centre, 1 at the tip.
    chord_m : float
        Chord [m].
    twist_deg : float
        Added to the wing angle [deg].
    """

    span_fraction: float
    chord_m: float
    twist_deg: float = 0.0

    def __post_init__(self) -> None:
        _within("station: span fraction", self.span_fraction, 0.0, 1.0)
        _within("station: chord", self.chord_m, 0.005, 5.0, " m")
        _within("station: twist", self.twist_deg, -45.0, 45.0, " deg")


@dataclass(frozen=True)
class Mount:
    """What a stand takes from the lift beside it. All numbers are the user's; `origin` says whence.

    Parameters
    ----------
    span_fraction : float
        Where it stands, 0 centre to 1 tip, mirrored to the other side; at the centre it is one alone.
    width_m : float
        Width of span that it disturbs [m]: the stand itself from below (suction side), a gap between two
        halves, or nearly nothing for a stand from above.
    load_factor : float
        What is left of the circulation there: 1 undisturbed, 0 an open gap.
    drag_area_m2 : float
        Drag area of one stand [m^2].
    origin : str
        Where the numbers come from.
    """

    span_fraction: float
    width_m: float
    load_factor: float = 1.0
    drag_area_m2: float = 0.0
    origin: str = "stated by the user"

    def __post_init__(self) -> None:
        _within("mount: span fraction", self.span_fraction, 0.0, 1.0)
        _within("mount: width", self.width_m, 0.0, 2.0, " m")
        _within("mount: load factor", self.load_factor, 0.0, 1.2)
        _within("mount: drag area", self.drag_area_m2, 0.0, 1.0, " m^2")


@dataclass(frozen=True, eq=False)
class RoofInflow:
    """Direction and speed of the air that meets the wing, by span station; all arrays of one length.

    Parameters
    ----------
    span_fraction : ndarray, shape (n,)
        0 at the centre to 1 at the tip, increasing.
    angle_deg : ndarray, shape (n,)
        Positive where the air descends, which adds to the wing's angle [deg].
    angle_band_deg : ndarray, shape (n,)
        Half width of its band [deg].
    speed_ratio, speed_ratio_band : ndarray, shape (n,)
        Local over car speed, and the half width of its band.
    origin : str
        Tufts, side view, or guess.
    one_sided : bool
        The band of the angle lies above it only: the air may come down, not up.
    """

    span_fraction: np.ndarray
    angle_deg: np.ndarray
    angle_band_deg: np.ndarray
    speed_ratio: np.ndarray
    speed_ratio_band: np.ndarray
    origin: str = "stated by the user"
    one_sided: bool = False

    def __post_init__(self) -> None:
        size = np.size(self.span_fraction)
        for name in INFLOW_COLUMNS:
            column = np.atleast_1d(np.asarray(getattr(self, name), float))
            if column.shape != (size,) or not np.all(np.isfinite(column)):
                raise RangeError(f"roof inflow: {name} needs {size} finite numbers, one for each station")
            object.__setattr__(self, name, column)
        if np.any(np.diff(self.span_fraction) <= 0) or size == 0:
            raise RangeError("roof inflow: stations must run from the centre outwards without repeats")
        _within("roof inflow: angle", float(np.max(np.abs(self.angle_deg))), 0.0, 45.0, " deg")
        _within("roof inflow: lowest speed ratio", float(np.min(self.speed_ratio)), 0.05, 2.0)
        _within("roof inflow: highest speed ratio", float(np.max(self.speed_ratio)), 0.05, 2.0)
        if np.any(self.angle_band_deg < 0) or np.any(self.speed_ratio_band < 0):
            raise RangeError("roof inflow: a band is a half width and cannot be negative; drop the sign")

    def at(self, span_fraction: np.ndarray) -> dict[str, np.ndarray]:
        """Each column at span fractions between the stations, held beyond the first and last."""
        stations = self.span_fraction
        return {n: np.interp(span_fraction, stations, getattr(self, n)) for n in INFLOW_COLUMNS[1:]}


@dataclass(frozen=True)
class Wing:
    """One wing, symmetric about the car's centre plane.

    Parameters
    ----------
    span_m, chord_m : float
        Span between the plates and chord at the centre [m].
    tip_chord_m : float, optional
        Chord at the tip [m]; the centre's if not said.
    twist_tip_deg : float
        Added to the wing angle at the tip, growing evenly from the centre [deg].
    sweep_deg : float
        Of the quarter-chord line, positive with the tips aft [deg].
    dihedral_deg : float
        Positive with the tips higher above the ground [deg].
    height_m : float
        Lowest point above the ground at whatever angle is set [m]; inf for free air.
    endplate : Endplate, optional
        On both tips.
    stations : tuple of Station
        Chord and twist at places along the span, in place of the even taper and twist.
    mounts : tuple of Mount
        What the stands take.
    tab_chord : float
        Trailing-edge tab over the chord: a label; its effect comes in with the section data.
    strips, rows : int
        Strips over the whole span (even), lattice rows over the chord.

    Examples
    --------
    >>> wing = Wing(span_m=1.4, chord_m=0.25)
    >>> round(wing.area_m2, 3), round(wing.aspect_ratio, 2)
    (0.35, 5.6)
    """

    span_m: float
    chord_m: float
    tip_chord_m: float | None = None
    twist_tip_deg: float = 0.0
    sweep_deg: float = 0.0
    dihedral_deg: float = 0.0
    height_m: float = inf
    endplate: Endplate | None = None
    stations: tuple[Station, ...] = field(default=())
    mounts: tuple[Mount, ...] = field(default=())
    tab_chord: float = 0.0
    strips: int = 40
    rows: int = 6

    def __post_init__(self) -> None:
        _within("wing: span", self.span_m, 0.05, 20.0, " m")
        _within("wing: chord", self.chord_m, 0.01, 5.0, " m")
        _within("wing: tip chord", self.tip_chord_m, 0.005, 5.0, " m")
        _within("wing: twist", self.twist_tip_deg, -45.0, 45.0, " deg")
        _within("wing: sweep", self.sweep_deg, -60.0, 60.0, " deg")
        _within("wing: dihedral", self.dihedral_deg, -45.0, 45.0, " deg")
        _within("wing: tab over chord", self.tab_chord, 0.0, 0.1)
        if not self.height_m > 0.0:
            raise RangeError(f"wing: height {self.height_m:.6g} m is not above ground; give its lowest point")
        if sum(2 * m.width_m for m in self.mounts) >= self.span_m:
            raise RangeError("wing: the mounts disturb the whole span; check their widths")
        if self.strips % 2 or not 4 <= self.strips <= 400 or not 1 <= self.rows <= 40:
            raise RangeError("wing: give an even number of strips from 4 to 400 and 1 to 40 rows")
        where = [station.span_fraction for station in self.stations]
        if where and (len(where) < 2 or where[0] != 0.0 or where[-1] != 1.0 or np.any(np.diff(where) <= 0)):
            raise RangeError("wing: stations must run from span fraction 0 to 1, no repeats; add the ends")
        self.check_plates(MOST_CHORD_LINE * self.chord_m)

    def check_plates(self, chord_line_m: float) -> None:
        """Raise RangeError where plates reach the ground, the chord line this far above the lowest point."""
        tip_m = self.height_m + max(self.tip_rise_m, 0.0) + chord_line_m
        if self.endplate and -self.endplate.bottom_m >= tip_m:
            raise RangeError(
                f"endplate: it reaches {-self.endplate.bottom_m:.4g} m below a chord line that is"
                f" {tip_m:.4g} m above the ground; cut the plate or raise the wing"
            )

    @property
    def tip_rise_m(self) -> float:
        """How far the tips stand above the centre [m], negative below."""
        return float(tan(np.radians(self.dihedral_deg))) * self.span_m / 2

    def chord_at(self, span_fraction: np.ndarray) -> np.ndarray:
        """Chord [m] at span fractions, 0 centre to 1 tip."""
        if self.stations:
            return self._from_stations("chord_m", span_fraction)
        tip = self.chord_m if self.tip_chord_m is None else self.tip_chord_m
        return self.chord_m + (tip - self.chord_m) * np.asarray(span_fraction)

    def twist_deg_at(self, span_fraction: np.ndarray) -> np.ndarray:
        """Twist [deg] at span fractions."""
        if self.stations:
            return self._from_stations("twist_deg", span_fraction)
        return self.twist_tip_deg * np.asarray(span_fraction)

    def leading_edge_m_at(self, span_fraction: np.ndarray) -> np.ndarray:
        """Leading edge aft of that at the centre [m]."""
        span_fraction = np.asarray(span_fraction)
        quarter = tan(np.radians(self.sweep_deg)) * span_fraction * self.span_m / 2
        centre = self.chord_at(np.zeros(1))[0]
        return quarter + 0.25 * (centre - self.chord_at(span_fraction))

    def _from_stations(self, name: str, span_fraction: np.ndarray) -> np.ndarray:
        where = [station.span_fraction for station in self.stations]
        return np.interp(span_fraction, where, [getattr(station, name) for station in self.stations])

    @property
    def area_m2(self) -> float:
        """Plan area [m^2]."""
        where = [s.span_fraction for s in self.stations] or [0.0, 1.0]
        return float(np.trapezoid(self.chord_at(np.array(where)), where)) * self.span_m

    @property
    def mean_chord_m(self) -> float:
        """Area over span [m], the chord of the coefficients."""
        return self.area_m2 / self.span_m

    @property
    def aspect_ratio(self) -> float:
        """Span squared over area, plates not counted."""
        return self.span_m**2 / self.area_m2

    @property
    def height_over_chord(self) -> float:
        """Lowest point above the ground over the mean chord."""
        return self.height_m / self.mean_chord_m
