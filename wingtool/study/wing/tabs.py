"""The same wing with other tabs, so that "more angle or a tab" can be read from the study's own tables."""

from __future__ import annotations

from operator import itemgetter
from typing import TYPE_CHECKING

from wingtool.study.wing.run import wing_of_study

if TYPE_CHECKING:
    from wingtool.study.schema.study import Study
    from wingtool.wing import WingPolar

SAME_TAB_M = 0.0002
SHARES_OF_CHORD = (0.0, 0.01, 0.02)  # the heights that people fit; common practice, no source


def tab_wings(study: Study) -> list[tuple[float, WingPolar | None]]:
    """Pairs of tab height [m] and wing over the study's angles and speeds, from no tab upwards.

    None stands for the wing with the study's own tab. A wing of several elements comes alone: a tab on it
    cannot be computed.
    """
    own_m = study.wing.tab_m or 0.0
    if study.wing.element:
        return [(own_m, None)]
    usual = (round(share * study.wing.chord_m, 4) for share in SHARES_OF_CHORD)
    others = [height_m for height_m in usual if abs(height_m - own_m) > SAME_TAB_M]
    return sorted(
        [(own_m, None), *((height_m, _with_tab(study, height_m)) for height_m in others)], key=itemgetter(0)
    )


def _with_tab(study: Study, height_m: float) -> WingPolar:
    table = study.wing.model_copy(update={"tab_m": height_m or None})
    other = study.model_copy(update={"wing": table})
    other._folder = study.folder
    return wing_of_study(other)
