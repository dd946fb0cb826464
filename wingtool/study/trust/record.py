"""The measured section record computed again: figures of each curve, and the errors by regime."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import astuple, dataclass
from pathlib import Path

import numpy as np

from wingtool.errors import WingtoolError
from wingtool.section import FIGURES, curve_figures
from wingtool.study.progress import no_progress
from wingtool.study.section.parallel import Batch, compute_batches

ANGLES_DEG = np.arange(-6.0, 21.0)
METHODS = ("corrected", "coupled", "surrogate")
# Name, unit, whether in per cent of the measured value.
QUANTITIES = {
    "cl_max": ("greatest lift", True),
    "alpha_cl_max_deg": ("its angle [deg]", False),
    "cl_4deg": ("lift at 4 degrees", False),
    "slope_per_deg": ("lift slope", True),
    "zero_lift_deg": ("zero-lift angle [deg]", False),
    "cd_cl_05": ("drag at cl 0.5", True),
    "cd_cl_10": ("drag at cl 1", True),
}
REYNOLDS_REGIMES = ((0.0, 1.9e5), (1.9e5, 2.7e5), (2.7e5, 3.8e5), (3.8e5, 6e5), (6e5, np.inf))


@dataclass(frozen=True, eq=False)
class RecordTable:
    """Measured curves and what each method computes for them.

    Parameters
    ----------
    section, surface : ndarray of str, shape (n,)
    reynolds : ndarray, shape (n,)
    measured : ndarray, shape (n, figures)
        Columns as `wingtool.section.figures.FIGURES`.
    computed : dict of ndarray
        The same for each method of `METHODS`.
    missing : tuple of str
        Sections whose coordinates are not at hand.
    """

    section: np.ndarray
    surface: np.ndarray
    reynolds: np.ndarray
    measured: np.ndarray
    computed: dict[str, np.ndarray]
    missing: tuple[str, ...]

    def errors(self, method: str, figure: str) -> np.ndarray:
        """Computed less measured, in per cent where `QUANTITIES` says so; shape (n,)."""
        column = FIGURES.index(figure)
        measured, computed = self.measured[:, column], self.computed[method][:, column]
        difference = computed - measured
        return 100.0 * difference / measured if QUANTITIES[figure][1] else difference


def record_path() -> Path:
    """The reduced record: inside a wheel, or in the checkout."""
    inside = Path(__file__).with_name("section_record.csv")
    return inside if inside.is_file() else Path(__file__).parents[3] / "tests" / "data" / "section_record.csv"


def record_table(
    progress: Callable[[str], None] = no_progress,
    jobs: int = 1,
    wanted: Callable[[dict[str, str]], bool] | None = None,
) -> RecordTable:
    """Compute every curve of the record without a tab whose section is at hand.

    Parameters
    ----------
    progress : callable
        Takes a line on what is being done.
    jobs : int
        Processes.
    wanted : callable, optional
        Takes a row of the record; whether it is to be computed.
    """
    from wingtool.geometry import find_section
    from wingtool.section import surrogate_polar, with_record

    lines = record_path().read_text(encoding="utf-8").splitlines()
    head, *body = (line.split(",") for line in lines if not line.startswith("#"))
    rows = [dict(zip(head, values, strict=True)) for values in body]
    rows = [row for row in rows if float(row["tab_chord"]) == 0.0 and (wanted is None or wanted(row))]
    kept: list[dict[str, str]] = []
    batches: list[Batch] = []
    missing: list[str] = []
    for row in rows:
        try:
            section = find_section(row["collection_name"])
        except WingtoolError:
            missing.append(row["section"])
            continue
        trip = float(row["trip_upper_x"])
        kept.append(row)
        reynolds, trip_x = float(row["reynolds"]), trip if trip < 1 else None
        batches.append(Batch(section, ANGLES_DEG, reynolds, np.inf, "coupled", "smooth", 0.0, trip_x))
    coupled = compute_batches(batches, jobs, lambda done: progress(f"measured record, {done}"))
    surrogate = [
        surrogate_polar(one.section, [one.reynolds], ANGLES_DEG, one.surface, one.trip_x) for one in batches
    ]
    found = {"corrected": [with_record(one) for one in coupled], "coupled": coupled, "surrogate": surrogate}
    computed = {
        method: np.array([astuple(curve_figures(one.alpha_deg, *_up_to_top(one))) for one in polars])
        for method, polars in found.items()
    }
    measured = np.array([[float(row[name] or "nan") for name in FIGURES] for row in kept])
    return RecordTable(
        section=np.array([row["section"] for row in kept]),
        surface=np.array([row["surface"] for row in kept]),
        reynolds=np.array([float(row["reynolds"]) for row in kept]),
        measured=measured,
        computed=computed,
        missing=tuple(dict.fromkeys(missing)),
    )


def _up_to_top(polar) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Lift up to a little behind the first stall, as a tunnel shows it; lift and drag up to it."""
    stall = polar.stall()[0][0]
    cl = np.where(polar.alpha_deg <= stall + 2.0, polar.cl[0], np.nan)
    before = polar.alpha_deg <= stall
    return cl, polar.cl[0][before], polar.cd[0][before]


def regimes(table: RecordTable) -> dict[str, np.ndarray]:
    """Names and curves of the regimes, by Reynolds number for clean curves, and tripped ones."""
    clean = table.surface == "clean"
    found = {}
    for low, high in REYNOLDS_REGIMES:
        inside = clean & (table.reynolds >= low) & (table.reynolds < high)
        if inside.any():
            rows = table.reynolds[inside]
            found[f"clean, Reynolds number {rows.min():.2g} to {rows.max():.2g}"] = inside
    if (table.surface == "tripped").any():
        found["zigzag strips near the nose"] = table.surface == "tripped"
    return found


def mean_and_rms(errors: np.ndarray) -> tuple[float, float, int]:
    """Mean, root mean square and number of the errors that are numbers."""
    known = errors[np.isfinite(errors)]
    if not known.size:
        return np.nan, np.nan, 0
    return float(known.mean()), float(np.sqrt(np.mean(known**2))), int(known.size)
