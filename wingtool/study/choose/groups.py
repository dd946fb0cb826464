"""Sections that the band cannot tell apart, and their order by what forgives more."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from wingtool.section import surrogate_shapes
from wingtool.study.choose.aim import Aim
from wingtool.study.choose.errors import SHAPE_ERRORS
from wingtool.study.choose.estimate import WingEstimate
from wingtool.study.choose.finalists import Finalist
from wingtool.study.choose.shapes import drawn, fitted_row
from wingtool.study.compare import REPEAT_DOWNFORCE_N, REPEAT_LAP_S, SPEED_M_S
from wingtool.study.trace.shape_band import trip_of
from wingtool.tracing import for_surrogate

REPEAT_ANGLE_DEG = 0.5  # of a gauge on a wing: common practice, no source


def repeatable(aim: Aim, speed_m_s: float) -> float:
    """The smallest difference of the aim's value that a careful club can repeat, in the aim's unit."""
    downforce = REPEAT_DOWNFORCE_N * (speed_m_s / SPEED_M_S) ** 2
    return {"lap": REPEAT_LAP_S, "downforce": downforce, "spare": REPEAT_ANGLE_DEG}[aim.kind]


def grouped(found: tuple[Finalist, ...], repeat: float) -> tuple[tuple[Finalist, ...], ...]:
    """Groups, best first; within a group the gentlest first. Sections without a value are left out.

    A group is the best section left and all whose difference from it the band covers (half widths of the two
    sections add in square), or is less than can be repeated.
    """
    left = sorted((one for one in found if np.isfinite(one.value)), key=lambda one: -one.value)
    groups = []
    while left:
        best = left[0]
        alike = [
            one for one in left
            if best.value - one.value <= max(repeat, float(np.hypot(best.half_width, one.half_width)))
        ]  # fmt: skip
        groups.append(tuple(sorted(alike, key=harshness)))
        left = [one for one in left if one not in alike]
    return tuple(groups)


def harshness(one: Finalist) -> float:
    """Parts of the lift that are lost past the stall, to dirt, and to building errors, added up."""
    return float(np.nansum([one.stall_drop, one.dirt_loss, one.error_loss]))


def with_gentleness(
    found: tuple[Finalist, ...], estimate: WingEstimate, chord_m: float
) -> tuple[Finalist, ...]:
    """The same with what dirt and building errors take, by the surrogate at the working point."""
    if not found:
        return found
    rows = []
    for one in found:
        section = drawn(one.row, one.name, "")
        changed = [error.change(section, error.size_mm / 1000.0 / chord_m) for error in SHAPE_ERRORS]
        rows += [one.row, *(fitted_row(shape)[0] for shape in (section, *changed))]
    each = len(SHAPE_ERRORS) + 2
    wing_angle = np.array([one.wing_angle_deg for one in found])
    cl_guess = np.array([one.downforce_n[1] for one in found])
    cl_guess = np.nan_to_num(cl_guess / np.nanmax(np.append(cl_guess, 1.0)))
    a, b, c = estimate.angle
    alpha = np.nan_to_num(a + b * wing_angle + c * cl_guess)
    shapes, alpha = for_surrogate(np.array(rows)), np.repeat(alpha, each)[:, None]
    reynolds = estimate.reynolds[1]
    here = surrogate_shapes(shapes, reynolds, alpha, estimate.trip_x).cl.reshape(-1, each)
    dirty_trip = min(trip_of("dirty", None), estimate.trip_x)
    dirty = surrogate_shapes(shapes[::each], reynolds, alpha[::each], dirty_trip).cl[:, 0]
    own = np.maximum(here[:, 1], 0.1)
    dirt = 1.0 - dirty / np.maximum(here[:, 0], 0.1)
    error = np.sqrt((((here[:, 2:] - here[:, 1:2]) / own[:, None]) ** 2).mean(axis=1))
    return tuple(
        replace(one, dirt_loss=float(d), error_loss=float(e))
        for one, d, e in zip(found, dirt, error, strict=True)
    )
