"""The outline of a dark section on a light sheet, from a photo: threshold and marching squares.

The paper's brightness is flattened by a quadratic surface; the edge is taken half-way between paper and
section in linear light, where blur leaves an edge in its place. What could move the outline unseen (shadow,
glare, holes, a hand, another part) is looked for and refused or told.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from wingtool.errors import TraceError
from wingtool.geometry import polyline
from wingtool.tracing.doubts import judge_loops, soft_places
from wingtool.tracing.marks import RING_MM, Sheet
from wingtool.tracing.plane import Plane
from wingtool.tracing.readings import EITHER, Readings

OUTLINE_POINTS = 240
MOST_PIXELS = 5000  # along the long side; larger photos are reduced
RIM_MM = np.array([3.0, 10.0])  # not looked at: the paper's edge, and its words above and below
EDGE_LEVELS = (0.3, 0.5, 0.7)


@dataclass(frozen=True, eq=False)
class Photo:
    """Linear light (rows, columns), 0 to 1, and how many of the file's pixels one of its pixels is."""

    light: np.ndarray
    reduced: float
    path: str


def read_photo(path: Path | str) -> Photo:
    """Read a photo upright, as grey, in linear light.

    Raises
    ------
    TraceError
        Not a picture, or too small.
    """
    from PIL import Image, ImageOps

    try:
        with Image.open(path) as opened:
            picture = ImageOps.exif_transpose(opened).convert("L")
    except FileNotFoundError:
        raise TraceError(f"{path}: no such file; check the name") from None
    except (OSError, ValueError, Image.DecompressionBombError) as error:
        raise TraceError(
            f"{path}: not a picture that can be read ({error}); save it as JPEG or PNG"
        ) from None
    reduced = max(1.0, max(picture.size) / MOST_PIXELS)
    if reduced > 1.0:
        picture = picture.resize([round(n / reduced) for n in picture.size], Image.Resampling.BOX)
    if min(picture.size) < 200:
        raise TraceError(
            f"{path}: {picture.size[0]} x {picture.size[1]} pixels are too few; take a larger photo"
        )
    levels = (np.arange(256) / 255.0) ** 2.2  # the usual display gamma
    return Photo(levels[np.asarray(picture)].astype(np.float32), reduced, str(path))


class PhotoRefused(TraceError):
    """A photo that was refused, with what was seen in it: `light`, and closed shapes `loops_px`."""

    def __init__(self, message: str, light: np.ndarray, loops_px: tuple[np.ndarray, ...] = ()) -> None:
        super().__init__(message)
        self.light = light
        self.loops_px = loops_px


@dataclass(frozen=True, eq=False)
class FoundOutline:
    """`edge_px` (n, 2) at the middle level, in order; `softness_mm` (n,) the width of its edge."""

    edge_px: np.ndarray
    edge_mm: np.ndarray
    softness_mm: np.ndarray
    notes: tuple[str, ...]


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


