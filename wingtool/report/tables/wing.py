"""The tables of a finite wing: over angle and speed, and along the span."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.report.tables.names import table_of
from wingtool.report.tables.section import lift_to_drag
from wingtool.report.tables.table import Table
from wingtool.report.text import METRIC, column, force_scale, speed_scale, tenths

if TYPE_CHECKING:
    from wingtool.units import DisplayUnits
    from wingtool.wing import WingPolar

PARTS = ("CD_induced", "CD_profile", "CD_plates", "CD_base", "CD_mounts", "CL_far_wake", "CL_other")


def wing_table(wing: WingPolar, facts: dict[str, Any] | None = None) -> Table:
    """One row an angle and speed, speed slowest: the full grid, whatever converged."""
    values: dict[str, Any] = {
        "wing_angle_deg": wing.wing_angle_deg[None, :],
        "speed_m_s": wing.speed_m_s[:, None],
    }
    values |= {name: getattr(wing, name) for name in ("reynolds", "CL", "CD", "CM")}
    values |= wing.downforce.columns("downforce") | wing.drag.columns("drag")
    values |= {name: getattr(wing, name) for name in ("pitching_moment_nm", "stall_margin_deg")}
    values |= {name: getattr(wing, name) for name in PARTS}
    values |= {"lift_to_drag": lift_to_drag(wing.CL, wing.CD)}
    values |= {"first_to_stall": wing.first_to_stall()}
    values |= _same_everywhere(wing)
    values["height_over_chord"] = np.asarray(wing.height_over_chord)[None, :]
    values["status"] = wing.status
    title = "Downforce and drag of the wing over angle and speed"
    return table_of("wing", title, values, (facts or {}) | wing_facts(wing), ("speed_m_s", "wing_angle_deg"))


def span_table(wing: WingPolar, facts: dict[str, Any] | None = None) -> Table:
    """One row a speed, angle and strip of the span."""
    values = {
        "speed_m_s": wing.speed_m_s[:, None, None],
        "wing_angle_deg": wing.wing_angle_deg[None, :, None],
        "strip_y_m": wing.strip_y_m[None, None, :],
        "strip_plane": wing.strip_plane[None, None, :],
        "strip_cl": wing.strip_cl,
        "strip_alpha_deg": wing.strip_alpha_deg,
        "strip_load_n_m": wing.strip_load_n_m,
        "strip_margin_deg": wing.strip_margin_deg,
        "status": wing.status[:, :, None],
    }
    one_wing = len(wing.planes) == 1
    grid = ("speed_m_s", "wing_angle_deg", "strip_y_m") if one_wing else ()
    return table_of("span", "Load along the span", values, (facts or {}) | wing_facts(wing), grid)


def moment_point(wing: WingPolar) -> str:
    """The moment point in words."""
    aft, up = wing.moment_point
    place = "quarter chord of the middle section"
    return f"{aft:g} m aft of and {up:g} m above the {place}" if aft or up else place


def wing_facts(wing: WingPolar) -> dict[str, Any]:
    """What every row of the wing's tables stands on."""
    return _same_everywhere(wing) | {
        "temperature_k": wing.air.temperature_k,
        "pressure_pa": wing.air.pressure_pa,
        "signs": "downforce positive down, drag positive aft, moment positive nose-up of the car",
    }


def wing_rows(wing: WingPolar, units: DisplayUnits = METRIC) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Headings and rows for the screen, in the study's own units: forces with their bands, angle left."""
    count, angles = len(wing.speed_m_s), wing.wing_angle_deg
    speeds = np.repeat(wing.speed_m_s / speed_scale(units), len(angles))
    columns = [[f"{angle:g}" for angle in np.tile(angles, count)], [f"{speed:.0f}" for speed in speeds]]
    for end in (*wing.downforce, *wing.drag):
        columns.append(column(end.ravel().tolist(), force_scale(units)))
    columns += [[tenths(left) for left in wing.stall_margin_deg.ravel()], wing.status.ravel().tolist()]
    bands = (f"downforce {units.force}", "low", "high", f"drag {units.force}", "low", "high")
    return ("angle deg", units.speed, *bands, "deg to stall", "status"), list(zip(*columns, strict=True))


def _same_everywhere(wing: WingPolar) -> dict[str, Any]:
    return {
        "reference_area_m2": float(wing.reference_area_m2),
        "reference_chord_m": float(wing.reference_chord_m),
        "moment_point": moment_point(wing),
        "density_kg_m3": wing.air.density_kg_m3,
        "band_origin": str(wing.band_origin),
    }
