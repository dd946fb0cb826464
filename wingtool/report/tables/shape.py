"""The table of a section's measures, and the words for it on the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from wingtool.report.tables.table import Column, Table, plain

if TYPE_CHECKING:
    from wingtool.study import Inspection

SHAPE_COLUMNS = (
    Column("thickness", "largest distance between the sides over the chord", "1", "", "number", 0),
    Column("thickness_x", "place of the largest thickness along the chord", "1", "aft"),
    Column(
        "camber", "largest ordinate of the mean line over the chord", "1", "towards the upper side as drawn"
    ),
    Column("camber_x", "place of the largest camber; missing without camber", "1", "aft"),
    Column("nose_radius", "smallest radius of the nose over the chord", "1", "", "number", 0),
    Column("tail_gap", "thickness of a blunt tail over the chord", "1", "", "number", 0),
    Column("tail_angle_deg", "angle between the sides at the tail", "degree"),
    Column("area", "cross-section over the chord squared", "1", "", "number", 0),
    Column("chord_angle_deg", "line from tail to foremost point against the x axis", "degree", "nose up"),
    Column("points", "points given", "1", "", "integer", 0),
)


def shape_table(inspection: Inspection) -> Table:
    """One row: the measures; facts: name, origin, repairs, warnings, coordinates."""
    section, measures = inspection.section, inspection.measures
    values = {column.name: getattr(measures, column.name, len(section.xy)) for column in SHAPE_COLUMNS}
    facts: dict[str, Any] = {
        "section": section.name,
        "origin": section.origin,
        "repairs": list(section.repairs),
        "warnings": list(measures.warnings),
        "coordinates": [[round(float(v), 8) for v in point] for point in section.xy],
    }
    row = tuple(plain(value) for value in values.values())
    return Table("shape", f"Measures of the section {section.name}", SHAPE_COLUMNS, [row], facts)


def shape_rows(inspection: Inspection) -> list[tuple[str, float, str, float | None]]:
    """What to print: measure, value, unit, place along the chord [per cent] or none."""
    m = inspection.measures
    return [
        ("thickness", 100.0 * m.thickness, "%", 100.0 * m.thickness_x),
        ("camber", 100.0 * m.camber, "%", 100.0 * m.camber_x),
        ("nose radius", 100.0 * m.nose_radius, "%", None),
        ("tail gap", 100.0 * m.tail_gap, "%", None),
        ("tail angle", m.tail_angle_deg, "deg", None),
        ("chord line off the x axis", m.chord_angle_deg, "deg", None),
        ("cross-section", 100.0 * m.area, "% c2", None),
    ]