def flattened(light: np.ndarray, inside: np.ndarray) -> np.ndarray:
    """Brightness with the paper at 1 and the section at 0.

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
        surface = terms @ np.linalg.lstsq(terms[paper], sample[paper], rcond=None)[0]
        flat = sample / np.maximum(surface, 1e-3)
    level = split_level(flat[use])
    dark = float(np.median(flat[use & (flat < level)]))
    noise = float(1.4826 * np.median(np.abs(flat[paper] - 1.0)))
    if not dark < 0.6 or noise > 0.25 * (1.0 - dark):
        raise TraceError(
            f"low contrast: the section reflects {dark:.0%} of what the paper does (grain "
            f"{noise:.0%}); it must be "
            "below 60 %: blacken the edge, use white paper, more light"
        )
    weights = np.linalg.lstsq(terms[paper], sample[paper], rcond=None)[0]
    y, x = np.arange(light.shape[0])[:, None] / light.shape[0], np.arange(light.shape[1]) / light.shape[1]
    paper_light = weights[0] + weights[1] * x + weights[2] * y + weights[3] * x * x + weights[4] * x * y
    paper_light = np.maximum(paper_light + weights[5] * y * y, 1e-3)
    return np.where(inside, (light / paper_light - dark) / (1.0 - dark), 1.0)


def _loops(flat: np.ndarray, level: float, least_px: float) -> list[np.ndarray]:
    """Closed level lines of at least an area [px^2], largest first, pixel coordinates."""
    from contourpy import contour_generator

    lines = [np.array(line, dtype=float) for line in contour_generator(z=flat).lines(level)]
    closed = [line for line in lines if len(line) > 20 and np.array_equal(line[0], line[-1])]
    sizes = np.array([abs(polyline.signed_area(line)) for line in closed])
    return [closed[k] for k in np.argsort(-sizes, kind="stable") if sizes[k] > least_px]


def _softness(edge: np.ndarray, flat: np.ndarray, plane: Plane, least_px: float) -> np.ndarray:
    """Distance [mm] between the darker and the lighter level at each point of the edge."""
    from scipy.spatial import cKDTree

    distance = np.zeros(len(edge))
    for level in EDGE_LEVELS[::2]:
        loops = _loops(flat, level, least_px)
        if not loops:
            return np.full(len(edge), np.inf)
        distance += cKDTree(plane.to_mm(np.vstack(loops))).query(plane.to_mm(edge))[0]
    return distance


def find_outline(photo: Photo, plane: Plane, paper: Sheet | None = None) -> FoundOutline:
    """Find the section.

    Raises
    ------
    PhotoRefused
        No section, low contrast, something reaching in over the sheet's edge, a second part, or a shadow
        joined to the section.
    """
    inside = looked_at(plane, photo.light.shape, paper)
    loops: list[np.ndarray] = []
    try:
        flat = flattened(photo.light, inside)
        px_per_mm = _px_per_mm(plane, inside)
        loops = _loops(flat, EDGE_LEVELS[1], (2.0 * px_per_mm) ** 2)
        if not loops:
            raise TraceError(
                "no dark shape on the sheet; lay the section between the marks and blacken its edge"
            )
        outline, notes = judge_loops(loops, flat, inside, plane)
    except TraceError as error:
        raise PhotoRefused(f"{photo.path}: {error}", photo.light, tuple(loops[:20])) from None
    edge = polyline.resampled(outline, OUTLINE_POINTS + 1)[:-1]
    softness = _softness(edge, flat, plane, (2.0 * px_per_mm) ** 2)
    return FoundOutline(edge, plane.to_mm(edge), softness, notes + plane.notes)


def _px_per_mm(plane: Plane, inside: np.ndarray) -> float:
    rows, columns = np.nonzero(inside[::16, ::16])
    middle = 16.0 * np.array([[columns.mean(), rows.mean()], [columns.mean() + 1.0, rows.mean()]])
    return float(16.0 / np.hypot(*np.diff(plane.to_mm(middle), axis=0)[0]))


def outline_readings(found: FoundOutline, error_mm: float, plane: Plane) -> Readings:
    """Readings from a found outline: the stated error, the marks' misfit and soft edges together."""
    extra, notes = soft_places(found)
    residual = plane.residual_mm if np.isfinite(plane.residual_mm) else 0.0
    return Readings(
        "photo",
        found.edge_mm,
        np.sqrt(error_mm**2 + residual**2 + extra**2),
        np.full(len(found.edge_mm), EITHER),
        shared_error_mm=0.3 * error_mm,
        photo_px=found.edge_px,
        notes=found.notes + notes,
    )


def clicked_readings(points_px: np.ndarray, error_mm: float, plane: Plane) -> Readings:
    """Readings from points clicked along the outline in the photo, (n, 2) pixels."""
    residual = plane.residual_mm if np.isfinite(plane.residual_mm) else 0.0
    return Readings(
        "photo",
        plane.to_mm(points_px),
        np.full(len(points_px), float(np.hypot(error_mm, residual))),
        np.full(len(points_px), EITHER),
        shared_error_mm=0.3 * error_mm,
        photo_px=np.asarray(points_px, dtype=float),
        notes=plane.notes,
    )
