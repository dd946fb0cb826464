"""What `wingtool trace --wing` says and writes: sections, chord and twist along the span, a study to run."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.files import words_beside, write_text
from wingtool.report.plots.style import STYLES, save
from wingtool.report.trace.text import CAUTION

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from wingtool.study import MeasuredSpan

WORDS = words_beside(__file__, "span")
LENGTHS = ("chord, mm", "twist, deg")


def span_lines(wing: MeasuredSpan) -> list[str]:
    """A line for each section, then its notes."""
    from wingtool.geometry import measure

    lines = [WORDS["columns"]]
    along = (wing.span_fraction, wing.chord_mm, wing.chord_band_mm, wing.twist_deg, wing.twist_band_deg)
    for section, *place in zip(wing.sections, *along, strict=True):
        found, size, count = section.found, measure(section.found.section), len(section.fitted.residual_mm)
        of_shape = (size.thickness, size.camber, np.median(found.band_mm))
        lines.append(WORDS["section"].format(*place, *of_shape, count, found.way))
    if np.isnan(wing.twist_deg).any():
        lines.append(WORDS["no_twist"])
    lines += [
        f"note: {section.found.section.name}: {note}"
        for section in wing.sections
        for note in section.found.notes
        if note not in section.doubts
    ]
    return [*lines, CAUTION]


def span_study(wing: MeasuredSpan, files: list[str]) -> str:
    """A study that `wingtool run` takes; `files` are the sections' coordinate files."""
    chord, twist = wing.chord_mm, np.nan_to_num(wing.twist_deg)

    def place(at: float, chord_key: str = "chord", twist_key: str = "twist_deg") -> list[str]:
        k = int(np.abs(wing.span_fraction - at).argmin())
        return [
            f'{chord_key} = "{wing.at(at, chord):.1f} mm"   # +-{wing.chord_band_mm[k]:.1f}',
            f"{twist_key} = {wing.at(at, twist):.2f}   # +-{wing.twist_band_deg[k]:.2f}",
        ]

    text = [
        'title = "A wing measured along its span"',
        "[wing]",
        f"section = {json.dumps(files[0])}",
        f"span = {json.dumps(wing.span)}",
        f"height = {json.dumps(wing.height)}",
        place(0.0)[0],
        *place(1.0, "tip_chord", "twist_tip_deg"),
    ]
    for at, file in zip(wing.span_fraction, files, strict=True):
        text += ["[[wing.station]]", f"span_fraction = {at:g}", f"section = {json.dumps(file)}", *place(at)]
    return "\n".join(text) + "\n"


def span_files(wing: Path, count: int) -> list[Path]:
    """Every file that `write_span` writes."""
    sections = [wing.with_name(f"{wing.stem}-{k}.dat") for k in range(1, count + 1)]
    bands = [path.with_suffix(".band.json") for path in sections]
    return [*sections, *bands, wing.with_suffix(".toml"), wing.with_name(f"{wing.stem}-span.png")]


def write_span(wing: MeasuredSpan, path: Path) -> list[Path]:
    """Coordinate and band file of each section, a study that names them, and a picture."""
    from wingtool.tracing import write_traced

    sections = span_files(path, len(wing.sections))[: len(wing.sections)]
    written = [
        file
        for section, name in zip(wing.sections, sections, strict=True)
        for file in write_traced(section.found, name)
    ]
    written.append(write_text(path.with_suffix(".toml"), span_study(wing, [name.name for name in sections])))
    picture = path.with_name(f"{path.stem}-span")
    return [*written, *save(lambda figure: _draw(figure, wing), picture, (9.0, 7.0), (".png",))]


def _draw(figure: Figure, wing: MeasuredSpan) -> None:
    grid = figure.add_gridspec(2, 2, height_ratios=(3, 2))
    laid = figure.add_subplot(grid[0, :])
    for k, section in enumerate(wing.sections):
        found, twist = section.found, np.radians(np.nan_to_num(wing.twist_deg[k]))
        turn = np.array([[np.cos(twist), -np.sin(twist)], [np.sin(twist), np.cos(twist)]])
        xy = (found.section.xy - [0.25, 0.0]) * found.chord_mm @ turn
        style = STYLES[k % len(STYLES)] | {"marker": None}
        laid.plot(*xy.T, **style, linewidth=1.2, label=f"{found.section.name} at {wing.span_fraction[k]:g}")
    laid.set_aspect("equal", adjustable="datalim")
    laid.set_xlabel("from the quarter chord, mm")
    laid.legend(fontsize=8)
    laid.set_title("Sections laid over each other at their twist", fontsize=10, loc="left")
    values = ((wing.chord_mm, wing.chord_band_mm), (wing.twist_deg, wing.twist_band_deg))
    for k, (value, band) in enumerate(values):
        axes = figure.add_subplot(grid[1, k])
        axes.errorbar(wing.span_fraction, value, band, color=STYLES[k]["color"], marker="o", capsize=3)
        axes.set_xlabel("span fraction: middle 0, tip 1")
        axes.set_ylabel(LENGTHS[k])
        axes.set_xlim(-0.03, 1.03)
