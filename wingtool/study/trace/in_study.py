"""A study whose section was traced: what makes its band, at the angle that the study advises."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wingtool.study.trace.rank import ROOF_ERROR_DEG, Ranking, rank
from wingtool.study.trace.shape_band import TWO_SIDED_95, traced_beside

if TYPE_CHECKING:
    from wingtool.study.advice import Advice
    from wingtool.study.schema.study import Study
    from wingtool.tracing import TracedSection
    from wingtool.wing import WingPolar


@dataclass(frozen=True, eq=False)
class TracedAnswer:
    """The traced section, the ranking at the working angle of the wing's middle, and its lift there."""

    found: TracedSection
    ranking: Ranking
    cl: float


def traced_answer(
    study: Study, wing: WingPolar, advice: Advice, roof_band_deg: float | None
) -> TracedAnswer | None:
    """The ranked list for the start angle at the middle speed; None when the section was not traced.

    Parameters
    ----------
    roof_band_deg : float, optional
        Half band of the roof's flow angle [deg] as the study states it.
    """
    found = traced_beside(study.wing.section, study.folder)
    if found is None:
        return None
    at = wing.middle_speed, wing.nearest_angle(advice.start_deg), wing.middle_strip
    alpha = float(wing.strip_alpha_deg[at])
    alpha = alpha if np.isfinite(alpha) else float(wing.wing_angle_deg[at[1]])
    roof = ROOF_ERROR_DEG if roof_band_deg is None else roof_band_deg / TWO_SIDED_95
    reynolds = float(np.median(wing.reynolds))
    table = study.wing
    ranking = rank(found, reynolds, alpha, table.surface, table.trip_x, roof_error_deg=roof)
    return TracedAnswer(found, ranking, float(wing.strip_cl[at]))
