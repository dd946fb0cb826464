"""`wingtool trace`: from what the person measured to a section with its band, and what that will do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from wingtool.section import Question, SectionPolar, polar, polars
from wingtool.study.advice import SOUND
from wingtool.study.progress import no_progress
from wingtool.study.trace.measure import TraceRequest, check_words, measure_section
from wingtool.study.trace.rank import Ranking, rank
from wingtool.study.trace.shape_band import ShapeBand, shape_band, widened

if TYPE_CHECKING:
    from wingtool.tracing import Datum, Fitted, Match, Photo, Plane, TracedSection

BAND_ANGLES_DEG = np.arange(-4.0, 17.0, 2.0)


@dataclass(frozen=True, eq=False)
class TraceResult:
    """The traced section and all that was made of it; what only a photo gives is None without one."""

    found: TracedSection
    fitted: Fitted
    datums: tuple[Datum, ...]
    matches: tuple[Match, ...]
    polar: SectionPolar
    band: ShapeBand
    ranking: Ranking
    checks: tuple[str, ...]
    notes: tuple[str, ...]
    plane: Plane | None = None
    photo: Photo | None = None
    doubts: tuple[str, ...] = field(default=())


def trace_wing(request: TraceRequest, progress: Callable[[str], None] = no_progress) -> TraceResult:
    """Everything that `wingtool trace` computes.

    Parameters
    ----------
    request : TraceRequest
    progress : callable
        Takes a line on what is being done.

    Raises
    ------
    WingtoolError
        What was measured gives no outline, or words that cannot be meant; the message says what to do.
    """
    from wingtool.tracing import find_datums, load_index, nearest

    check_words(request)
    progress("outline")
    measured = measure_section(request)
    found, fitted = measured.found, measured.fitted
    progress("nearest known sections")
    matches = nearest(found.section, load_index())
    progress(f"coefficients by {request.method}, draws by the surrogate")
    centre = polar(
        found.section, request.reynolds, BAND_ANGLES_DEG, method=request.method, surface=request.surface
    )
    return TraceResult(
        found=found,
        fitted=fitted,
        datums=find_datums(found.shape, found.covariance),
        matches=matches,
        polar=widened(centre, found),
        band=shape_band(found, request.reynolds, BAND_ANGLES_DEG, request.surface),
        ranking=rank(found, request.reynolds, request.angle_deg, request.surface),
        checks=checks_of(found, request),
        notes=found.notes,
        plane=measured.plane,
        photo=measured.photo,
        doubts=doubts_of(measured.doubts, centre),
    )


def checks_of(found: TracedSection, request: TraceRequest) -> tuple[str, ...]:
    """The section method itself on the draws nearest the ends of the band, beside what the surrogate said."""
    from wingtool.geometry import Section
    from wingtool.tracing import draws, kulfan_outline

    if request.method == "surrogate":
        return ("centre and draws by the surrogate alone; no second method was asked",)
    shapes = draws(found.shape, found.covariance, 60)
    alpha = np.array([request.angle_deg])
    cl = shape_band(found, request.reynolds, alpha, request.surface, count=60).cl[:, 0]
    order = np.argsort(cl)
    picked = order[[2, -3]]
    where = np.array([request.reynolds]), request.angle_deg + np.array([-1.0, 0.0]), request.surface
    sections = [Section("draw", kulfan_outline(shapes[k]), "draw") for k in picked]
    ends = polars([Question(section, *where) for section in sections], request.method)
    spread, said = ends[1].cl[0, 1] - ends[0].cl[0, 1], np.diff(cl[picked])[0]
    if not np.isfinite(spread):
        return (
            f"{request.method} gave no number for a draw at {request.angle_deg:g} deg; the band is unchecked",
        )
    return (
        f"two outlines near the ends of the band differ in cl by {spread:.3f} ({request.method}) and "
        f"{said:.3f} (surrogate, which the band by shape rests on) at {request.angle_deg:g} deg",
    )


def doubts_of(outline: tuple[str, ...], centre: SectionPolar) -> tuple[str, ...]:
    """Why outline or coefficients are not to be trusted; empty if they are."""
    unsound = int(np.count_nonzero(~np.isin(centre.status, SOUND)))
    if unsound <= centre.status.size // 2:
        return outline
    no_flow = f"{unsound} of {centre.status.size} angles found no sound flow: is the outline right?"
    return (*outline, no_flow)
