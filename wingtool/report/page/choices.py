"""The wing at other places, as a table for the study's page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.report.text import degrees, force, length, speed

if TYPE_CHECKING:
    from wingtool.study import WingPlaces
    from wingtool.units import DisplayUnits

PLACE_CAUTION = (
    "From the side view alone, with a wide band: tufts on the car decide. Check your rules for height and"
    " setback first; a higher wing asks more of its stands."
)


def place_content(places: WingPlaces | None, units: DisplayUnits) -> list[dict[str, Any]]:
    """Block on height and setback: heading, table, caution; none without a number."""
    if places is None or not np.isfinite(places.downforce.n).any():
        return []
    rows = [
        (f"{word} position tried", *_place(places, find(places.downforce.n), units))
        for word, find in (("worst", np.nanargmin), ("best", np.nanargmax))
    ]
    at = f"at {degrees(places.wing_angle_deg)} and {speed(places.speed_m_s, units)}"
    head = (at, "downforce", "lowest point above ground", "quarter chord and roof edge", "to stall")
    block = {"heading": "Height and setback", "head": head, "rows": rows, "lines": []}
    return [block | {"cautions": [PLACE_CAUTION]}]


def _place(places: WingPlaces, number: int | np.integer, units: DisplayUnits) -> tuple[str, ...]:
    row, column = np.unravel_index(number, places.downforce.n.shape)
    behind = float(places.behind_roof_m[column])
    return (
        force(float(places.downforce.n[row, column]), units),
        length(float(places.height_m[row]), units),
        f"{length(abs(behind), units)} {'behind' if behind >= 0 else 'ahead'}",
        degrees(float(places.stall_margin_deg[row, column])),
    )
