"""What a wing makes at each speed and angle."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from wingtool.air import Air
from wingtool.section import SectionPolar
from wingtool.wing.planes import Plane
from wingtool.wing.planform import RoofInflow, Wing
from wingtool.wing.span_data import as_stations

PARTS = ("centre", "middle", "tip")


@dataclass(frozen=True, eq=False)
class Force:
    """A force and the ends of its band [N]: three numbers, or three arrays of one shape."""

    n: Any
    low_n: Any
    high_n: Any

    def __getitem__(self, index: Any) -> Force:
        return self.each(lambda column: column[index])

    def __iter__(self) -> Iterator[Any]:
        return iter((self.n, self.low_n, self.high_n))

    def each(self, change: Callable[[Any], Any]) -> Force:
        """The same change of the value and of both ends."""
        return Force(*map(change, self))

    def columns(self, name: str) -> dict[str, Any]:
        """Table columns: `name_n`, `name_low_n`, `name_high_n`."""
        return dict(zip((f"{name}_n", f"{name}_low_n", f"{name}_high_n"), self, strict=True))


@dataclass(frozen=True, eq=False)
class WingPolar:
    """Forces and their make-up over k speeds by m angles; the wing of the car, downforce positive down.

    Coefficients refer to `reference_area_m2`, `reference_chord_m` and the dynamic pressure of the car's
    speed. A point that did not converge is nan in every number, and `status` says why.

    Parameters
    ----------
    wing, planes, air, inflow : Wing, tuple of Plane, Air, RoofInflow or None
        What was solved; `planes` holds the wing first.
    wing_angle_deg : ndarray, shape (m,)
    speed_m_s : ndarray, shape (k,)
    CL, CD, CM : ndarray, shape (k, m)
        Downforce, drag, pitching moment (nose-up of the car positive, about the quarter chord of the centre).
    CD_induced, CD_profile, CD_plates, CD_base, CD_mounts : ndarray, shape (k, m)
        Parts of CD: far-wake plane; sections; friction of the plates; their blunt rear edges; stands.
    CL_far_wake : ndarray, shape (k, m)
        Downforce by the far wake; near the ground it differs from CL, which comes from local velocity.
    CL_other : ndarray, shape (k, m)
        Where two solutions exist, the one that a falling angle finds; else nan.
    downforce, drag : Force of ndarray, shape (k, m)
        With their band [N].
    pitching_moment_nm : ndarray, shape (k, m)
    stall_margin_deg : ndarray, shape (k, m)
        Angle by which the first strip's section is short of its own stall [deg]; negative beyond.
    status : ndarray of str, shape (k, m)
        Words of `SectionPolar`, or ``not trustworthy: why``.
    reynolds : ndarray, shape (k, m)
        At the reference chord and car speed.
    strip_y_m, strip_width_m : ndarray, shape (s,)
        Middle and width of the strips of one half, centre to tip (plane after plane) [m].
    strip_plane : ndarray of int, shape (s,)
        Number of their plane.
    strip_cl, strip_alpha_deg, strip_margin_deg : ndarray, shape (k, m, s)
        Section lift coefficient on local speed, section angle, margin (nan where a mount takes load).
    strip_load_n_m, strip_moment_n : ndarray, shape (k, m, s)
        Downforce for each metre of span [N/m]; moment about the quarter chord for each metre [N m/m],
        nose-up of the car.
    band_origin : str
        What the band is made of.
    """

    wing: Wing
    planes: tuple[Plane, ...]
    air: Air
    inflow: RoofInflow | None
    wing_angle_deg: np.ndarray
    speed_m_s: np.ndarray
    CL: np.ndarray
    CD: np.ndarray
    CM: np.ndarray
    CD_induced: np.ndarray
    CD_profile: np.ndarray
    CD_plates: np.ndarray
    CD_base: np.ndarray
    CD_mounts: np.ndarray
    CL_far_wake: np.ndarray
    CL_other: np.ndarray
    downforce: Force
    drag: Force
    pitching_moment_nm: np.ndarray
    stall_margin_deg: np.ndarray
    status: np.ndarray
    reynolds: np.ndarray
    strip_y_m: np.ndarray
    strip_width_m: np.ndarray
    strip_plane: np.ndarray
    strip_cl: np.ndarray
    strip_alpha_deg: np.ndarray
    strip_margin_deg: np.ndarray
    strip_load_n_m: np.ndarray
    strip_moment_n: np.ndarray
    reference_area_m2: float
    reference_chord_m: float
    band_origin: str

    @property
    def polars(self) -> tuple[SectionPolar, ...]:
        """Section data of the first wing, the centre's first."""
        return _polars(self.planes[:1])

    @property
    def polars_of_all(self) -> tuple[SectionPolar, ...]:
        """Section data of all planes, the first wing's first."""
        return _polars(self.planes)

    @property
    def converged(self) -> np.ndarray:
        """True where there are numbers, shape ``(k, m)``."""
        return np.isfinite(self.CL)

    @property
    def middle_strip(self) -> int:
        """Index of the strip nearest to the middle of the span."""
        return int(np.argmin(np.abs(self.strip_y_m)))

    @property
    def middle_speed(self) -> int:
        """Index of the middle speed."""
        return len(self.speed_m_s) // 2

    def nearest_angle(self, angle_deg: float) -> int:
        """Index of the nearest angle; the first where none is given (nan)."""
        return int(np.argmin(np.abs(self.wing_angle_deg - angle_deg)))

    def only(self, wing_angle_deg: ArrayLike) -> WingPolar:
        """The same wing at some of its angles."""
        at = np.searchsorted(self.wing_angle_deg, np.asarray(wing_angle_deg) - 1e-9)
        columns = {one.name: getattr(self, one.name) for one in fields(self)}
        wide = {name: one for name, one in columns.items() if isinstance(one, Force) or np.ndim(one) >= 2}
        taken = {name: column[:, at] for name, column in wide.items()}
        return replace(self, **taken, wing_angle_deg=self.wing_angle_deg[at])

    def first_to_stall(self) -> np.ndarray:
        """Part of the span with the least margin, centre, middle or tip third; shape ``(k, m)`` of str."""
        least = np.argmin(np.where(np.isnan(self.strip_margin_deg), np.inf, self.strip_margin_deg), axis=-1)
        spans = np.array([p.wing.span_m for p in self.planes])[self.strip_plane]
        third = np.minimum((3 * 2 * self.strip_y_m / spans).astype(int), 2)
        return np.where(self.converged, np.array(PARTS)[third[least]], "")


def _polars(planes: tuple[Plane, ...]) -> tuple[SectionPolar, ...]:
    stations = [station for plane in planes for station in as_stations(plane.polars)]
    return tuple(polar for station in stations for polar in station.polars)
