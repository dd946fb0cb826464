"""What `wingtool trace` and `wingtool match` say on the screen, and the files they write."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.report.formats.table_files import write_table
from wingtool.report.tables.section import section_table
from wingtool.report.text import force
from wingtool.report.trace.pictures import write_fit_picture, write_photo_picture
from wingtool.section import CONVERGED

if TYPE_CHECKING:
    from wingtool.study import MatchResult, Ranking, TracedAnswer, TraceResult, Update

CAUTION = (
    "Estimates, not measurements: start at a small angle, keep clear of the stall at your fastest corner, "
    "and follow your event's rules."
)


def trace_lines(result: TraceResult) -> list[str]:
    """The answer first: what it is, how sure, where to lay the gauge; then what would help most."""
    from wingtool.geometry import measure
    from wingtool.tracing import measure_bands, widest

    found, size = result.found, measure(result.found.section)
    mm, worst, half = found.chord_mm, widest(found), measure_bands(found)
    return [
        f"{found.section.name}: chord {mm:.0f} mm (+-{2 * found.chord_error_mm:.1f}), {size.thickness:.1%} "
        f"(+-{100 * half['thickness']:.1f}) thick at {size.thickness_x:.0%} of the chord, camber "
        f"{size.camber:.1%} (+-{100 * half['camber']:.1f}), nose radius {size.nose_radius * mm:.1f} mm "
        f"(+-{mm * half['nose radius']:.1f}), tail {size.tail_gap * mm:.1f} mm (+-{mm * half['tail']:.1f})",
        f"how sure: the outline lies within {f'{worst}; half of it within ' if worst else ''}"
        f"+-{np.median(found.band_mm):.2f} mm (19 times in 20); its "
        f"{len(result.fitted.residual_mm)} points {result.fitted.apart} "
        f"(a reading is taken as good to {found.error_mm:.2g} mm)",
        f"angle: {result.datum.text}",
        "",
        *band_lines(result),
        "",
        *ranking_lines(result),
        "",
        "looks most like (likeness, not identity): "
        + ", ".join(f"{m.name} ({m.rms * mm:.1f} mm apart)" for m in result.matches[:5]),
        *(f"note: {note}" for note in found.notes if note not in result.doubts),
        CAUTION,
    ]


def band_lines(result: TraceResult) -> list[str]:
    """The section's lift and drag with their band, one angle a line."""
    polar, band = result.polar, result.band
    lines = [
        f"lift and drag coefficients of the section, {polar.surface} surface, Reynolds number "
        f"{band.reynolds:,.0f}, method {polar.method}; low to high: 19 times in 20",
        "angle deg   lift    low   high   drag    low   high  lift, by outline alone",
    ]
    for k, angle in enumerate(polar.alpha_deg):
        row = [getattr(polar, name)[0, k] for name in ("cl", "cl_low", "cl_high", "cd", "cd_low", "cd_high")]
        shape = 0.5 * (band.cl_below[k] + band.cl_above[k])
        status = "" if polar.status[0, k] == CONVERGED else f"  {polar.status[0, k]}"
        lines.append(
            f"{angle:9.0f} {row[0]:6.2f} {row[1]:6.2f} {row[2]:6.2f} {row[3]:6.3f} {row[4]:6.3f} "
            f"{row[5]:6.3f} {'+-':>5} {shape:.3f}{status}"
        )
    return lines


def ranking_lines(result: TraceResult) -> list[str]:
    """What dominates, and which measurement would shrink it most."""
    ranking = result.ranking
    return [
        f"what leaves the lift coefficient on the car open, at {ranking.alpha_deg:g} deg: "
        f"{_apart(ranking)} in all, +-{ranking.shape_half_width_cl:.2f} from the outline (causes overlap)",
        *(f"  +-{half:.3f}  {cause}" for cause, half in ranking.shares.items()),
        "what to measure next, and what would then be left open in all:",
        *(f"  +-{half:.3f}  {remedy}" for remedy, half in ranking.remedies.items()),
    ]


def _apart(ranking: Ranking) -> str:
    """How far lift may lie below and above the value."""
    below, above = f"{ranking.below_cl:.2f}", f"{ranking.above_cl:.2f}"
    return f"+-{above}" if below == above else f"-{below} to +{above}"


def traced_lines(answer: TracedAnswer) -> list[str]:
    """For a study's page and screen: what makes the traced section's band, and what would shrink it."""
    found, ranking = answer.found, answer.ranking
    causes = ", ".join(f"{cause} +-{half:.2f}" for cause, half in ranking.shares.items())
    remedies = list(ranking.remedies.items())[:3]
    helpful = "; ".join(f"{remedy} leaves +-{half:.2f}" for remedy, half in remedies)
    return [
        f"Traced section ({found.way}, good to {found.error_mm:.2g} mm): at the start angle the lift "
        f"coefficient of the middle, {answer.cl:.2f}, may be off by {_apart(ranking)} "
        f"from outline, angle and roof (the method's own error apart). Causes, which overlap: {causes}.",
        f"What to measure next: {helpful}.",
    ]


def update_lines(update: Update) -> list[str]:
    """Whether a measured force fits, and what it does to the band."""
    reading, (low, middle, high) = update.reading, update.before_n
    verdict = (
        f"{force(reading.force_n)}, give or take {2.0 * reading.error_n:.0f} N, "
        f"{'fits' if update.fits else 'does not fit'}: at {reading.wing_angle_deg:g} deg the study says "
        f"{middle:.0f} N, {low:.0f} to {high:.0f} N (19 times in 20)."
    )
    if not update.fits:
        off = f"{abs(update.away):.1f} standard deviations {'above' if update.away > 0 else 'below'}"
        check = "Check speed, wind, angle and what else bore load, then the trace."
        return [verdict, f"It lies {off}; nothing was changed. {check}", CAUTION]
    newtons, plain = "{:10.0f}{:7.0f}{:7.0f}" * 2, "{:10.3f}{:7.3f}{:7.3f}" * 2
    return [
        verdict,
        f"{'low, middle, high':42}{'before':>24}{'after':>24}",
        f"{'downforce at this angle and speed, N':42}{newtons.format(*update.before_n, *update.after_n)}",
        f"{'lift coefficient of section by outline':42}{plain.format(*update.cl_before, *update.cl_after)}",
        "Other angles and speeds gain by the outline alone; the rest of the error is angle, roof and method.",
        CAUTION,
    ]


def match_lines(result: MatchResult, chord_mm: float | None = None) -> list[str]:
    """Nearest known sections, nearest first."""
    scale, unit = (100.0, "% chord") if chord_mm is None else (chord_mm, "mm")
    return [
        f"{result.section.name}: nearest of {result.compared} known sections (likeness, not identity)",
        f"{'rms':>9} {'worst':>9} {'turned':>9}  name    ({unit}, deg)",
        *(
            f"{scale * found.rms:9.2f} {scale * found.worst:9.2f} {found.turn_deg:9.2f}  {found.name}"
            for found in result.matches
        ),
    ]


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


def write_update(update: Update, path: Path) -> list[Path]:
    """The traced section with its band narrowed."""
    from wingtool.tracing import write_traced

    return list(write_traced(update.found, path))
