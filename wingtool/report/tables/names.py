"""The names: every column of every table once, with its meaning, unit and positive direction.

`README.md` beside this file prints the list; a test holds it against every table that is written.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np

from wingtool.report.tables.car_names import CAR_COLUMNS
from wingtool.report.tables.shape import SHAPE_COLUMNS
from wingtool.report.tables.table import Column, Table, plain

_COUNTED = (
    Column(
        "alpha_deg", "angle of attack of the section's chord line", "degree", "nose up", "number", -180, 180
    ),
    Column(
        "wing_angle_deg", "chord line against the horizontal", "degree", "more downforce", "number", -90, 90
    ),
    Column("speed_m_s", "speed through the air", "m s-1", "", "number", 0),
    Column("reynolds", "Reynolds number on the chord", "1", "", "number", 0),
)
_SECTION = (
    Column("section", "name of the section", type="string"),
    Column("surface", "state of the surface: smooth, race or dirty", type="string"),
    Column("method", "where the numbers come from: coupled, surrogate, inviscid or given", type="string"),
    Column("cl", "section lift coefficient on the chord", "1", "towards the upper side as drawn"),
    Column("cl_low", "low end of the band of cl", "1", "as cl"),
    Column("cl_high", "high end of the band of cl", "1", "as cl"),
    Column("cd", "section drag coefficient on the chord", "1", "aft"),
    Column("cd_low", "low end of the band of cd", "1", "aft"),
    Column("cd_high", "high end of the band of cd", "1", "aft"),
    Column("cm", "section moment coefficient about the quarter chord", "1", "nose up as drawn"),
    Column("transition_upper", "x/c where the upper side's layer turns turbulent", "1", "", "number", 0),
    Column("transition_lower", "x/c where the lower side's layer turns turbulent", "1", "", "number", 0),
    Column("tab_chord", "height of the trailing-edge tab over the chord", "1", "", "number", 0),
    Column("height_chord", "lowest point above the ground over the chord; missing in free air", "1", "up"),
)
_WING = (
    Column("CL", "wing lift coefficient on the reference area", "1", "downforce"),
    Column("CD", "wing drag coefficient on the reference area, plates included", "1", "aft"),
    Column(
        "CM", "wing moment coefficient on reference area and chord, about the moment point", "1", "nose up"
    ),
    Column("CL_change_percent", "largest change of CL over the table's speeds, against this row", "per cent"),
    Column("CD_change_percent", "largest change of CD over the table's speeds, against this row", "per cent"),
    Column("CD_induced", "part of CD left in the far wake", "1", "aft"),
    Column("CD_profile", "part of CD from the sections", "1", "aft"),
    Column("CD_plates", "part of CD from the endplates' friction", "1", "aft"),
    Column("CD_base", "part of CD from the endplates' blunt edges", "1", "aft"),
    Column("CD_mounts", "part of CD from the stands", "1", "aft"),
    Column("CL_far_wake", "CL by the far wake; near the ground it differs from CL", "1", "downforce"),
    Column("CL_other", "where two solutions stand, the one that a falling angle finds", "1", "downforce"),
    Column("downforce_n", "downforce of the wing", "N", "down"),
    Column("downforce_low_n", "low end of the band of downforce", "N", "down"),
    Column("downforce_high_n", "high end of the band of downforce", "N", "down"),
    Column("drag_n", "drag of the wing", "N", "aft"),
    Column("drag_low_n", "low end of the band of drag", "N", "aft"),
    Column("drag_high_n", "high end of the band of drag", "N", "aft"),
    Column("pitching_moment_nm", "pitching moment about the moment point", "N m", "nose up of the car"),
    Column("lift_to_drag", "downforce over drag", "1"),
    Column("stall_margin_deg", "wing angle left before the first strip stalls, below 0 beyond", "degree"),
    Column("first_to_stall", "part of the span with the least margin: centre, middle or tip", type="string"),
    Column(
        "height_over_chord", "lowest point at the set angle above ground, over the reference chord", "1", "up"
    ),
    Column("reference_area_m2", "area of the coefficients", "m2", "", "number", 0),
    Column("reference_chord_m", "chord of Reynolds number and moment coefficient", "m", "", "number", 0),
    Column("moment_point", "point of the pitching moment", type="string"),
    Column("density_kg_m3", "air density", "kg m-3", "", "number", 0),
)
_SPAN = (
    Column(
        "strip_y_m", "middle of the strip, from the car's centre line; both halves are alike", "m", "outwards"
    ),
    Column("strip_plane", "number of the wing that the strip belongs to, from 0", "1", "", "integer", 0),
    Column(
        "strip_cl", "section lift coefficient of the strip, on its chord and local speed", "1", "downforce"
    ),
    Column(
        "strip_alpha_deg", "angle of attack at which the strip's section works", "degree", "more downforce"
    ),
    Column("strip_load_n_m", "downforce per length of span", "N m-1", "down"),
    Column("strip_margin_deg", "angle left before this strip stalls", "degree"),
)
_CHOICES = (
    Column("tab_m", "height of the trailing-edge tab", "m", "", "number", 0),
    Column(
        "without_deg", "wing angle at which the wing with the lowest tab makes it", "degree", "more downforce"
    ),
    Column("lowest_height_m", "lowest point of the wing above the ground", "m", "up", "number", 0),
    Column("behind_roof_m", "quarter chord of the wing behind the roof edge", "m", "aft"),
    Column(
        "inflow_deg", "flow angle in the centre plane; adds to the wing's angle", "degree", "air descends"
    ),
    Column("speed_ratio", "local speed over car speed in the centre plane", "1", "", "number", 0),
)
_COMPARED = (
    Column("study", "title of the study", type="string"),
    Column("regime", "kind of flow that a check belongs to", type="string"),
    Column("subject", "section or wing of a check", type="string"),
    Column("condition", "under which condition it holds", type="string"),
    Column("quantity", "what is held against the source, with its unit", type="string"),
    Column("published", "value of the source", "as in quantity"),
    Column("tolerance", "difference that counts as agreement", "as in quantity"),
    Column("computed", "value of this build", "as in quantity"),
    Column("second_opinion", "value of the learned surrogate", "as in quantity"),
    Column("difference", "computed less published", "as in quantity"),
    Column("agreement", "agrees, differs, or not computed", type="string"),
    Column("kind", "PUBLISHED measured, EXACT closed form, TWIN second method", type="string"),
    Column("source", "author, report, year, table or figure; from memory where so", type="string"),
    Column("note", "why it was not computed, if so", type="string"),
    Column("cost", "price of the parts in the study's currency; missing where not given", "1"),
)
_CHOSEN = (
    Column("rank", "place in the answer, 1 the best", "1", "", "integer", 1),
    Column("group", "sections of one group cannot be told apart; 1 the best", "1", "", "integer", 1),
    Column("origin", "where a section comes from: collection, profiles, folder, family, own", type="string"),
    Column("aim_value", "what was asked for: lap time gained [s], downforce [N], or angle to spare [degree]",
           "as in aim"),
    Column("aim_half_width", "half width of the band of aim_value that belongs to the section alone",
           "as in aim"),
    Column("stall_drop", "part of the section's lift that is gone within 3 degrees past its stall", "1"),
    Column("dirt_loss", "part of the section's lift that a dirty surface takes", "1"),
    Column("error_loss", "part of the section's lift that building errors change, root mean square", "1"),
)  # fmt: skip
_TOLERANCES = (
    Column("error", "building error", type="string"),
    Column("error_size", "size of the error with its unit", type="string"),
    Column("downforce_change_n", "change of downforce by the error", "N", "down"),
    Column("stall_change_deg", "change of the wing angle of the first stall by the error", "degree", "later"),
    Column("lap_change_s", "change of the lap time by the error", "s", "slower"),
    Column("harm", "changes over what counts as much (10 %, 1 degree, 0.1 s), added", "1", "", "number", 0),
)
_STATED = (
    Column("band_origin", "where low and high come from", type="string"),
    Column("status", "converged, or what is the matter with the row and why", type="string"),
)
NAMES: dict[str, Column] = {
    column.name: column
    for group in (
        _COUNTED, _SECTION, _WING, _SPAN, _CHOICES, _COMPARED, _CHOSEN, _TOLERANCES, _STATED, SHAPE_COLUMNS,
        CAR_COLUMNS,
    )  # fmt: skip
    for column in group
}


def fields_of(source: Any, *names: str, **renamed: str) -> dict[str, Any]:
    """Columns from the fields of an object, or of each of a tuple of objects; `renamed` is column=field.

    A field that is None has no number.
    """
    fields = dict.fromkeys(names) | renamed
    if not isinstance(source, tuple):
        return {name: getattr(source, field or name) for name, field in fields.items()}
    rows = {name: [getattr(one, field or name) for one in source] for name, field in fields.items()}
    return {name: np.array([np.nan if v is None else v for v in row]) for name, row in rows.items()}


def table_of(
    name: str,
    title: str,
    values: Mapping[str, Any],
    facts: Mapping[str, Any] | None = None,
    grid: tuple[str, ...] = (),
) -> Table:
    """A table from columns by name; arrays broadcast against each other and run in C order.

    Raises
    ------
    KeyError
        A name that is not in `NAMES`.
    """
    columns = tuple(NAMES[key] for key in values)
    arrays = np.broadcast_arrays(*(np.asarray(value) for value in values.values()))
    rows = [tuple(plain(v) for v in row) for row in zip(*(a.ravel().tolist() for a in arrays), strict=True)]
    return Table(name, title, columns, rows, facts or {}, grid)


def names_as_markdown() -> str:
    """`README.md` of this folder: every column with its meaning, unit and positive direction."""
    lines = [
        "# Column names",
        "",
        "Generated by `python tests/renew_names.py` from `names.py`; do not edit.",
        "",
    ]
    lines += ["| name | meaning | unit | positive |", "|---|---|---|---|"]
    for column in NAMES.values():
        unit = "text" if column.type == "string" else column.unit
        lines.append(f"| `{column.name}` | {column.description} | {unit} | {column.positive} |")
    return "\n".join(lines) + "\n"
