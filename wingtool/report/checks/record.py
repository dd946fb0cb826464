"""The measured section record: table of errors by regime, and the picture of computed over measured."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.files import whole_file
from wingtool.section import FIGURES
from wingtool.study import QUANTITIES, RECORD_METHODS, mean_and_rms, regimes

if TYPE_CHECKING:
    from wingtool.study import RecordTable

DRAWN = ("cl_max", "cl_4deg", "cd_cl_05", "cd_cl_10")
MARKS = {"corrected": ("o", "#1f5fa8"), "coupled": ("x", "#8a8a8a")}


def record_rows(table: RecordTable) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Headings and rows: mean / root mean square of the errors by regime, quantity and method."""
    rows = []
    for name, curves in regimes(table).items():
        for figure, (quantity, percent) in QUANTITIES.items():
            found = [mean_and_rms(table.errors(method, figure)[curves]) for method in RECORD_METHODS]
            curves_found = found[0][2]
            if curves_found:
                label = f"{quantity} %" if percent else quantity
                rows.append((name, label, *map(_pair, found), str(curves_found)))
    return ("regime", "quantity", *RECORD_METHODS, "curves"), rows


def _pair(found: tuple[float, float, int]) -> str:
    """Mean and rms as text.

    Examples
    --------
    >>> _pair((-1.234, 5.678, 9))
    '−1.2 / 5.7'
    >>> _pair((0.0123, 0.0456, 9))
    '+0.012 / 0.046'
    """
    mean, rms, _ = found
    digits = 1 if rms >= 1.0 else 3
    return f"{mean:+.{digits}f} / {rms:.{digits}f}".replace("-", "−")


def write_record_picture(table: RecordTable, path: Path | str) -> Path:
    """Computed over measured by quantity, one mark a curve, the diagonal and 10 % beside it."""
    import matplotlib.pyplot as plt

    figure, axes = plt.subplots(1, len(DRAWN), figsize=(13, 3.6), layout="constrained")
    for ax, name in zip(axes, DRAWN, strict=True):
        column = FIGURES.index(name)
        measured = table.measured[:, column]
        both = np.isfinite(measured) & np.isfinite(table.computed["corrected"][:, column])
        if not both.any():
            continue
        ends = np.array([0.9 * measured[both].min(), 1.1 * measured[both].max()])
        ax.fill_between(ends, 0.9 * ends, 1.1 * ends, color="#dde6f0", label="within 10 %")
        for method, (mark, colour) in MARKS.items():
            ax.plot(measured, table.computed[method][:, column], mark, ms=4, color=colour, label=method)
        ax.plot(ends, ends, color="black", lw=0.8)
        ax.set(title=QUANTITIES[name][0], xlabel="measured", xlim=ends, ylim=[0.8 * ends[0], 1.2 * ends[1]])
    axes[0].set_ylabel("computed")
    axes[0].legend(fontsize=8)
    with whole_file(path) as beside:
        figure.savefig(beside, dpi=110)
    plt.close(figure)
    return Path(path)
