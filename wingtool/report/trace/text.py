"""What `wingtool trace` and `wingtool match` say on the screen, and the files they write."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.files import words_beside
from wingtool.report.formats.table_files import write_table
from wingtool.report.tables.section import section_table
from wingtool.report.text import force
from wingtool.report.trace.pictures import write_fit_picture, write_photo_picture
from wingtool.section import CONVERGED

if TYPE_CHECKING:
    from wingtool.study import MatchResult, Ranking, TracedAnswer, TraceResult, Update

WORDS = words_beside(__file__, "text")
CAUTION = WORDS["caution"]


def trace_lines(result: TraceResult) -> list[str]:
    """The answer first: what it is, how sure, where to lay the gauge; then what would help most."""
    from wingtool.geometry import measure
    from wingtool.tracing import measure_bands, widest

    found, size = result.found, measure(result.found.section)
    mm, worst, half = found.chord_mm, widest(found), measure_bands(found)
    bands = {"thickness": 100 * half["thickness"], "camber": 100 * half["greatest camber"]}
    bands |= {"chord": 2 * found.chord_error_mm, "nose_band": mm * half["nose radius"]}
    lengths = {"nose": size.nose_radius * mm, "tail": size.tail_gap * mm, "tail_band": mm * half["tail"]}
    worst, median_mm = f"{worst}; half of it within " if worst else "", np.median(found.band_mm)
    count, apart = len(result.fitted.residual_mm), result.fitted.apart
    return [
        WORDS["section"].format(found=found, size=size, mm=mm, **bands, **lengths),
        WORDS["sure"].format(worst, median_mm, count, apart, found.error_mm),
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
    lines = [WORDS["band"].format(polar.surface, band.reynolds, polar.method), WORDS["band_columns"]]
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
        WORDS["ranking"].format(ranking.alpha_deg, _apart(ranking), ranking.shape_half_width_cl),
        *(f"  +-{half:.3f}  {cause}" for cause, half in ranking.shares.items()),
        WORDS["next"],
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
    traced = WORDS["traced"].format(found.way, found.error_mm, answer.cl, _apart(ranking), causes)
    return [traced, f"What to measure next: {helpful}."]


def update_lines(update: Update) -> list[str]:
    """Whether a measured force fits, and what it does to the band."""
    reading, (low, middle, high) = update.reading, update.before_n
    measured, fits = (
        (force(reading.force_n), 2.0 * reading.error_n),
        "fits" if update.fits else "does not fit",
    )
    verdict = WORDS["force"].format(*measured, fits, reading.wing_angle_deg, middle, low, high)
    if not update.fits:
        side = "above" if update.away > 0 else "below"
        return [verdict, WORDS["unfit"].format(abs(update.away), side), CAUTION]
    newtons, plain = "{:10.0f}{:7.0f}{:7.0f}" * 2, "{:10.3f}{:7.3f}{:7.3f}" * 2
    return [
        verdict,
        f"{'low, middle, high':42}{'before':>24}{'after':>24}",
        f"{'downforce at this angle and speed, N':42}{newtons.format(*update.before_n, *update.after_n)}",
        f"{'lift coefficient of section by outline':42}{plain.format(*update.cl_before, *update.cl_after)}",
        WORDS["other_angles"],
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
