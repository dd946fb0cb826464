"""Choices at one glance: more angle or a tab, and the wing at other places behind the roof."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wingtool.report.tables.names import table_of
from wingtool.report.tables.table import Table

if TYPE_CHECKING:
    from wingtool.study import StudyResult, TabChoice, WingPlaces


def choice_tables(result: StudyResult, facts: dict[str, Any]) -> list[Table]:
    """The tables that the study gives rise to; none without other tabs, advice, or a side view."""
    tables = []
    if result.tab_choice:
        tables.append(tab_table(result.tab_choice, facts))
    if result.places:
        tables.append(places_table(result.places, facts))
    return tables


def tab_table(choice: TabChoice, facts: dict[str, Any]) -> Table:
    """One row a tab and wanted downforce."""
    values = {
        "tab_m": choice.tab_m[:, None],
        "without_deg": choice.without_deg[None, :],
        "speed_m_s": choice.speed_m_s,
        "downforce_n": choice.wanted_n[None, :],
        "wing_angle_deg": choice.wing_angle_deg,
        **choice.drag.columns("drag"),
        "lift_to_drag": choice.wanted_n[None, :] / choice.drag.n,
        "stall_margin_deg": choice.stall_margin_deg,
        "status": choice.status,
    }
    title = "More angle or a tab, at equal downforce"
    return table_of("tab_choice", title, values, facts, ("tab_m", "without_deg"))


def places_table(places: WingPlaces, facts: dict[str, Any]) -> Table:
    """One row a height and distance behind the roof edge."""
    values: dict[str, Any] = {
        "lowest_height_m": places.height_m[:, None],
        "behind_roof_m": places.behind_roof_m[None, :],
        "wing_angle_deg": places.wing_angle_deg,
        "speed_m_s": places.speed_m_s,
        "inflow_deg": places.inflow_deg,
        "speed_ratio": places.speed_ratio,
    }
    values |= places.downforce.columns("downforce") | places.drag.columns("drag")
    values |= {"stall_margin_deg": places.stall_margin_deg, "status": places.status}
    facts = facts | {"note": places.origin}
    grid = ("lowest_height_m", "behind_roof_m")
    return table_of("wing_over_place", "Force over height and setback", values, facts, grid)
