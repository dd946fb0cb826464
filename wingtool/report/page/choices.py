"""The wing at other places, in sentences for the study's page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.report.text import degrees, figures, force, length, speed

if TYPE_CHECKING:
    from wingtool.study import WingPlaces

PLACE_CAUTION = (
    "From the side view alone, with a wide band: tufts on the car decide. Check your rules for height and"
    " setback first; a higher wing asks more of its stands."
)


def place_content(places: WingPlaces | None) -> list[dict[str, Any]]:
    """Block on height and setback: heading, sentences, caution; none without a number."""
    if places is None or not np.isfinite(places.downforce.n).any():
        return []
    lines = [
        f"{word} position tried: {_place(places, find(places.downforce.n))}"
        for word, find in (("Worst", np.nanargmin), ("Best", np.nanargmax))
    ]
    lines.append(f"Both with the wing at {degrees(places.wing_angle_deg)} and {speed(places.speed_m_s)}.")
    heading = "Height and setback"
    return [{"heading": heading, "head": (), "rows": [], "lines": lines, "cautions": [PLACE_CAUTION]}]


def _place(places: WingPlaces, number: int | np.integer) -> str:
    row, column = np.unravel_index(number, places.downforce.n.shape)
    behind = float(places.behind_roof_m[column])
    return (
        f"{force(float(places.downforce.n[row, column]))} with the lowest point"
        f" {length(float(places.height_m[row]))} above the ground and the quarter chord {length(abs(behind))}"
        f" {'behind' if behind >= 0 else 'ahead of'} the roof edge;"
        f" {figures(float(places.stall_margin_deg[row, column]))} degrees to the stall."
    )
