"""The table of a section's measures, and the words for it on the screen."""

from typing import Any

from wingtool.report.tables.names import table_of
from wingtool.report.tables.table import Table
from wingtool.study import Inspection


def shape_table(inspection: Inspection) -> Table:
    """One row: the measures; facts: name, origin, repairs, warnings, coordinates."""
    section, measures = inspection.section, inspection.measures
    facts: dict[str, Any] = {
        "section": section.name,
        "origin": section.origin,
        "repairs": list(section.repairs),
        "warnings": list(measures.warnings),
        "coordinates": [[round(float(v), 8) for v in point] for point in section.xy],
    }
    values = {name: value for name, value in vars(measures).items() if name != "warnings"}
    values["points"] = len(section.xy)
    return table_of("shape", f"Measures of the section {section.name}", values, facts)


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
