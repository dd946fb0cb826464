"""The measured section record computed again: figures of each curve, and the errors by regime."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import astuple, dataclass, replace
from pathlib import Path

import numpy as np

from wingtool.errors import WingtoolError
from wingtool.section import (
    DRAG_AT_CL,
    FIGURES,
    LIFT_AT_DEG,
    CurveFigures,
    Question,
    SectionPolar,
    curve_figures,
    polars,
)
from wingtool.study.progress import no_progress
from wingtool.study.section.parallel import polars_in_parallel
from wingtool.study.trust.cases import csv_rows

ANGLES_DEG = np.arange(-8.0, 21.0)
LEFT_OUT = "left out"  # corrected by a fit, with its band, that has not seen the section
METHODS = (LEFT_OUT, "corrected", "coupled", "surrogate")
# Name, whether in per cent of the measured value.
QUANTITIES = {
    "cl_max": ("greatest lift", True),
    "alpha_cl_max_deg": ("stall angle", False),
    "cl_4deg": ("lift at 4 degrees", False),
    "slope_per_deg": ("lift slope", True),
    "zero_lift_deg": ("zero-lift angle", False),
    "cd_cl_05": ("drag at cl 0.5", True),
    "cd_cl_10": ("drag at cl 1", True),
}
REYNOLDS_REGIMES = ((0.0, 1.9e5), (1.9e5, 2.7e5), (2.7e5, 3.8e5), (3.8e5, 6e5), (6e5, np.inf))
WING_REYNOLDS = (1.9e5, 6e5)  # of the groups by shape
CAMBERS, THICK = (0.0, 0.02, 0.042, 0.07, np.inf), 0.12


@dataclass(frozen=True, eq=False)
class RecordTable:
    """Measured curves and what each method computes for them.

    Parameters
    ----------
    surface : ndarray of str, shape (n,)
    reynolds, thickness, camber : ndarray, shape (n,)
        Over the chord.
    measured : ndarray, shape (n, figures)
        Columns as `wingtool.section.figures.FIGURES`.
    computed : dict of ndarray
        The same for each method of `METHODS`.
    low, high : ndarray, shape (n, figures)
        Band of `LEFT_OUT`; nan for figures that are angles or slopes.
    missing : tuple of str
        Sections whose coordinates are not at hand.
    """

    surface: np.ndarray
    reynolds: np.ndarray
    thickness: np.ndarray
    camber: np.ndarray
    measured: np.ndarray
    computed: dict[str, np.ndarray]
    low: np.ndarray
    high: np.ndarray
    missing: tuple[str, ...]

    def errors(self, method: str, figure: str) -> np.ndarray:
        """Computed less measured, in per cent where `QUANTITIES` says so; shape (n,)."""
        column = FIGURES.index(figure)
        measured, computed = self.measured[:, column], self.computed[method][:, column]
        difference = computed - measured
        return 100.0 * difference / measured if QUANTITIES[figure][1] else difference

    def in_band(self, curves: np.ndarray) -> tuple[float, float]:
        """Per cent of the curves' measured figures of lift and of drag inside the band."""
        drag = np.char.startswith(FIGURES, "cd")
        lift, drags = (self._inside(curves, of) for of in (~drag, drag))
        return lift, drags

    def band(self, figure: str, curves: np.ndarray) -> tuple[float, float]:
        """Median half width of a figure's band (per cent where `QUANTITIES` says so), and per cent inside."""
        column = np.array(FIGURES) == figure
        half = ((self.high - self.low) / 2.0)[curves][:, column]
        part = 100.0 * half / self.measured[curves][:, column] if QUANTITIES[figure][1] else half
        known = part[np.isfinite(part)]
        return float(np.median(known)) if known.size else np.nan, self._inside(curves, column)

    def _inside(self, curves: np.ndarray, columns: np.ndarray) -> float:
        low, high, measured = (part[curves][:, columns] for part in (self.low, self.high, self.measured))
        inside = (measured >= low) & (measured <= high)
        return 100.0 * mean_and_rms(inside[np.isfinite(low + measured)])[0]


def record_path() -> Path:
    """The reduced record: inside a wheel, or in the checkout."""
    inside = Path(__file__).with_name("section_record.csv")
    return inside if inside.is_file() else Path(__file__).parents[3] / "tests" / "data" / "section_record.csv"


def curve_rows() -> list[dict[str, str]]:
    """Its rows, a curve each, as text."""
    return csv_rows(record_path(), ",")


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
    from wingtool.section import record_fit, thickness_camber, with_record

    rows = [row for row in curve_rows() if float(row["tab_chord"]) == 0.0 and (wanted is None or wanted(row))]
    kept: list[dict[str, str]] = []
    asked: list[Question] = []
    missing: list[str] = []
    for row in sorted(rows, key=lambda row: row["collection_name"]):  # so rows of a section share its flows
        try:
            section = find_section(row["collection_name"])
        except WingtoolError:
            missing.append(row["section"])
            continue
        trip = float(row["trip_upper_x"])
        kept.append(row)
        reynolds, trip_x = np.array([float(row["reynolds"])]), trip if trip < 1 else None
        asked.append(Question(section, reynolds, ANGLES_DEG, "smooth", trip_x))
    progress("measured record")
    coupled = polars_in_parallel(asked, "coupled", jobs, progress=progress)
    without = record_fit()["left_out"]
    found = {
        LEFT_OUT: [with_record(one, without[row["section"]]) for row, one in zip(kept, coupled, strict=True)],
        "corrected": [with_record(one) for one in coupled],
        "coupled": coupled,
        "surrogate": polars(asked, "surrogate"),
    }
    figures = {method: [polar_figures(one) for one in some] for method, some in found.items()}
    bands = [figure_band(*pair) for pair in zip(found[LEFT_OUT], figures[LEFT_OUT], strict=True)]
    shapes = np.array([thickness_camber(one.section) for one in asked]).reshape(-1, 2)
    return RecordTable(
        surface=np.array([row["surface"] for row in kept]),
        reynolds=np.array([one.reynolds[0] for one in asked]),
        thickness=shapes[:, 0],
        camber=shapes[:, 1],
        measured=np.array([[float(row[name] or "nan") for name in FIGURES] for row in kept]),
        computed={method: np.array([astuple(one) for one in some]) for method, some in figures.items()},
        low=np.array([low for low, _ in bands]),
        high=np.array([high for _, high in bands]),
        missing=tuple(dict.fromkeys(missing)),
    )


