"""Published values that this build is held against: `sections.csv` and `wings.csv` beside this file."""

from __future__ import annotations

from pathlib import Path

from wingtool.files import words_beside
from wingtool.study.trust.check import Check

ATTACHED, NEAR_STALL, LOW_REYNOLDS = "attached flow", "near stall", "low Reynolds number"
ROUGH, TAB, GROUND, PLATES = "rough surface", "tab", "near the ground", "plates and short wings"
REGIMES = (ATTACHED, NEAR_STALL, LOW_REYNOLDS, ROUGH, TAB, GROUND, PLATES)
# What is held against measurements elsewhere; shown beside the regime.
REMARKS: dict[str, str] = words_beside(__file__, "remarks")
Case = tuple[str, float, str, float | None, float]  # section, Reynolds number, surface, trip x/c, tab/c


def csv_rows(path: Path, separator: str = ";") -> list[dict[str, str]]:
    """Rows of a table of ours, comments left out, as text."""
    lines = path.read_text(encoding="utf-8").splitlines()
    head, *rows = (line.split(separator) for line in lines if not line.startswith("#"))
    return [dict(zip(head, row, strict=True)) for row in rows]


def published_values() -> list[tuple[Case, float, Check]]:
    """Rows of `sections.csv`: what is to be computed, the angle [deg] that is read, the check without it."""
    found = []
    for row in csv_rows(Path(__file__).with_name("sections.csv")):
        trip_x = float(row["trip_x"]) if row["trip_x"] else None
        reynolds, tab, at_deg = (float(row[name]) for name in ("reynolds", "tab_chord", "at_deg"))
        case = row["section"], reynolds, row["surface"], trip_x, tab
        state = row["surface"] if trip_x is None else f"trip {trip_x:g}"
        condition = f"Re {reynolds / 1e6:g} million, {state}" + (f", tab {100 * tab:g} %" if tab else "")
        condition += f", {at_deg:g}°" if row["quantity"] in ("lift", "drag") else ""
        check = Check(
            row["regime"], row["section"], condition, row["quantity"], float(row["published"]),
            float(row["tolerance"]), kind="PUBLISHED", source=row["source"],
        )  # fmt: skip
        found.append((case, at_deg, check))
    return found
