"""Sections that the band cannot tell apart, and their order by what forgives more."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from wingtool.section import surrogate_shapes
from wingtool.study.car.parts import REFERENCE_SPEED_M_S
from wingtool.study.choose.aim import Aim, at_angle, strip_alpha_deg, usable
from wingtool.study.choose.errors import SHAPE_ERRORS
from wingtool.study.choose.finalists import Finalist, best_first, solved_lift
from wingtool.study.choose.shapes import drawn, fitted_row
from wingtool.study.choose.terms import Terms
from wingtool.study.compare import REPEAT_DOWNFORCE_N, REPEAT_LAP_S
from wingtool.study.wing.finite_wing import tab_chord
from wingtool.tracing import for_surrogate

REPEAT_ANGLE_DEG = 0.5  # of a gauge on a wing: common practice, no source


def repeatable(aim: Aim, speed_m_s: float) -> float:
    """The smallest difference of the aim's value that a careful club can repeat, in the aim's unit."""
    downforce = REPEAT_DOWNFORCE_N * (speed_m_s / REFERENCE_SPEED_M_S) ** 2
    return {"lap": REPEAT_LAP_S, "downforce": downforce, "spare": REPEAT_ANGLE_DEG}[aim.kind]


def grouped(found: tuple[Finalist, ...], repeat: float) -> tuple[tuple[Finalist, ...], ...]:
    """Groups, best first; within a group the gentlest first. Sections without a value are left out.

    A group is the best section left and all whose difference from it the band covers (half widths of the two
    sections add in square), or is less than can be repeated.
    """
    left = best_first(found)
    groups = []
    while left:
        best = left[0]
        alike = [
            finalist for finalist in left
            if best.value - finalist.value <= max(repeat, np.hypot(best.half_width, finalist.half_width))
        ]  # fmt: skip
        groups.append(tuple(sorted(alike, key=off_design_loss)))
        left = [finalist for finalist in left if finalist not in alike]
    return tuple(groups)


def off_design_loss(finalist: Finalist) -> float:
    """Parts of the lift that are lost past the stall, to dirt, and to building errors, added up.

    Lift past the stall that the solver does not find counts as lost.
    """
    drop = finalist.stall_drop if np.isfinite(finalist.stall_drop) else 1.0
    return float(np.nansum([drop, finalist.dirt_loss, finalist.error_loss]))


def with_off_design_losses(terms: Terms, found: Sequence[Finalist]) -> tuple[Finalist, ...]:
    """The same with what dirt takes, by the solver, and building errors, by the surrogate.

    Both at the angle of the strip that stalls first at the reference speed; the dirty surface at the Reynolds
    number of the section data that is next.
    """
    if not found:
        return ()
    rows = found[0].wing.polars[0].reynolds
    reynolds = rows[np.argmin(np.abs(np.log(rows / terms.estimate.reynolds[1])))]
    alphas = [_working_alpha_deg(finalist, terms.k) for finalist in found]
    asked_deg = np.arange(np.floor(min(0.0, *alphas)), np.ceil(max(0.0, *alphas)) + 1.0)
    sections, tab = [finalist.section for finalist in found], tab_chord(terms.study)
    dirty = solved_lift(terms, sections, asked_deg, [reynolds], "dirty", tab)[:, 0]
    done = []
    for finalist, alpha, lift in zip(found, alphas, dirty, strict=True):
        good = np.isfinite(lift)
        left = np.interp(alpha, asked_deg[good], lift[good]) if good.any() else np.nan
        dirt = float(1.0 - left / finalist.wing.polars[0].at(alpha, reynolds).cl)
        done.append(replace(finalist, dirt_loss=dirt, error_loss=_error_loss(terms, finalist, alpha)))
    return tuple(done)


def _working_alpha_deg(finalist: Finalist, k: int) -> float:
    """Angle of the strip that stalls first, at the working point and speed number k."""
    angle, good = finalist.point.angle_deg, usable(finalist.wing, k)
    return float(at_angle(finalist.wing, strip_alpha_deg(finalist.wing, k, angle), angle, good))


def _error_loss(terms: Terms, finalist: Finalist, alpha_deg: float) -> float:
    """Root mean square of the parts of the lift that building errors change, by the surrogate."""
    section, chord_m = drawn(finalist.row, finalist.name, ""), terms.study.wing.chord_m
    changed = [error.change(section, error.size_mm / 1000.0 / chord_m) for error in SHAPE_ERRORS]
    shapes = for_surrogate(np.array([fitted_row(shape)[0] for shape in (section, *changed)]))
    own, *cl = surrogate_shapes(shapes, terms.estimate.reynolds[1], alpha_deg, terms.estimate.trip_x).cl[:, 0]
    return float(np.sqrt(np.mean((np.array(cl) / max(own, 0.1) - 1.0) ** 2)))
