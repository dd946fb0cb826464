"""The same wing with other tabs, so that "more angle or a tab" can be read from the study's own tables."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from wingtool.study.progress import no_progress
from wingtool.study.wing.run import wing_of_study

if TYPE_CHECKING:
    from wingtool.study.schema.study import Study
    from wingtool.wing import WingPolar

SAME_TAB_M = 0.0002
SHARES_OF_CHORD = (0.0, 0.01, 0.02)  # the heights that people fit; common practice, no source


def tab_wings(
    study: Study, own: WingPolar, progress: Callable[[str], None] = no_progress
) -> tuple[tuple[float, WingPolar], ...]:
    """Pairs of tab height [m] and wing over the study's angles and speeds, from no tab upwards.

    Parameters
    ----------
    study : Study
    own : WingPolar
        The wing with the study's own tab, which is not computed again. A wing of several elements comes
        alone: a tab on it cannot be computed.
    progress : callable
        Takes a line on what is being done.
    """
    own_m = study.wing.tab_m or 0.0
    if study.wing.element:
        return ((own_m, own),)
    usual = (round(share * study.wing.chord_m, 4) for share in SHARES_OF_CHORD)
    heights = sorted([own_m, *(height for height in usual if abs(height - own_m) > SAME_TAB_M)])
    found = []
    for height_m in heights:
        if height_m == own_m:
            found.append((height_m, own))
            continue
        progress(f"the same wing with a tab of {1000 * height_m:.1f} mm")
        table = study.wing.model_copy(update={"tab_m": height_m or None})
        other = study.model_copy(update={"wing": table})
        other._folder = study.folder
        found.append((height_m, wing_of_study(other, no_progress)))
    return tuple(found)
