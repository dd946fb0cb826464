"""The measured section record: table of errors by regime, and the picture of computed over measured."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from wingtool.files import words_beside
from wingtool.report.plots.style import write_figure
from wingtool.section import FIGURES, record_fit
from wingtool.study import (
    LEFT_OUT,
    QUANTITIES,
    RECORD_METHODS,
    STALL_MARGIN_DEG,
    WING_REYNOLDS,
    RecordTable,
    mean_and_rms,
    regimes,
    shape_groups,
)

DRAG_TICKS = (0.005, 0.01, 0.02, 0.05)
DRAWN = ("cl_max", "cl_4deg", "cd_cl_05", "cd_cl_10")
MARKS = {LEFT_OUT: ("o", "#1f5fa8", "left out of the fit"), "coupled": ("x", "#8a8a8a", "solver alone")}
SHORT = {
    "cl_max": "max lift",
    "alpha_cl_max_deg": "stall",
    "cl_4deg": "lift 4°",
    "cd_cl_05": "drag .5",
    "cd_cl_10": "drag 1",
}
WORDS = words_beside(__file__, "record")
MISSING = " Without coordinates in profiles/: "
FEWEST = 2  # curves of a regime on the first screen
Rows = tuple[tuple[str, ...], Sequence[tuple[str, ...]]]


def record_screen(table: RecordTable) -> tuple[tuple[str, *Rows], ...]:
    """Two tables, each after a sentence: by quantity at a wing's Reynolds numbers, and by regime."""
    missing = f"{MISSING}{', '.join(table.missing)}." if table.missing else ""
    late = table.errors(LEFT_OUT, "alpha_cl_max_deg")[table.reynolds > WING_REYNOLDS[0]]
    counts = np.sum(late > STALL_MARGIN_DEG), np.isfinite(late).sum()
    stall = WORDS["late"].format(STALL_MARGIN_DEG, *counts, record_fit()["drag_across_jumps"])
    caption = WORDS["caption"].format(len(table.surface)) + missing
    return (caption, *_by_quantity(table)), (stall, *_by_regime(table))


def _by_quantity(table: RecordTable) -> Rows:
    (name, curves), *_ = regimes(table).items()
    rows = []
    for figure in SHORT:
        mean, rms, _ = mean_and_rms(table.errors(LEFT_OUT, figure)[curves])
        alone = mean_and_rms(table.errors("coupled", figure)[curves])[1]
        half, inside = table.band(figure, curves)
        errors = (size(mean, figure, "+"), size(rms, figure), size(alone, figure))
        rows.append((QUANTITIES[figure][0], *errors, size(half, figure), _per_cent(inside)))
    headings = (f"{name}, {curves.sum()} curves", "mean error", "typical", "uncorrected")
    return (*headings, "our band ±", "inside %"), rows


def _by_regime(table: RecordTable) -> Rows:
    rows = []
    for name, curves in list(regimes(table).items())[1:]:
        if curves.sum() >= FEWEST:
            errors = (size(mean_and_rms(table.errors(LEFT_OUT, of)[curves])[1], of) for of in SHORT)
            rows.append((name, str(curves.sum()), *errors, "/".join(map(_per_cent, table.in_band(curves)))))
    return ("typical by regime", "curves", *SHORT.values(), "inside"), rows


def size(value: float, figure: str, sign: str = "") -> str:
    """An error with its unit; a dash where there is none.

    Examples
    --------
    >>> size(-1.234, "cl_max", "+"), size(1.9, "alpha_cl_max_deg"), size(0.0456, "cl_4deg")
    ('−1.2 %', '1.9°', '0.05')
    """
    if np.isnan(value):
        return "–"
    unit = " %" if QUANTITIES[figure][1] else "°" if "_deg" in figure else ""
    digits = 1 if unit else 2
    return f"{round(value, digits) + 0.0:{sign}.{digits}f}{unit}".replace("-", "−")


def _per_cent(part: float) -> str:
    return "–" if np.isnan(part) else f"{part:.0f}"


def record_rows(table: RecordTable) -> Rows:
    """Headings and rows: mean / root mean square of the errors by regime, quantity and method."""
    rows = []
    for name, curves in (regimes(table) | shape_groups(table)).items():
        for figure in QUANTITIES:
            errors = [mean_and_rms(table.errors(method, figure)[curves]) for method in RECORD_METHODS]
            if count := errors[0][2]:
                pairs = (f"{size(mean, figure, '+')} / {size(rms, figure)}" for mean, rms, _ in errors)
                rows.append((name, QUANTITIES[figure][0], *pairs, str(count)))
    return ("regime", "quantity", *RECORD_METHODS, "curves"), rows


def write_record_picture(table: RecordTable, path: Path | str) -> Path:
    """Computed over measured by quantity, one mark a curve with its band, and the diagonal."""
    import matplotlib.pyplot as plt

    figure, axes = plt.subplots(1, len(DRAWN), figsize=(13, 3.8), layout="constrained")
    for ax, name in zip(axes, DRAWN, strict=True):
        column = FIGURES.index(name)
        measured, low, high = (part[:, column] for part in (table.measured, table.low, table.high))
        computed = {method: table.computed[method][:, column] for method in MARKS}
        both = np.isfinite(measured) & np.isfinite(computed[LEFT_OUT])
        if not both.any():
            continue
        ends = np.array([0.9 * measured[both].min(), 1.05 * measured[both].max()])
        ax.vlines(measured, low, high, color="#b9cfe6", lw=1.5, label="our band")
        for method, (mark, colour, label) in MARKS.items():
            ax.plot(measured, computed[method], mark, ms=3.5, color=colour, label=label)
        ax.plot(ends, ends, color="black", lw=0.8)
        ax.set(title=QUANTITIES[name][0], xlabel="measured")
        if name.startswith("cd"):
            ax.set(xscale="log", yscale="log", xticks=DRAG_TICKS, yticks=DRAG_TICKS)
            ax.minorticks_off()
            for axis in (ax.xaxis, ax.yaxis):
                axis.set_major_formatter("{x:g}")
        ax.set(xlim=ends, ylim=[0.6 * ends[0], 1.4 * ends[1]])
    axes[0].set_ylabel("computed")
    axes[0].legend(fontsize=8)
    plt.close(figure)
    return write_figure(figure, Path(path), dpi=110)
