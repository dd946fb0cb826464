"""Strip matrices at the heights of the set angles, with the ground's image counted once."""

from dataclasses import dataclass

import numpy as np

from wingtool.wing.lattice.condense import condense
from wingtool.wing.lattice.kernels import flat_section
from wingtool.wing.planes import Layout

NEAR_CHORDS = 4.0  # above this height the shift of the quarter-chord point with the angle no longer matters


@dataclass(frozen=True, eq=False)
class Influence:
    """Strip matrices over the angles, each of shape ``(m, s, s)`` or ``(1, s, s)`` where the angle
    does not matter.

    `induced_angle` and `speed` are what the section data do not hold; `drag` is the induced-drag form of
    both halves; `lift_width` (m or 1, s) times circulation is the far-wake lift of both halves.
    """

    induced_angle: np.ndarray
    speed: np.ndarray
    drag: np.ndarray
    lift_width: np.ndarray


def lowest_offset(outline: np.ndarray | None, alpha_rad: np.ndarray) -> np.ndarray:
    """Quarter-chord point of a turned-over section above its lowest point, over the chord, at each angle."""
    xy = np.array([[0.0, 0.0], [1.0, 0.0]]) if outline is None else np.asarray(outline)
    height = -np.outer(np.sin(alpha_rad), xy[:, 0] - 0.25) + np.outer(np.cos(alpha_rad), xy[:, 1])
    return height.max(axis=1)


def influences(layout: Layout, alpha_rad: np.ndarray) -> Influence:
    """Condense at the heights of the angles: once in free air or high up, else at three, with a parabola."""
    wing, section = layout.planes[0].wing, layout.data.polars[0].polar.section
    if not np.isfinite(wing.height_m):
        return _at_height(layout, np.inf, 0.0)
    offset = lowest_offset(None if section is None else section.xy, alpha_rad)
    low, high = offset.min(), offset.max()
    wing.check_plates(low * wing.chord_m)
    if wing.height_over_chord > NEAR_CHORDS or high - low < 1e-3:
        nodes = np.array([(low + high) / 2])
    else:
        nodes = (low + high) / 2 + (high - low) / 2 * np.cos(np.pi * np.array([1, 3, 5]) / 6)
    centre_m = wing.height_m - min(0.0, wing.tip_rise_m)
    condensed = [_at_height(layout, centre_m + node * wing.chord_m, node) for node in nodes]
    return condensed[0] if len(condensed) == 1 else _parabola(nodes, condensed, offset)


def _parabola(nodes: np.ndarray, condensed: list[Influence], offset: np.ndarray) -> Influence:
    from scipy.interpolate import BarycentricInterpolator

    columns = {n: np.concatenate([getattr(one, n) for one in condensed]) for n in vars(condensed[0])}
    return Influence(**{n: BarycentricInterpolator(nodes, column)(offset) for n, column in columns.items()})


def _at_height(layout: Layout, ground_m: float, offset: float) -> Influence:
    """Condense with the mirror plane `ground_m` above the lattice, less what the section data hold."""
    condensed = condense(layout.surfaces, layout.strips.quarter, ground_m, layout.core_m)
    held, speed = _held(layout, offset)
    return Influence(
        induced_angle=(condensed.incidence - np.diag(held))[None],
        speed=(condensed.speed - np.diag(speed))[None],
        drag=condensed.induced_form()[None],
        lift_width=(2 * condensed.wake_lift_width @ condensed.wake_load)[None],
    )


def _held(layout: Layout, offset: float) -> tuple[np.ndarray, np.ndarray]:
    """Incidence and image speed for circulation that the section data already hold, by strip."""
    chord = layout.strips.chord_m
    rows, which = np.unique(layout.rows, return_inverse=True)
    held = []  # a polar each: angle and speed of every strip
    for height in layout.data.height_chord:
        ground = (height + offset) * chord
        flat = np.array([flat_section(n, chord * layout.strips.cos_sweep, ground) for n in rows])
        held.append(flat[which, :, np.arange(len(which))])
    angle, speed = np.moveaxis(np.array(held), -1, 0)
    return layout.data.blend(list(angle)), layout.data.blend(list(speed))
