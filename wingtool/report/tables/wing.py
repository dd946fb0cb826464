"""The tables of a finite wing: over angle and speed, along the span, with other tabs, at other places."""

from typing import Any

import numpy as np

from wingtool.report.tables.section import lift_to_drag
from wingtool.report.tables.table import Table, fields_of, table_of
from wingtool.report.text import METRIC, column, force_scale, speed_scale, tenths
from wingtool.study import TabChoice, WingPlaces, least_left, off_for_roof_deg
from wingtool.units import DisplayUnits
from wingtool.wing import WingPolar

PARTS = ("CD_induced", "CD_profile", "CD_plates", "CD_base", "CD_mounts", "CL_far_wake", "CL_other")


def wing_table(wing: WingPolar, facts: dict[str, Any] | None = None) -> Table:
    """One row an angle and speed, speed slowest: the full grid, whatever converged."""
    values: dict[str, Any] = {
        "wing_angle_deg": wing.wing_angle_deg[None, :],
        "speed_m_s": wing.speed_m_s[:, None],
        **fields_of(wing, "reynolds", "CL", "CD", "CM"),
        **wing.downforce.columns("downforce"),
        **wing.drag.columns("drag"),
        **fields_of(wing, "pitching_moment_nm", "stall_margin_deg", *PARTS),
        "lift_to_drag": lift_to_drag(wing.CL, wing.CD),
        "first_to_stall": wing.first_to_stall(),
        **_same_everywhere(wing),
        "height_over_chord": wing.wing.height_over_chord,
        "status": wing.status,
    }
    title = "Downforce and drag of the wing over angle and speed"
    return table_of("wing", title, values, (facts or {}) | wing_facts(wing), ("speed_m_s", "wing_angle_deg"))


def compact_table(wing: WingPolar, facts: dict[str, Any] | None = None) -> Table:
    """CL, CD, CM over angle at the middle speed, and how much they change over the table's speeds.

    For programs that take no speed. The change is that of Reynolds number: the largest departure from the
    row's value at any speed of the table, in per cent. A program that needs better takes the full table.
    """
    k = wing.middle_speed
    values: dict[str, Any] = {"wing_angle_deg": wing.wing_angle_deg}
    values |= {name: getattr(wing, name)[k] for name in ("CL", "CD", "CM")}
    for name in ("CL", "CD"):
        values[f"{name}_change_percent"] = largest_change_percent(getattr(wing, name), k)
    values |= {"stall_margin_deg": wing.stall_margin_deg[k], "status": wing.status[k]}
    at_speed = {"speed_m_s": float(wing.speed_m_s[k]), "reynolds": float(np.fmax.reduce(wing.reynolds[k]))}
    title = "Coefficients of the wing over angle at the middle speed"
    facts = (facts or {}) | wing_facts(wing) | at_speed
    return table_of("wing_coefficients", title, values, facts, ("wing_angle_deg",))


def span_table(wing: WingPolar, facts: dict[str, Any] | None = None) -> Table:
    """One row a speed, angle and strip of the span."""
    values = {
        "speed_m_s": wing.speed_m_s[:, None, None],
        "wing_angle_deg": wing.wing_angle_deg[None, :, None],
        "strip_y_m": wing.strip_y_m[None, None, :],
        "strip_width_m": wing.strip_width_m[None, None, :],
        "strip_plane": wing.strip_plane[None, None, :],
        **fields_of(wing, "strip_cl", "strip_alpha_deg", "strip_load_n_m", "strip_margin_deg"),
        "status": wing.status[:, :, None],
    }
    one_wing = len(wing.planes) == 1
    grid = ("speed_m_s", "wing_angle_deg", "strip_y_m") if one_wing else ()
    return table_of("span", "Load along the span", values, (facts or {}) | wing_facts(wing), grid)


def largest_change_percent(rows: np.ndarray, k: int) -> np.ndarray:
    """Largest departure of any row from row k [per cent of it], nan where there is no number."""
    departure = np.fmax.reduce(np.abs(rows - rows[k]), axis=0)
    return 100.0 * departure / np.where(rows[k] == 0.0, np.nan, np.abs(rows[k]))


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
    values = {
        "lowest_height_m": places.height_m[:, None],
        "behind_roof_m": places.behind_roof_m[None, :],
        **fields_of(places, "wing_angle_deg", "speed_m_s", "inflow_deg", "speed_ratio"),
        **places.downforce.columns("downforce"),
        **places.drag.columns("drag"),
        **fields_of(places, "stall_margin_deg", "status"),
    }
    facts = facts | {"note": places.origin}
    grid = ("lowest_height_m", "behind_roof_m")
    return table_of("wing_over_place", "Force over height and setback", values, facts, grid)


def wing_facts(wing: WingPolar) -> dict[str, Any]:
    """What every row of the wing's tables stands on."""
    return _same_everywhere(wing) | {
        "temperature_k": wing.air.temperature_k,
        "pressure_pa": wing.air.pressure_pa,
        "signs": "downforce positive down, drag positive aft, moment positive nose-up of the car",
    }


def wing_rows(
    wing: WingPolar, units: DisplayUnits = METRIC, roof_band_deg: float | None = 0.0
) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Headings and rows for the screen, in the study's own units: forces with their bands, angle left.

    Where nobody measured the roof (None) a part of the angle left is taken off. A row with less left than the
    roof's band may stall; ">" where no stall was found at its speed: a section's own margin stands there.
    """
    left = (wing.stall_margin_deg - off_for_roof_deg(roof_band_deg)).ravel()
    may_stall = (left < (roof_band_deg or 0.0)) & (wing.status.ravel() == "converged")
    count, angles = len(wing.speed_m_s), wing.wing_angle_deg
    speeds = np.repeat(wing.speed_m_s / speed_scale(units), len(angles))
    columns = [[f"{angle:g}" for angle in np.tile(angles, count)], [f"{speed:.0f}" for speed in speeds]]
    for end in (*wing.downforce, *wing.drag):
        columns.append(column(end.ravel().tolist(), force_scale(units)))
    columns += [
        [">" * bool(bound) + tenths(one) for bound, one in zip(least_left(wing).ravel(), left, strict=True)],
        np.where(may_stall, "may stall", wing.status.ravel()).tolist(),
    ]
    bands = (f"down {units.force}", "low", "high", f"drag {units.force}", "low", "high")
    return ("angle", units.speed, *bands, "to stall", "status"), list(zip(*columns, strict=True))


def _same_everywhere(wing: WingPolar) -> dict[str, Any]:
    return {
        "reference_area_m2": float(wing.reference_area_m2),
        "reference_chord_m": float(wing.reference_chord_m),
        "moment_point": "quarter chord of the middle section",
        "density_kg_m3": wing.air.density_kg_m3,
        "band_origin": str(wing.band_origin),
    }
