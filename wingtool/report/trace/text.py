"""What `wingtool trace` and `wingtool match` say on the screen, and the files they write."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.report.formats.table_files import write_table
from wingtool.report.tables.section import section_table
from wingtool.report.trace.pictures import write_fit_picture, write_photo_picture

if TYPE_CHECKING:
    from wingtool.study import MatchResult, TracedAnswer, TraceResult

CAUTION = (
    "Estimates, not measurements: start at a small angle, keep clear of the stall at your fastest corner, "
    "and follow your event's rules."
)


def trace_lines(result: TraceResult) -> list[str]:
    """The answer first: what it is, how sure, where to lay the gauge; then what would help most."""
    from wingtool.geometry import measure
    from wingtool.tracing import zero_lift_row

    found, size = result.found, measure(result.found.section)
    row = zero_lift_row()
    no_lift, no_lift_error = row @ found.shape, np.sqrt(row @ found.covariance @ row)
    mm = found.chord_mm
    return [
        f"{found.section.name}: chord {mm:.0f} mm (+-{2 * found.chord_error_mm:.1f}), {size.thickness:.1%} "
        f"thick at {size.thickness_x:.0%}, camber {size.camber:.1%}, nose radius "
        f"{size.nose_radius * mm:.1f} mm, tail {size.tail_gap * mm:.1f} mm",
        f"fit: {len(result.fitted.residual_mm)} points, off it by {found.rms_mm:.2f} mm (root mean square), "
        f"at most {found.worst_mm:.2f} mm (error of a reading {found.error_mm:g} mm); 95 % band of the "
        f"outline +-{np.median(found.band_mm):.2f} mm",
        f"angle: {result.datums[0].text}",
        f"no lift at a chord angle near {no_lift:.1f} deg (+-{2 * no_lift_error:.1f} from the "
        "shape; thin-aerofoil theory)",
        "",
        *band_lines(result),
        "",
        *ranking_lines(result),
        "",
        "looks most like (likeness, not identity): "
        + ", ".join(f"{m.name} ({100 * m.rms:.2f} % chord)" for m in result.matches[:5]),
        *(f"note: {note}" for note in result.notes),
        *(f"check: {text}" for text in result.checks),
        CAUTION,
    ]


def band_lines(result: TraceResult) -> list[str]:
    """The section's coefficients with their band, one angle a line."""
    polar, band = result.polar, result.band
    lines = [
        f"section at Reynolds {band.reynolds:.2g}, {polar.surface} surface, middle values by {polar.method}",
        "angle deg     cl    low   high     cd    low   high  cl by shape  status",
    ]
    for k, angle in enumerate(polar.alpha_deg):
        row = [getattr(polar, name)[0, k] for name in ("cl", "cl_low", "cl_high", "cd", "cd_low", "cd_high")]
        shape = 0.5 * (band.cl_below[k] + band.cl_above[k])
        lines.append(
            f"{angle:9.0f} {row[0]:6.2f} {row[1]:6.2f} {row[2]:6.2f} {row[3]:6.3f} {row[4]:6.3f} "
            f"{row[5]:6.3f} {'+-':>5} {shape:.3f}  {polar.status[0, k]}"
        )
    return lines


def ranking_lines(result: TraceResult) -> list[str]:
    """What dominates, and which measurement would shrink it most."""
    ranking = result.ranking
    lines = [
        f"what makes the band on the car at {ranking.alpha_deg:g} deg, in cl: "
        f"+-{ranking.whole_half_width_cl:.2f} in all, "
        f"+-{ranking.shape_half_width_cl:.2f} from the shape (causes overlap)"
    ]
    lines += [f"  +-{share.half_width_cl:.3f}  {share.name}" for share in ranking.shares]
    lines.append("what would shrink it most, and the whole band left after it:")
    lines += [f"  +-{remedy.half_width_cl:.3f}  {remedy.name}" for remedy in ranking.remedies]
    return lines


def traced_lines(answer: TracedAnswer) -> list[str]:
    """For a study's page and screen: what makes the traced section's band, and what would shrink it."""
    found, ranking = answer.found, answer.ranking
    causes = ", ".join(f"{share.name} +-{share.half_width_cl:.2f}" for share in ranking.shares)
    helpful = "; ".join(f"{r.name} leaves +-{r.half_width_cl:.2f}" for r in ranking.remedies[:3])
    return [
        f"Traced section ({found.way}, error {found.error_mm:g} mm): at the start angle the lift "
        f"coefficient of the middle, {answer.cl:.2f}, is known to +-{ranking.whole_half_width_cl:.2f} "
        f"(shape, angle and roof; the method's own error apart). By cause, overlapping: {causes}.",
        f"What would shrink it most: {helpful}.",
    ]


def match_lines(result: MatchResult, chord_mm: float | None = None) -> list[str]:
    """Nearest known sections, nearest first."""
    mm = chord_mm is not None
    lines = [
        f"{result.section.name}: nearest of {result.compared} known sections (likeness, not identity)",
        f"{'rms':>9} {'worst':>9} {'turned':>9}  name    ({'mm' if mm else '% chord'}, deg)",
    ]
    scale = chord_mm if chord_mm is not None else 100.0
    for found in result.matches:
        lines.append(
            f"{scale * found.rms:9.2f} {scale * found.worst:9.2f} {found.turn_deg:9.2f}  {found.name}"
        )
    return lines


def trace_files(path: Path) -> tuple[Path, ...]:
    """Every file that `write_trace` may write for a coordinate file's path, and the picture of a refusal."""
    endings = ("-section.csv", "-fit.png", "-photo.png", "-refused.png", ".band.json")
    return (path, *(path.with_name(path.stem + ending) for ending in endings))


def write_trace(result: TraceResult, path: Path) -> list[Path]:
    """Coordinate file, band beside it, section table, picture of the fit, outline over the photo."""
    from wingtool.tracing import write_traced

    written = list(write_traced(result.found, path))
    facts = {"chord_mm": round(result.found.chord_mm, 1), "stated_error_mm": result.found.error_mm}
    written += write_table(section_table(result.polar, facts), path.with_name(f"{path.stem}-section.csv"))
    written.append(write_fit_picture(result, path.with_name(f"{path.stem}-fit.png")))
    over = write_photo_picture(result, path.with_name(f"{path.stem}-photo.png"))
    return written if over is None else [*written, over]
