"""The wing by coefficients alone: one row an angle, for programs that take no speed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.report.tables.names import table_of
from wingtool.report.tables.table import Table
from wingtool.report.tables.wing import wing_facts

if TYPE_CHECKING:
    from wingtool.wing import WingPolar


def compact_table(wing: WingPolar, facts: dict[str, Any] | None = None) -> Table:
    """CL, CD, CM over angle at the middle speed, and how much they change over the table's speeds.

    The change is that of Reynolds number: the largest departure from the row's value at any speed of the
    table, in per cent. A program that needs better takes the full table.
    """
    k = len(wing.speed_m_s) // 2
    values: dict[str, Any] = {"wing_angle_deg": wing.wing_angle_deg}
    values |= {name: getattr(wing, name)[k] for name in ("CL", "CD", "CM")}
    for name in ("CL", "CD"):
        values[f"{name}_change_percent"] = _change(getattr(wing, name), k)
    values |= {"stall_margin_deg": wing.stall_margin_deg[k], "status": wing.status[k]}
    facts = (facts or {}) | wing_facts(wing) | {
        "speed_m_s": float(wing.speed_m_s[k]),
        "reynolds": float(np.fmax.reduce(wing.reynolds[k])),
    }  # fmt: skip
    title = "Coefficients of the wing over angle at the middle speed"
    return table_of("wing_coefficients", title, values, facts, ("wing_angle_deg",))


def _change(rows: np.ndarray, k: int) -> np.ndarray:
    """Largest departure of any row from row k [per cent of it], nan where there is no number."""
    away = np.fmax.reduce(np.abs(rows - rows[k]), axis=0)
    return 100.0 * away / np.where(rows[k] == 0.0, np.nan, np.abs(rows[k]))
