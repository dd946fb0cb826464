"""`wingtool trace`: from what the person measured to a section with its band, and what that will do."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from wingtool import tracing
from wingtool.section import SectionPolar, polar
from wingtool.study.advice import SOUND
from wingtool.study.progress import no_progress
from wingtool.study.trace.measure import TraceRequest, check_words, measure_section
from wingtool.study.trace.rank import Ranking, rank
from wingtool.study.trace.shape_band import with_shape_band

BAND_ANGLES_DEG = np.arange(-4.0, 17.0, 2.0)
FLOWS_DEG = np.arange(-2.0, 7.0, 2.0)  # well clear of stall on any wing's section
NO_FLOW = "no sound flow was found at {} of {} angles from {:g} to {:g} deg: is the outline right?"


@dataclass(frozen=True, eq=False)
class TraceResult:
    """The traced section and all that was made of it; what only a photo gives is None without one."""

    found: tracing.TracedSection
    fitted: tracing.Fitted
    datum: tracing.Datum
    matches: tuple[tracing.Match, ...]
    polar: SectionPolar
    ranking: Ranking
    plane: tracing.Plane | None = None
    photo: tracing.Photo | None = None
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
    check_words(request)
    progress("outline")
    measured = measure_section(request)
    found = measured.found
    progress("nearest known sections")
    matches = tracing.nearest(found.section, tracing.load_index())
    progress("lift and drag, and their uncertainty")
    centre = polar(
        found.section, request.reynolds, BAND_ANGLES_DEG, method=request.method, surface=request.surface
    )
    return TraceResult(
        found=found,
        fitted=measured.fitted,
        datum=tracing.find_datum(found.shape, found.covariance),
        matches=matches,
        polar=with_shape_band(centre, found),
        ranking=rank(found, request.reynolds, request.angle_deg, request.surface),
        plane=measured.plane,
        photo=measured.photo,
        doubts=measured.doubts or _flow_doubt(centre.status[0]),
    )


def _flow_doubt(status: np.ndarray) -> tuple[str, ...]:
    """An outline round which no flow is found, of the status at `BAND_ANGLES_DEG`."""
    status = status[np.isin(BAND_ANGLES_DEG, FLOWS_DEG)]
    unsound = int(np.count_nonzero(~np.isin(status, SOUND)))
    if unsound <= status.size // 2:
        return ()
    return (NO_FLOW.format(unsound, status.size, *FLOWS_DEG[[0, -1]]),)
