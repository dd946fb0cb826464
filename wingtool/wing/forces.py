"""Strip circulations to forces: lift from local velocity, drag by part, moment."""

from dataclasses import dataclass

import numpy as np

from wingtool.air import Air
from wingtool.wing.branches import Solution
from wingtool.wing.ground import Influence
from wingtool.wing.newton import Cases, State
from wingtool.wing.planes import Layout
from wingtool.wing.planform import Mount, RoofInflow, Wing
from wingtool.wing.span_data import SpanData


@dataclass(frozen=True, eq=False)
class Solved:
    """The strips of k speeds by m angles, solved: n = k m cases of s strips, by speed, then angle."""

    layout: Layout
    angles_deg: np.ndarray
    speeds_m_s: np.ndarray
    air: Air
    inflow: RoofInflow | None
    influence: Influence
    cases: Cases
    solution: Solution
    state: State

    @property
    def shape(self) -> tuple[int, int]:
        """Speeds by angles."""
        return self.speeds_m_s.size, self.angles_deg.size

    @property
    def pressure_pa(self) -> np.ndarray:
        """Dynamic pressure of each speed [Pa], shape ``(k, 1)``."""
        return self.air.dynamic_pressure_pa(self.speeds_m_s)[:, None]

    @property
    def reynolds(self) -> np.ndarray:
        """Reynolds number of each strip at its local speed, shape ``(n, s)``."""
        return self.cases.reynolds * self.state.ratio

    def table(self, column: np.ndarray) -> np.ndarray:
        """A column of the cases, shape ``(n, ...)``, as ``(k, m, ...)``."""
        return column.reshape(*self.shape, *column.shape[1:])

    def masked(self, column: np.ndarray) -> np.ndarray:
        """A table with nan where the spanwise iteration did not converge."""
        failed = ~self.table(self.solution.converged)
        return np.where(failed if column.ndim == 2 else failed[..., None], np.nan, column)


def areas(solved: Solved) -> dict[str, np.ndarray]:
    """Everything that acts, over dynamic pressure of the car's speed.

    Air that descends behind a roof leans the wing's force forward, but no drag is taken off for that: what
    the roof's flow gives to the wing, the wing's flow takes from the roof. Far behind the car only the
    vortex wake is left, and its drag is that of the far-wake plane.

    Returns
    -------
    dict of ndarray, shape (k, m); of strips (k, m, s)
        ``lift, far_wake_lift, induced, profile, plates, base, mounts`` [m^2], ``moment`` [m^3]; a metre
        of span ``strip_lift`` [m], ``strip_moment`` [m^2]; ``strip_cl``; whether section data are doubtful
        (``doubt``) or end (``outside``).
    """
    layout, influence = solved.layout, solved.influence
    section = _sections(solved)
    lift, drag, moment = _strip_areas(solved, section)
    width = 2 * layout.strips.width_m
    grid = solved.table(solved.solution.circulation)
    form = np.broadcast_to(influence.drag, (solved.shape[1], *influence.drag.shape[1:]))
    by_case = {
        "lift": lift @ width,
        "profile": drag @ width,
        "moment": _moment(layout, lift, drag, moment) @ width,
        "strip_lift": lift,
        "strip_moment": moment,
        "strip_cl": section["cl"],
        "doubt": np.any(section["doubt"], axis=1),
        "outside": np.any(section["outside"], axis=1),
    }
    mounts = sum(_pair(m) * m.drag_area_m2 for p in layout.planes for m in p.wing.mounts)
    by_speed = dict(zip(("plates", "base"), _plates(solved), strict=True)) | {"mounts": np.float64(mounts)}
    return {
        **{name: solved.table(column) for name, column in by_case.items()},
        **{name: np.broadcast_to(column[..., None], solved.shape) for name, column in by_speed.items()},
        "far_wake_lift": 2 * (grid * influence.lift_width).sum(axis=-1),
        "induced": np.einsum("kms,mst,kmt->km", grid, form, grid, optimize=True),
    }


def _pair(mount: Mount) -> int:
    """How many stands a mount is: one in the middle has no mirror image."""
    return 2 if mount.span_fraction > 0.0 else 1


