"""The paper in a photo: where the section may lie on it, its light taken out, and closed dark shapes."""

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import words_beside
from wingtool.geometry import polyline
from wingtool.tracing.photo.marks import RING_MM, Sheet
from wingtool.tracing.photo.plane import Plane

WORDS = words_beside(__file__, "paper")
RIM_MM = np.array([3.0, 10.0])  # not looked at: the paper's edge, and its words above and below


def looked_at(plane: Plane, shape: tuple[int, int], paper: Sheet | None) -> np.ndarray:
    """Mask of the pixels in which the section may lie: the sheet without its rim and marks."""
    rows, columns = shape
    step = 4
    grid_y, grid_x = np.mgrid[0:rows:step, 0:columns:step]
    mm = plane.to_mm(np.column_stack([grid_x.ravel(), grid_y.ravel()]))
    if paper is not None:
        low, high = RIM_MM, np.array([paper.width_mm, paper.height_mm]) - RIM_MM
    elif len(plane.marks_mm) >= 4:
        low, high = plane.marks_mm.min(axis=0) - 2 * RING_MM, plane.marks_mm.max(axis=0) + 2 * RING_MM
    else:
        low, high = np.array([-np.inf, -np.inf]), np.array([np.inf, np.inf])
    inside = np.all((mm > low) & (mm < high), axis=1)
    if len(plane.marks_mm) >= 4:
        away = np.hypot(*(mm[:, None, :] - plane.marks_mm).transpose(2, 0, 1)).min(axis=1)
        inside &= away > 0.8 * RING_MM
    small = inside.reshape(grid_x.shape)
    return np.kron(small, np.ones((step, step), dtype=bool))[:rows, :columns]


def split_level(values: np.ndarray) -> float:
    """The level between two heaps of brightness (N. Otsu, IEEE Trans. SMC 9(1), 1979)."""
    count, edges = np.histogram(values, bins=256)
    middle = 0.5 * (edges[:-1] + edges[1:])
    below = np.cumsum(count)
    mean_below = np.cumsum(count * middle)
    above = below[-1] - below
    with np.errstate(divide="ignore", invalid="ignore"):
        gap = mean_below / below - (mean_below[-1] - mean_below) / above
    between = np.nan_to_num(below * above * gap**2)
    return float(middle[between >= 0.9999 * between.max()].mean())  # between far heaps the best is a plateau


def flattened(light: np.ndarray, inside: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Brightness with the paper at 1 and the section at 0, and the light on the paper; both (rows, columns).

    Raises
    ------
    TraceError
        The section is not clearly darker than the paper, or there is none.
    """
    step = max(1, min(light.shape) // 400)
    sample, use = light[::step, ::step], inside[::step, ::step]
    y, x = np.meshgrid(*(np.arange(0, n, step) / n for n in light.shape), indexing="ij")
    terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)
    flat = sample / np.median(sample[use & (sample >= np.median(sample[use]))])
    for _ in range(3):
        paper = use & (flat > split_level(flat[use]))
        weights = np.linalg.lstsq(terms[paper], sample[paper], rcond=None)[0]
        flat = sample / np.maximum(terms @ weights, 1e-3)
    level = split_level(flat[use])
    dark = float(np.median(flat[use & (flat < level)]))
    noise = float(1.4826 * np.median(np.abs(flat[paper] - 1.0)))
    if not dark < 0.6 or noise > 0.25 * (1.0 - dark):
        raise TraceError(WORDS["low_contrast"].format(dark, noise))
    y, x = np.arange(light.shape[0])[:, None] / light.shape[0], np.arange(light.shape[1]) / light.shape[1]
    paper_light = weights[0] + weights[1] * x + weights[2] * y + weights[3] * x * x + weights[4] * x * y
    paper_light = np.maximum(paper_light + weights[5] * y * y, 1e-3)
    return np.where(inside, (light / paper_light - dark) / (1.0 - dark), 1.0), paper_light


def closed_loops(flat: np.ndarray, level: float, least_px: float) -> list[np.ndarray]:
    """Closed level lines of at least an area [px^2], largest first, pixel coordinates."""
    from contourpy import contour_generator

    lines = [np.array(line, dtype=float) for line in contour_generator(z=flat).lines(level)]
    closed = [line for line in lines if len(line) > 20 and np.array_equal(line[0], line[-1])]
    sizes = np.array([abs(polyline.signed_area(line)) for line in closed])
    return [closed[k] for k in np.argsort(-sizes, kind="stable") if sizes[k] > least_px]


def px_per_mm_of(plane: Plane, inside: np.ndarray) -> float:
    rows, columns = np.nonzero(inside[::16, ::16])
    middle = 16.0 * np.array([[columns.mean(), rows.mean()], [columns.mean() + 1.0, rows.mean()]])
    return float(16.0 / np.hypot(*np.diff(plane.to_mm(middle), axis=0)[0]))
