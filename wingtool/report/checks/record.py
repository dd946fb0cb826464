"""The measured section record: table of errors by regime, and the picture of computed over measured."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from wingtool.files import whole_file
from wingtool.section import FIGURES, record_fit
from wingtool.study import QUANTITIES, RECORD_METHODS, RecordTable, mean_and_rms, regimes

DRAG_TICKS = (0.005, 0.01, 0.02, 0.05)
DRAWN = ("cl_max", "cl_4deg", "cd_cl_05", "cd_cl_10")
MARKS = {"corrected": ("o", "#1f5fa8"), "coupled": ("x", "#8a8a8a")}
SHORT = ("cl_max", "alpha_cl_max_deg", "cl_4deg", "cd_cl_05", "cd_cl_10")
CAPTION = (
    "Measured sections computed again: mean / root mean square of computed less measured, by the default"
    " method. It was fitted to these curves; of a section that it has not seen, expect the second row."
)
MISSING = " Left out, as no coordinates are at hand (profiles/ beside the study): "


def record_summary(table: RecordTable) -> tuple[str, tuple[str, ...], list[tuple[str, ...]]]:
    """Caption, headings, rows of the first screen: mean / rms of the default method's errors, a row a regime.

    Below the first, all curves at a wing's Reynolds numbers, the same with each section left out of the fit,
    and the same by the solver alone.
    """
    rows = []
    for name, curves in regimes(table).items():
        in_band, count = f"{table.in_band(curves):.0f} %", str(int(curves.sum()))
        rows.append((name, *_errors(table, "corrected", curves), in_band, count))
        if len(rows) == 1:
            unseen = record_fit()["unseen"]
            left_out = [_pair(unseen[figure], figure) for figure in SHORT]
            rows.append(("each section left out of the fit", *left_out, "–", count))
            rows.append(("solver without the correction", *_errors(table, "coupled", curves), "–", count))
    caption = CAPTION + (f"{MISSING}{', '.join(table.missing)}." if table.missing else "")
    return caption, ("regime", *(_labelled(figure) for figure in SHORT), "in the band", "curves"), rows


def _errors(table: RecordTable, method: str, curves: np.ndarray) -> list[str]:
    return [_pair(mean_and_rms(table.errors(method, figure)[curves]), figure) for figure in SHORT]


def _labelled(figure: str) -> str:
    quantity, percent = QUANTITIES[figure]
    return f"{quantity} %" if percent else quantity


def record_rows(table: RecordTable) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Headings and rows: mean / root mean square of the errors by regime, quantity and method."""
    rows = []
    for name, curves in regimes(table).items():
        for figure in QUANTITIES:
            found = [mean_and_rms(table.errors(method, figure)[curves]) for method in RECORD_METHODS]
            if found[0][2]:
                pairs = (_pair(one, figure) for one in found)
                rows.append((name, _labelled(figure), *pairs, str(found[0][2])))
    return ("regime", "quantity", *RECORD_METHODS, "curves"), rows


def _pair(found: Sequence[float], figure: str) -> str:
    """Mean and rms as text.

    Examples
    --------
    >>> _pair((-1.234, 5.678, 9), "cl_max")
    '−1.2 / 5.7'
    >>> _pair((0.0123, 0.0456, 9), "cl_4deg")
    '+0.012 / 0.046'
    """
    mean, rms, *_ = found
    if np.isnan(rms):
        return "–"
    quantity, percent = QUANTITIES[figure]
    digits = 1 if percent else 2 if "angle" in quantity else 3
    return f"{mean:+.{digits}f} / {rms:.{digits}f}".replace("-", "−")


def write_record_picture(table: RecordTable, path: Path | str) -> Path:
    """Computed over measured by quantity, one mark a curve with its band, and the diagonal."""
    import matplotlib.pyplot as plt
    from matplotlib.ticker import FixedLocator, NullFormatter

    figure, axes = plt.subplots(1, len(DRAWN), figsize=(13, 3.8), layout="constrained")
    for ax, name in zip(axes, DRAWN, strict=True):
        column = FIGURES.index(name)
        measured, low, high = (part[:, column] for part in (table.measured, table.low, table.high))
        found = {method: table.computed[method][:, column] for method in MARKS}
        both = np.isfinite(measured) & np.isfinite(found["corrected"])
        if not both.any():
            continue
        ends = np.array([0.9 * measured[both].min(), 1.05 * measured[both].max()])
        scale = "log" if name.startswith("cd") else "linear"
        ax.vlines(measured, low, high, color="#b9cfe6", lw=1.5, label="our band")
        for method, (mark, colour) in MARKS.items():
            ax.plot(measured, found[method], mark, ms=3.5, color=colour, label=method)
        ax.plot(ends, ends, color="black", lw=0.8)
        ax.set(title=QUANTITIES[name][0], xlabel="measured", xscale=scale, yscale=scale)
        ax.set(xlim=ends, ylim=[0.6 * ends[0], 1.4 * ends[1]])
        for axis in (ax.xaxis, ax.yaxis) if scale == "log" else ():
            axis.set_major_locator(FixedLocator(DRAG_TICKS))
            axis.set_major_formatter("{x:g}")
            axis.set_minor_formatter(NullFormatter())
    axes[0].set_ylabel("computed")
    axes[0].legend(fontsize=8)
    with whole_file(path) as beside:
        figure.savefig(beside, format="png", dpi=110)
    plt.close(figure)
    return Path(path)
