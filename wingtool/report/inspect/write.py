"""What is written about one inspected section: lines on the screen, picture or table, full-size template."""

from functools import partial
from pathlib import Path

from wingtool.errors import OutputError
from wingtool.report.formats.table_files import write_table
from wingtool.report.inspect.picture import draw_section
from wingtool.report.plots.style import METADATA, save
from wingtool.report.tables.shape import shape_rows, shape_table
from wingtool.study import Inspection
from wingtool.units import METRE_PER_INCH, quantity


def inspection_lines(inspection: Inspection) -> list[str]:
    """Repairs and warnings, then measures to few figures, in per cent of the chord and at the chord told."""
    section, chord_m = inspection.section, inspection.chord_m
    lines = [f"{section.name}: {len(section.xy)} points"]
    lines += [f"repaired: {repair}" for repair in section.repairs] or ["repaired: nothing"]
    if section.rounding > 1e-6:
        lines.append(f"rounding of the file ({2 * section.rounding:.1g} of the chord) smoothed")
    lines += [f"check: {doubt}" for doubt in section.doubts]
    lines += [f"warning: {warning}" for warning in inspection.measures.warnings] or ["warnings: none"]
    for name, value, unit, place in shape_rows(inspection):
        at = f" at {place:.0f} % chord" if place is not None and place == place else ""
        size = ""
        if chord_m and unit == "%":
            length_m = value / 100.0 * chord_m
            size = f"  {1000 * length_m:6.1f} mm  {length_m / METRE_PER_INCH:6.2f} in"
        figures = f"{value:.2f}" if abs(value) < 1.0 else f"{value:#.3g}"
        lines.append(f"  {name:<26}{figures:>6} {unit:<4}{size}{at}".rstrip())
    return [*lines, f"origin: {section.origin}"]


def write_inspection(inspection: Inspection, path: Path | str) -> list[Path]:
    """Write the picture or, for .json and .csv, the table; the ending chooses. Returns what was written."""
    path = Path(path)
    if path.suffix.lower() in (".json", ".csv"):
        return write_table(shape_table(inspection), path)
    if path.suffix.lower() not in METADATA:
        known = ", ".join([*METADATA, ".json", ".csv"])
        raise OutputError(f"{path}: unknown format {path.suffix!r}; end the name in {known}")
    draw = partial(draw_section, inspection=inspection)
    return save(draw, path.with_suffix(""), (9.0, 7.6), (path.suffix,))


def write_template(inspection: Inspection, path: Path | str, skin: str = "0 mm", wire: str = "0 mm") -> Path:
    """Write the outline at full size in millimetres, with a scale to measure after printing.

    Parameters
    ----------
    path : Path
        FILE.svg, .dxf, or .pdf (tiled over A4 sheets).
    skin, wire : str
        Skin thickness taken off, and width that a hot wire melts, with their units.

    Raises
    ------
    WingtoolError
        No chord was told; a skin or wire that cannot be; an unknown ending; a place that cannot be written.
    """
    from wingtool.report.inspect.drawing_files import write_outline
    from wingtool.report.inspect.outline import cutting_outline

    if inspection.chord_m is None:
        raise OutputError(f'{path}: a full-size template needs the chord; add for example --chord "250 mm"')
    skin_mm, wire_mm = (
        1000.0 * quantity(text, "length", key) for text, key in ((skin, "--skin"), (wire, "--wire"))
    )
    return write_outline(cutting_outline(inspection.smooth, inspection.chord_m, skin_mm, wire_mm), path)
