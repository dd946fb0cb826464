"""Strip circulations to forces: lift from local velocity, drag by part, moment."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from wingtool.air import Air
from wingtool.wing.ground import Influence
from wingtool.wing.newton import Cases, State
from wingtool.wing.planes import Layout
from wingtool.wing.planform import Mount, Wing


@dataclass(frozen=True, eq=False)
class Areas:
    """Force over dynamic pressure of the car's speed [m^2] (moments [m^3]), shape ``(k, m)``; strips
    ``(k, m, s)``.

    `strip_lift` is for each metre of span [m], `strip_moment` [m^2].
    """

    lift: np.ndarray
    far_wake_lift: np.ndarray
    induced: np.ndarray
    profile: np.ndarray
    plates: np.ndarray
    base: np.ndarray
    mounts: np.ndarray
    moment: np.ndarray
    strip_lift: np.ndarray
    strip_moment: np.ndarray
    strip_cl: np.ndarray
    doubt: np.ndarray
    outside: np.ndarray


def areas(
    layout: Layout,
    cases: Cases,
    state: State,
    circulation: np.ndarray,
    influence: Influence,
    speeds_m_s: np.ndarray,
    air: Air,
) -> Areas:
    """Everything that acts, from converged strips of shape ``(k * m, s)``.

    Air that descends behind a roof leans the wing's force forward, but no drag is taken off for that: what
    the roof's flow gives to the wing, the wing's flow takes from the roof. Far behind the car only the
    vortex wake is left, and its drag is that of the far-wake plane.
    """
    shape = (len(speeds_m_s), len(circulation) // len(speeds_m_s))
    found = _sections(layout, cases, state)
    lift, drag, moment = _strip_areas(layout, cases, state, found)
    width = 2 * layout.strips.width_m
    grid = circulation.reshape(*shape, -1)
    form = np.broadcast_to(influence.drag, (shape[1], *influence.drag.shape[1:]))
    plates, base = _plates(layout, cases.ratio[0], speeds_m_s, air)
    mounts = sum(_pair(m) * m.drag_area_m2 for p in layout.planes for m in p.wing.mounts)

    def table(column: Any) -> np.ndarray:
        return column.reshape(*shape, *column.shape[1:])

    return Areas(
        lift=table(lift @ width),
        far_wake_lift=2 * (grid * influence.lift_width).sum(axis=-1),
        induced=np.einsum("kms,mst,kmt->km", grid, form, grid, optimize=True),
        profile=table(drag @ width),
        plates=np.broadcast_to(plates[:, None], shape),
        base=np.broadcast_to(base[:, None], shape),
        mounts=np.full(shape, float(mounts)),
        moment=table(_moment(layout, lift, drag, moment) @ width),
        strip_lift=table(lift),
        strip_moment=table(moment),
        strip_cl=table(found["cl"]),
        doubt=table(np.any(found["doubt"], axis=1)),
        outside=table(np.any(found["outside"], axis=1)),
    )


def _pair(mount: Mount) -> int:
    """How many stands a mount is: one in the middle has no mirror image."""
    return 2 if mount.span_fraction > 0.0 else 1


def _strip_areas(layout: Layout, cases: Cases, state: State, found: dict) -> tuple[np.ndarray, ...]:
    """Lift and drag [m], quarter-chord moment [m^2, nose-up of the car], for each metre of span."""
    local, chord = state.ratio**2, layout.strips.chord_m
    lift = local * cases.chord * cases.load * found["cl"]
    return lift, local * chord * found["cd"], -local * cases.chord * chord * found["cm"]


def _moment(layout: Layout, lift: np.ndarray, drag: np.ndarray, moment: np.ndarray) -> np.ndarray:
    """Strip moments about the wing's moment point, nose-up of the car [m^2]."""
    wing, quarter = layout.planes[0].wing, layout.strips.quarter
    point_x = 0.25 * float(wing.chord_at(np.zeros(1))[0]) + wing.moment_point_m[0]
    point_z = -wing.moment_point_m[1]  # up on the car is down in the lattice's frame
    return lift * (quarter[:, 0] - point_x) + moment - drag * (quarter[:, 2] - point_z)


def _sections(layout: Layout, cases: Cases, state: State) -> dict[str, np.ndarray]:
    """cl, cd, cm of the strips, and whether any datum there is doubtful or lies outside the data.

    Where a mount takes circulation, the neighbours' upwash raises the angle of a section that is not there:
    its drag and moment are taken at stall at the most, and in proportion to what is left.
    """
    reynolds = cases.reynolds * state.ratio
    found = _section_values(layout, state.alpha, reynolds)
    disturbed = cases.load < 1.0
    if not disturbed.any():
        return found
    calm = _section_values(layout, np.minimum(state.alpha, layout.data.stall_rad(cases.reynolds)), reynolds)
    calm |= {"cd": calm["cd"] * cases.load, "cm": calm["cm"] * cases.load, "cl": found["cl"]}
    return {name: np.where(disturbed, calm[name], found[name]) for name in found}


def _section_values(layout: Layout, alpha: np.ndarray, reynolds: np.ndarray) -> dict[str, np.ndarray]:
    looks = [polar.at(np.degrees(alpha), reynolds) for polar in layout.data.polars]
    used = layout.data.weight > 0
    blended = {name: layout.data.blend([getattr(at, name) for at in looks]) for name in ("cl", "cd", "cm")}
    doubt = np.any([look.low_confidence & u for look, u in zip(looks, used, strict=True)], axis=0)
    outside = np.any([~look.inside & u for look, u in zip(looks, used, strict=True)], axis=0)
    return blended | {"doubt": doubt, "outside": outside}


def _plates(
    layout: Layout, ratio: np.ndarray, speeds_m_s: np.ndarray, air: Air
) -> tuple[np.ndarray, np.ndarray]:
    """Friction and base drag area of all plates at each speed, shape ``(k,)``."""
    friction, base = np.zeros(len(speeds_m_s)), np.zeros(len(speeds_m_s))
    for number, plane in enumerate(layout.planes):
        tip = ratio[np.flatnonzero(layout.plane == number)[-1]]
        one, other = plate_drag_area_m2(plane.wing, tip * speeds_m_s, air)
        friction += tip**2 * one
        base += tip**2 * other
    return friction, base


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
