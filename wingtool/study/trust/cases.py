"""Published values that this build is held against: `sections.csv` and `wings.csv` beside this file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

ATTACHED, NEAR_STALL, LOW_REYNOLDS = "attached flow", "near stall", "low Reynolds number"
ROUGH, TAB, GROUND, PLATES = "rough surface", "tab", "near the ground", "plates and short wings"
REGIMES = (ATTACHED, NEAR_STALL, LOW_REYNOLDS, ROUGH, TAB, GROUND, PLATES)
# What is held against measurements elsewhere; shown beside the regime.
REMARKS = {
    GROUND: "One plated wing over a moving road (Zerihan, thesis, Southampton, 2001; Zhang, Toet and Zerihan,"
    " Applied Mechanics Reviews 59(1), 2006) is held in a slow test; its errors by height stand in"
    " wingtool/wing/README.md.",
    PLATES: "The same wing in free air is held in a slow test: its lift slope, and its stall within the"
    " margin that the advice keeps.",
}
NUMBERS = ("reynolds", "trip_x", "tab_chord", "at_deg", "published", "tolerance")


@dataclass(frozen=True)
class Published:
    """One published value of a section.

    `quantity` is one of `wingtool.study.trust.run.read_off`; `at_deg` the angle that it needs, if any;
    `trip_x` None where the surface's own; `tolerance` is in the unit of the quantity.
    """

    regime: str
    section: str
    reynolds: float
    surface: str
    trip_x: float | None
    tab_chord: float
    quantity: str
    at_deg: float
    published: float
    tolerance: float
    source: str


def csv_rows(path: Path, separator: str = ";") -> list[dict[str, str]]:
    """Rows of a table of ours, comments left out, as text."""
    lines = path.read_text(encoding="utf-8").splitlines()
    head, *rows = (line.split(separator) for line in lines if not line.startswith("#"))
    return [dict(zip(head, row, strict=True)) for row in rows]


def published_values() -> list[Published]:
    """Rows of `sections.csv`."""
    found = []
    for row in csv_rows(Path(__file__).with_name("sections.csv")):
        numbers: dict[str, Any] = {name: float(row[name]) if row[name] else None for name in NUMBERS}
        found.append(Published(**row | numbers))
    return found
