"""Tables of a section: swept over angle and Reynolds number, and its measures, with words for them."""

from typing import Any

import numpy as np

from wingtool.report.tables.table import Table, fields_of, table_of
from wingtool.section import SectionPolar
from wingtool.study import Inspection


def section_table(polar: SectionPolar, facts: dict[str, Any] | None = None) -> Table:
    """One row an angle and Reynolds number, Reynolds number slowest; nothing left out."""
    values = {
        "alpha_deg": polar.alpha_deg[None, :],
        "reynolds": polar.reynolds[:, None],
        **fields_of(polar, "cl", "cd", "cm", "cl_low", "cl_high", "cd_low", "cd_high"),
        "lift_to_drag": lift_to_drag(polar.cl, polar.cd),
        **fields_of(polar, "transition_upper", "transition_lower"),
        "section": polar.section.name if polar.section else "given by the user",
        **fields_of(polar, "surface", "tab_chord", "height_chord", "method"),
        "band_origin": polar.band_origin or "no band",
        "status": polar.status,
    }
    title = "Section coefficients over angle and Reynolds number"
    return table_of("section", title, values, facts, ("reynolds", "alpha_deg"))


def lift_to_drag(lift: np.ndarray, drag: np.ndarray) -> np.ndarray:
    """Lift over drag; nan where there is no drag to divide by, as in a flow without viscosity."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(np.abs(drag) > 1e-9, lift / drag, np.nan)


def second_words(polar: SectionPolar, second: SectionPolar) -> str:
    """What the column of the second opinion is, and at which angles it leaves the polar's band."""
    from wingtool.study import outside_band

    where = polar.alpha_deg[outside_band(polar, second).any(axis=0)]
    if not where.size:
        return "second: cl by the learned surrogate; below stall it lies within the band of cl."
    angles = ", ".join(f"{angle:g}" for angle in where)
    note = "second: cl by the learned surrogate; below stall it leaves the band of cl at"
    return f"{note} {angles} degrees: look twice there."


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
