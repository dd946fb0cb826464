"""The measured section record: table of errors by regime, and the picture of computed over measured."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from wingtool.report.plots.style import write_figure
from wingtool.section import FIGURES
from wingtool.study import (
    LEFT_OUT,
    QUANTITIES,
    RECORD_METHODS,
    STALL_MARGIN_DEG,
    WING_REYNOLDS,
    RecordTable,
    mean_and_rms,
    regimes,
)

DRAG_TICKS = (0.005, 0.01, 0.02, 0.05)
DRAWN = ("cl_max", "cl_4deg", "cd_cl_05", "cd_cl_10")
MARKS = {LEFT_OUT: ("o", "#1f5fa8", "left out of the fit"), "coupled": ("x", "#8a8a8a", "solver alone")}
SHORT = {  # headings of the first screen, lines of at most 100 columns
    "cl_max": "max lift %",
    "alpha_cl_max_deg": "at, deg",
    "cl_4deg": "lift at 4°",
    "cd_cl_05": "cd at .5 %",
    "cd_cl_10": "cd at 1 %",
}
CAPTION = (
    "Sections measured in wind tunnels, computed again: mean / rms (typical error) of computed less measured:"
    " greatest lift, its angle, lift at 4 degrees, drag at lift coefficients 0.5 and 1. Each section is"
    " computed as if it had never been measured: by a correction that was fitted without it, so expect the"
    " same of a section that is not in this list. Band: per cent of measured lift / drag inside it. Reynolds"
    " numbers (Re) in millions; thin: under 12 %."
)
LATE = " Of {} curves at Re 0.19 and above stall is computed too late {}; the advice keeps {:g} degrees."
MISSING = " Left out, as no coordinates are at hand (profiles/ beside the study): "


def record_summary(table: RecordTable) -> tuple[str, tuple[str, ...], list[tuple[str, ...]]]:
    """Caption, headings, rows of the first screen: mean / rms of the errors, sections left out of the fit.

    Below the first row, all curves at a wing's Reynolds numbers, the same by the fit that has seen them and
    by the solver alone.
    """
    rows = []
    for name, curves in regimes(table).items():
        count = str(int(curves.sum()))
        in_band = "/".join("–" if np.isnan(part) else f"{part:.0f}" for part in table.in_band(curves))
        rows.append((name, count, *_errors(table, LEFT_OUT, curves), in_band))
        if len(rows) == 1:
            rows.append(("  fitted to them as well", count, *_errors(table, "corrected", curves), "–"))
            rows.append(("  without correction", count, *_errors(table, "coupled", curves), "–"))
    late = table.errors(LEFT_OUT, "alpha_cl_max_deg")[table.reynolds > WING_REYNOLDS[0]]
    counts = ", ".join(f"by more than {by} degrees in {np.sum(late > by)}" for by in (2, 3))
    stall = LATE.format(np.isfinite(late).sum(), counts, STALL_MARGIN_DEG)
    caption = CAPTION + stall + (f"{MISSING}{', '.join(table.missing)}." if table.missing else "")
    return caption, ("surface, Re, shape", "curves", *SHORT.values(), "band %"), rows


def _errors(table: RecordTable, method: str, curves: np.ndarray) -> list[str]:
    return [_pair(mean_and_rms(table.errors(method, figure)[curves]), figure) for figure in SHORT]


def record_rows(table: RecordTable) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Headings and rows: mean / root mean square of the errors by regime, quantity and method."""
    rows = []
    for name, curves in regimes(table).items():
        for figure in QUANTITIES:
            errors = [mean_and_rms(table.errors(method, figure)[curves]) for method in RECORD_METHODS]
            if errors[0][2]:
                label = QUANTITIES[figure][0] + (" %" if QUANTITIES[figure][1] else "")
                rows.append((name, label, *(_pair(pair, figure) for pair in errors), str(errors[0][2])))
    return ("regime", "quantity", *RECORD_METHODS, "curves"), rows


def _pair(errors: Sequence[float], figure: str) -> str:
    """Mean and rms as text.

    Examples
    --------
    >>> _pair((-1.234, 5.678, 9), "cl_max")
    '−1.2/5.7'
    >>> _pair((0.0123, 0.0456, 9), "cl_4deg")
    '+0.01/0.05'
    """
    mean, rms, *_ = errors
    if np.isnan(rms):
        return "–"
    digits = 1 if QUANTITIES[figure][1] or figure.startswith("alpha") else 2
    return f"{mean:+.{digits}f}/{rms:.{digits}f}".replace("-", "−")


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