def _strip_areas(solved: Solved, section: dict) -> tuple[np.ndarray, ...]:
    """Lift and drag [m], quarter-chord moment [m^2, nose-up of the car], for each metre of span."""
    cases, local, chord = solved.cases, solved.state.ratio**2, solved.layout.strips.chord_m
    lift = local * cases.chord * cases.load * section["cl"]
    return lift, local * chord * section["cd"], -local * cases.chord * chord * section["cm"]


def _moment(layout: Layout, lift: np.ndarray, drag: np.ndarray, moment: np.ndarray) -> np.ndarray:
    """Strip moments about the quarter-chord point of the first wing's centre, nose-up of the car [m^2]."""
    x_m, _, z_m = layout.strips.quarter.T
    point_x_m = 0.25 * float(layout.planes[0].wing.chord_at(np.zeros(1))[0])
    return lift * (x_m - point_x_m) + moment - drag * z_m


def _sections(solved: Solved) -> dict[str, np.ndarray]:
    """cl, cd, cm of the strips, and whether any datum there is doubtful or lies outside the data.

    Where a mount takes circulation, the neighbours' upwash raises the angle of a section that is not there:
    its drag and moment are taken at stall at the most, and in proportion to what is left.
    """
    data, load, alpha = solved.layout.data, solved.cases.load, solved.state.alpha
    values = _section_values(data, alpha, solved.reynolds)
    if not (load < 1.0).any():
        return values
    calm = _section_values(data, np.minimum(alpha, data.stall_rad(solved.cases.reynolds)), solved.reynolds)
    calm |= {"cd": calm["cd"] * load, "cm": calm["cm"] * load, "cl": values["cl"]}
    return {name: np.where(load < 1.0, calm[name], values[name]) for name in values}


def _section_values(data: SpanData, alpha: np.ndarray, reynolds: np.ndarray) -> dict[str, np.ndarray]:
    looks = [polar.at(np.degrees(alpha), reynolds) for polar in data.polars]
    used = data.weight > 0
    blended = {name: data.blend([getattr(at, name) for at in looks]) for name in ("cl", "cd", "cm")}
    doubt = np.any([look.low_confidence & u for look, u in zip(looks, used, strict=True)], axis=0)
    outside = np.any([~look.inside & u for look, u in zip(looks, used, strict=True)], axis=0)
    return blended | {"doubt": doubt, "outside": outside}


def _plates(solved: Solved) -> np.ndarray:
    """Friction and base drag area of all plates at each speed, shape ``(2, k)``."""
    total = np.zeros((2, len(solved.speeds_m_s)))
    for number, plane in enumerate(solved.layout.planes):
        tip = solved.cases.ratio[0, np.flatnonzero(solved.layout.plane == number)[-1]]
        total += tip**2 * np.stack(plate_drag_area_m2(plane.wing, tip * solved.speeds_m_s, solved.air))
    return total


def plate_drag_area_m2(wing: Wing, speed_m_s: np.ndarray, air: Air) -> tuple[np.ndarray, np.ndarray]:
    """Friction (both sides) and base drag area of two endplates [m^2].

    Friction: turbulent flat plate, ``0.455 / (log10 Re)^2.58`` (H. Schlichting, Boundary-Layer Theory, from
    memory). Blunt rear edge: ``0.135 / (Cf wet / base)^(1/3)`` on its area (S. F. Hoerner, Fluid-Dynamic
    Drag, two-dimensional form, from memory).
    """
    plate, speed_m_s = wing.endplate, np.asarray(speed_m_s, float)
    if plate is None:
        return np.zeros_like(speed_m_s), np.zeros_like(speed_m_s)
    z = np.linspace(plate.bottom_m, plate.top_m, 41)
    front, rear = plate.edges_m(z, float(wing.chord_at(np.ones(1))[0]))
    wet = 4 * float(np.trapezoid(rear - front, z))
    reynolds = np.maximum(air.reynolds(speed_m_s, wet / 4 / plate.height_m), 1e3)
    friction = 0.455 / np.log10(reynolds) ** 2.58 * wet
    rear_area = 2 * plate.thickness_m * plate.height_m
    base = 0.135 * rear_area / np.cbrt(friction / rear_area) if rear_area else np.zeros_like(speed_m_s)
    return friction, base
