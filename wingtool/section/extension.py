"""Section data carried beyond stall, bounded and always marked.

L. A. Viterna and R. D. Corrigan, "Fixed pitch rotor performance of large horizontal axis wind turbines",
DOE/NASA Workshop on Large Horizontal Axis Wind Turbines, 1981; NASA TM-82944, 1982 (from memory): from the
last point of the data to 90 degrees drag follows sin^2 and lift follows from it, both continuous at the last
point. The moment is not in that work: here it runs linearly to that of a plate normal to the stream, whose
force acts at mid-chord.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.errors import RangeError
from wingtool.section.curves import CurveTable, Lookup, curve_table, look_up
from wingtool.section.polar import SectionPolar

STEPS_DEG = np.array([1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 14.0, 19.0, 25.0, 33.0, 45.0, 60.0])
LEAST_ANGLE_DEG = 4.0  # the formulas divide by the sine of the joining angle


@dataclass(frozen=True, eq=False)
class ExtendedPolar:
    """A polar with its extension to -90 and +90 degrees; `at` says by ``inside`` what is data."""

    polar: SectionPolar
    table: CurveTable

    def at(self, alpha_deg: np.ndarray | float, reynolds: np.ndarray | float) -> Lookup:
        """As `SectionPolar.at`, with numbers outside the data too, where `inside` is False."""
        return look_up(self.table, np.asarray(alpha_deg, float), np.asarray(reynolds, float))

    def steepest_fall(self) -> float:
        """Steepest fall of circulation between neighbouring points behind stall [1/rad], up to 45 degrees."""
        node = self.table.coefficients[:, :, 3, 3]  # (breaks - 1, rows): the value at each left break
        falls = -np.diff(node, axis=0) / np.radians(np.diff(self.table.alpha_deg[:-1]))[:, None]
        angle = self.table.alpha_deg[:-2]
        behind = (angle >= np.nanmin(self.polar.stall()[0]) - 1e-9) & (angle < 45.0)
        return float(np.max(falls[behind], initial=0.0))


def extended(polar: SectionPolar, aspect_ratio: float = 50.0) -> ExtendedPolar:
    """Carry a polar beyond the ends of its data.

    Gaps inside the data are bridged by straight lines so that a solver can pass, with `inside` False.
    Reynolds numbers without data are left out.

    Parameters
    ----------
    polar : SectionPolar
        The data.
    aspect_ratio : float
        Of the wing: the source's drag of a plate normal to the stream is 1.11 + 0.018 AR, up to AR 50.

    Raises
    ------
    RangeError
        No Reynolds number has two points with data.
    """
    rows = polar.known().sum(axis=1) >= 2
    if not rows.any():
        words = [str(word) for word in polar.status.ravel()]
        name = f"{polar.section.name}: " if polar.section else ""
        raise RangeError(
            f"section data: {name}no Reynolds number has two converged points "
            f"(most often: {max(set(words), key=words.count)}); choose another section"
        )
    alpha = polar.alpha_deg
    below = -STEPS_DEG[::-1] + alpha[0]
    above = STEPS_DEG + alpha[-1]
    grid = np.concatenate([[-90.0], below[below > -85], alpha, above[above < 85], [90.0]])
    place = np.searchsorted(grid, alpha)
    shape = (int(rows.sum()), grid.size)
    columns, known, doubtful = np.full((*shape, 4), np.nan), np.zeros(shape, bool), np.zeros(shape, bool)
    columns[:, place], known[:, place] = polar.columns()[rows], polar.known()[rows]
    doubtful[:, place] = polar.doubtful()[rows]
    ready = known.copy()
    for row, ready_row in zip(columns, ready, strict=True):
        _fill_row(grid, row, ready_row, min(aspect_ratio, 50.0))
    bridged = curve_table(grid, polar.reynolds[rows], columns, ready, doubtful)
    both = (known[:, 1:] & known[:, :-1]).T
    table = CurveTable(grid, bridged.log_reynolds, bridged.coefficients, both, bridged.doubtful)
    return ExtendedPolar(polar, table)


def _fill_row(grid: np.ndarray, row: np.ndarray, ready: np.ndarray, aspect_ratio: float) -> None:
    if not ready.any():
        return
    first, last = np.flatnonzero(ready)[[0, -1]]
    outside = np.arange(grid.size) > last
    row[outside] = beyond_stall(grid[outside], grid[last], row[last], aspect_ratio)
    outside = np.arange(grid.size) < first
    turned = np.array([-1.0, 1.0, -1.0, -1.0])
    row[outside] = turned * beyond_stall(-grid[outside], -grid[first], turned * row[first], aspect_ratio)
    ready[(np.arange(grid.size) > last) | (np.arange(grid.size) < first)] = True


def beyond_stall(alpha_deg: np.ndarray, join_deg: float, join: np.ndarray, aspect_ratio: float) -> np.ndarray:
    """cl, cd, cm, circulation at angles above the joining point, shape ``(n, 4)``.

    Examples
    --------
    Continuous at the joining point, and a plate normal to the stream at 90 degrees (1.11 + 0.018 x 10):

    >>> at_stall = np.array([1.2, 0.05, -0.05, 1.2])
    >>> beyond_stall(np.array([15.0, 90.0]), 15.0, at_stall, 10.0)[:, :2].round(2) + 0.0
    array([[1.2 , 0.05],
           [0.  , 1.29]])
    """
    normal_drag = 1.11 + 0.018 * aspect_ratio
    lift, drag, moment, circulation = join
    start = np.radians(np.clip(join_deg, LEAST_ANGLE_DEG, 80.0))
    angle = np.maximum(np.radians(alpha_deg), start)
    a2 = (lift - normal_drag * np.sin(start) * np.cos(start)) * np.sin(start) / np.cos(start) ** 2
    b2 = (drag - normal_drag * np.sin(start) ** 2) / np.cos(start)
    cl = normal_drag / 2 * np.sin(2 * angle) + a2 * np.cos(angle) ** 2 / np.sin(angle)
    cd = normal_drag * np.sin(angle) ** 2 + b2 * np.cos(angle)
    share = (angle - start) / (np.pi / 2 - start)
    cm = moment + (-0.25 * normal_drag - moment) * share
    ratio = circulation / lift if abs(lift) > 0.1 else 1.0
    return np.stack([cl, cd, cm, cl * (1 + (ratio - 1) * (1 - share))], axis=-1)
