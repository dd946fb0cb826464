"""What `wingtool trace` and `wingtool match` say on the screen, and the files they write."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.files import words_beside
from wingtool.report.formats.table_files import write_table
from wingtool.report.tables.section import section_table
from wingtool.report.text import force, speed
from wingtool.report.trace.pictures import write_fit_picture, write_photo_picture
from wingtool.section import CONVERGED
from wingtool.units import METRE_PER_INCH, NEWTON_PER_LBF

if TYPE_CHECKING:
    from wingtool.study import MatchResult, Ranking, TracedAnswer, TraceResult, Update

WORDS = words_beside(__file__, "text")
CAUTION = WORDS["caution"]
CANDIDATES, MOST_NAMED = 5, 2
LBF_FT = 12.0 * METRE_PER_INCH / NEWTON_PER_LBF  # of a newton a metre
SCREEN_DEG = np.arange(0.0, 13.0, 4.0)  # the table of all angles is a file


def trace_lines(result: TraceResult) -> list[str]:
    """One screen: what it measures, what it looks like, what it does as a wing, what would help most."""
    found = result.found
    lines = [*_size_lines(result), *_likeness_lines(result), *band_lines(result), result.datum.text]
    lines += [WORDS["doubted"]] if result.doubts else ranking_lines(result)
    notes = (f"note: {note}" for note in found.notes if note not in result.doubts)
    return [*lines, *notes, CAUTION]


def _size_lines(result: TraceResult) -> list[str]:
    """Measures with their bands, and how sure the outline is."""
    from wingtool.geometry import measure
    from wingtool.tracing import measure_bands, widest

    found, size, half = result.found, measure(result.found.section), measure_bands(result.found)
    mm, worst = found.chord_mm, widest(found)
    table = (
        ("chord mm", mm, 2.0 * found.chord_error_mm),
        ("thickness %", 100.0 * size.thickness, 100.0 * half["thickness"]),
        ("camber %", 100.0 * size.camber, 100.0 * half["greatest camber"]),
        ("nose mm", mm * size.nose_radius, mm * half["nose radius"]),
        ("tail mm", mm * size.tail_gap, mm * half["tail"]),
    )
    within = f"{worst}; half of it within " if worst else ""
    return [
        _row(f"{found.section.name}, {found.way}"[:18], *(name for name, *_ in table)),
        _row("", *(f"{value:.1f}" for _, value, _ in table)),
        _row("19 times in 20, +-", *(f"{band:.1f}" for *_, band in table)),
        WORDS["sure"].format(within, np.median(found.band_mm), result.fitted.apart),
    ]


def _row(first: str, *cells: str) -> str:
    return f"{first:19}" + "".join(f"{cell:>12}" for cell in cells)


def _likeness_lines(result: TraceResult) -> list[str]:
    """Nearest known sections, how far off, and whether the band tells them apart."""
    mm, matches = result.found.chord_mm, result.matches[:CANDIDATES]
    sure_mm = float(np.median(result.found.band_mm))
    return [
        _row("like (not identity)", *(match.name[:11] for match in matches)),
        _row("mm apart, rms", *(f"{match.rms * mm:.1f}" for match in matches)),
        _row("within the band", *("yes" if match.rms * mm < 0.5 * sure_mm else "no" for match in matches)),
    ]


def band_lines(result: TraceResult) -> list[str]:
    """What it does as a wing, at a few angles: lift and drag with their band, and what a metre presses."""
    from wingtool.air import Air

    polar, air, chord_m = result.polar, Air(), result.found.chord_mm / 1000.0
    speed_m_s = polar.reynolds[0] / air.reynolds(1.0, chord_m)
    pressure_pa = air.dynamic_pressure_pa(speed_m_s)
    lines = [WORDS["band"].format(speed(speed_m_s), polar.reynolds[0], polar.surface, polar.method)]
    lines.append(WORDS["band_columns"])
    for k in np.flatnonzero(np.isin(polar.alpha_deg, SCREEN_DEG)):
        cl, *lift = (getattr(polar, name)[0, k] for name in ("cl", "cl_low", "cl_high"))
        drag = (getattr(polar, name)[0, k] for name in ("cd", "cd_low", "cd_high"))
        status = "" if polar.status[0, k] == CONVERGED else f"  {polar.status[0, k]}"
        metre_n = pressure_pa * chord_m * cl
        row = WORDS["band_row"].format(polar.alpha_deg[k], cl, *lift, *drag, metre_n, metre_n * LBF_FT)
        lines.append(row + status)
    return lines


def ranking_lines(result: TraceResult) -> list[str]:
    """What dominates, and which measurement would shrink it most."""
    ranking = result.ranking
    causes = ", ".join(f"{cause} {half:.2f}" for cause, half in list(ranking.shares.items())[:MOST_NAMED])
    remedies = "; ".join(f"{way} ({half:.2f})" for way, half in list(ranking.remedies.items())[:MOST_NAMED])
    apart = (_apart(ranking), ranking.shape_half_width_cl)
    return [WORDS["ranking"].format(ranking.alpha_deg, *apart, causes), WORDS["next"] + remedies]


def _apart(ranking: Ranking) -> str:
    """How far lift may lie below and above the value."""
    below, above = f"{ranking.below_cl:.2f}", f"{ranking.above_cl:.2f}"
    return f"+-{above}" if below == above else f"-{below} to +{above}"


def traced_lines(answer: TracedAnswer) -> list[str]:
    """For a study's page and screen: what makes the traced section's band, and what would shrink it."""
    found, ranking = answer.found, answer.ranking
    causes = ", ".join(f"{cause} +-{half:.2f}" for cause, half in ranking.shares.items())
    remedies = list(ranking.remedies.items())[:MOST_NAMED]
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
