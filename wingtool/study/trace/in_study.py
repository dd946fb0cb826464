"""A study whose section was traced: what makes its band, at the angle that the study advises."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wingtool.study.trace.rank import Ranking, rank
from wingtool.study.trace.shape_band import traced_beside
from wingtool.study.wing.roof import air_at_wing

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


def traced_answer(study: Study, wing: WingPolar, advice: Advice) -> TracedAnswer | None:
    """The ranked list for the start angle at the middle speed; None when the section was not traced."""
    found = traced_beside(study.wing.section, study.folder)
    if found is None:
        return None
    at = wing.middle_speed, wing.nearest_angle(advice.start_deg), wing.middle_strip
    alpha = float(wing.strip_alpha_deg[at])
    alpha = alpha if np.isfinite(alpha) else float(wing.wing_angle_deg[at[1]])
    reynolds, table = float(np.median(wing.reynolds)), study.wing
    ranking = rank(found, reynolds, alpha, table.surface, table.trip_x, roof=air_at_wing(study))
    return TracedAnswer(found, ranking, float(wing.strip_cl[at]))