def figure_band(polar: SectionPolar, found: CurveFigures) -> tuple[np.ndarray, np.ndarray]:
    """Low and high edge of the figures of the first row; nan where one is no lift and no drag."""
    low, high = np.full(len(FIGURES), np.nan), np.full(len(FIGURES), np.nan)
    rising = polar.alpha_deg <= polar.stall()[0][0]
    cl = np.maximum.accumulate(np.nan_to_num(polar.cl[0][rising], nan=-np.inf))
    angles = {"cl_max": found.alpha_cl_max_deg} | {f"cl_{at:.0f}deg": at for at in LIFT_AT_DEG}
    angles |= {
        name: float(np.interp(lift, cl, polar.alpha_deg[rising]))
        for name, lift in zip(("cd_cl_0", "cd_cl_05", "cd_cl_10"), DRAG_AT_CL, strict=True)
    }
    for name, angle in angles.items():
        column = FIGURES.index(name)
        widths = polar.half_widths(np.array(angle), polar.reynolds[0])
        below, above = widths[2:] if name.startswith("cd") else widths[:2]
        low[column], high[column] = getattr(found, name) - below, getattr(found, name) + above
    return low, high


def polar_figures(polar: SectionPolar) -> CurveFigures:
    """Figures of the first row: greatest lift and its angle by the one rule of stall, drag up to it."""
    angle, lift, _ = (column[0] for column in polar.stall())
    before = polar.alpha_deg <= angle
    cl = np.where(polar.alpha_deg <= angle + 2.0, polar.cl[0], np.nan)
    figures = curve_figures(polar.alpha_deg, cl, polar.cl[0][before], polar.cd[0][before])
    return replace(figures, cl_max=float(lift), alpha_cl_max_deg=float(angle))


def regimes(table: RecordTable) -> dict[str, np.ndarray]:
    """Names and curves of the regimes: those of a wing, clean by Reynolds number, tripped, by shape."""
    clean, wing = table.surface == "clean", wing_curves(table)
    found = {_between("", table.reynolds[wing]): wing} if wing.any() else {}
    for low, high in REYNOLDS_REGIMES:
        inside = clean & (table.reynolds >= low) & (table.reynolds < high)
        if inside.any():
            found[_between("clean, ", table.reynolds[inside])] = inside
    found["zigzag strips at nose"] = table.surface == "tripped"
    for groups in _shapes(table):
        found |= {name: wing & inside for name, inside in groups.items()}
    return {name: curves for name, curves in found.items() if curves.any()}


def shape_groups(table: RecordTable) -> dict[str, np.ndarray]:
    """Names and curves at a wing's Reynolds numbers by camber and thickness together."""
    pairs = itertools.product(*(groups.items() for groups in _shapes(table)))
    wing = wing_curves(table)
    found = {f"{camber}, {thick}": wing & one & other for (camber, one), (thick, other) in pairs}
    return {name: curves for name, curves in found.items() if curves.any()}


def wing_curves(table: RecordTable) -> np.ndarray:
    """Those at a wing's Reynolds numbers, clean or with zigzag strips."""
    low, high = WING_REYNOLDS
    return (table.surface != "aft trip") & (table.reynolds > low) & (table.reynolds < high)


def _shapes(table: RecordTable) -> tuple[dict[str, np.ndarray], dict[str, np.ndarray]]:
    """Curves by camber and by thickness."""
    cambers = {}
    for low, high in itertools.pairwise(CAMBERS):
        name = f"camber {100 * low:g} to {100 * high:g} %" if high < 1 else f"camber above {100 * low:g} %"
        cambers[name] = (table.camber >= low) & (table.camber < high)
    thin = table.thickness < THICK
    return cambers, {f"thinner than {100 * THICK:g} %": thin, f"{100 * THICK:g} % and thicker": ~thin}


def _between(surface: str, reynolds: np.ndarray) -> str:
    ends = dict.fromkeys(f"{value / 1e6:.2g}" for value in (reynolds.min(), reynolds.max()))
    return f"{surface}Re {' to '.join(ends)}"


def mean_and_rms(errors: np.ndarray) -> tuple[float, float, int]:
    """Mean, root mean square and number of the errors that are numbers."""
    known = errors[np.isfinite(errors)]
    if not known.size:
        return np.nan, np.nan, 0
    return float(known.mean()), float(np.sqrt(np.mean(known**2))), int(known.size)
