"""The outline of a dark section on a light sheet, from a photo: threshold and marching squares.

The paper's brightness is flattened by a quadratic surface; the edge is taken half-way between paper and
section in linear light, where blur leaves an edge in its place. What could move the outline unseen (shadow,
the side of a thick rib, glare, holes, a hand, another part) is looked for and corrected, refused or said.
"""

import warnings
from dataclasses import dataclass, field, replace
from io import BytesIO
from pathlib import Path

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import plain_bytes
from wingtool.geometry import polyline
from wingtool.tracing.doubts import PhotoRefused, glare_notes, judge_loops, soft_places
from wingtool.tracing.marks import RING_MM, Sheet
from wingtool.tracing.plane import Plane
from wingtool.tracing.pose import COMMON_RIB_MM, UNKNOWN_RIB_MM, Pose, edge_shift_mm
from wingtool.tracing.readings import EITHER, Readings
from wingtool.tracing.shadow import cut_shadow

OUTLINE_POINTS = 200
MOST_BYTES = 200_000_000
END_POINTS = 25  # more, on either side of both ends
END_SHARE = 0.02  # of the way round: over this they stand
MOST_PIXELS = 5000  # along the long side; larger photos are reduced
RIM_MM = np.array([3.0, 10.0])  # not looked at: the paper's edge, and its words above and below
EDGE_LEVELS = (0.3, 0.5, 0.7)
CUT_ERROR_MM = 0.25  # of an edge between section and shadow: common practice, no source
GAMMA = 2.2  # of the usual display
EXIF, FOCAL_35 = 0x8769, 0xA405  # focal length as on 35 mm film, whose half diagonal is 21.63 mm (Exif 2.32)
SMALL_SHIFT_MM = 0.5


@dataclass(frozen=True, eq=False)
class Photo:
    """A photo upright: linear light and its colour.

    `light` (rows, columns) is 0 to 1, `rgb` (rows, columns, 3) the file's bytes, `reduced` how many of the
    file's pixels one of its pixels is, `focal` the focal length over half the diagonal if the file records
    it. On a dark sheet light is turned round, so that the section is always the dark one.
    """

    light: np.ndarray
    rgb: np.ndarray
    reduced: float
    path: str
    focal: float | None = None
    dark_sheet: bool = False


def read_photo(path: Path | str, dark_sheet: bool = False) -> Photo:
    """Read a photo upright, in linear light.

    Raises
    ------
    TraceError
        Not a picture, too large, or too small.
    """
    from PIL import Image, ImageOps

    data = plain_bytes(path, MOST_BYTES, "a photo (JPEG or PNG)", TraceError)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            opened = Image.open(BytesIO(data))
        with opened:
            focal = opened.getexif().get_ifd(EXIF).get(FOCAL_35)
            whole = max(opened.size)
            opened.draft("RGB", (MOST_PIXELS, MOST_PIXELS))  # a JPEG is reduced while it is read
            picture = _eight_bits(ImageOps.exif_transpose(opened))
    except Image.DecompressionBombError:
        raise TraceError(
            f"{path}: over 170 megapixels; save it at 12 to 50 megapixels, which is all that the outline "
            "needs"
        ) from None
    except (OSError, ValueError, SyntaxError) as error:
        raise TraceError(
            f"{path}: not a picture that can be read ({error}); save it as JPEG or PNG"
        ) from None
    shrink = max(1.0, max(picture.size) / MOST_PIXELS)
    if shrink > 1.0:
        picture = picture.resize([round(n / shrink) for n in picture.size], Image.Resampling.BOX)
    if min(picture.size) < 200:
        raise TraceError(
            f"{path}: {picture.size[0]} x {picture.size[1]} pixels are too few; take a larger photo"
        )
    levels = ((np.arange(256) / 255.0) ** GAMMA).astype(np.float32)
    light = levels[np.asarray(picture.convert("L"))]
    if dark_sheet:
        light = np.clip(1.0 - light / np.percentile(light[::8, ::8], 99), 0.0, 1.0)
    return Photo(
        light,
        np.asarray(picture),
        whole / max(picture.size),
        str(path),
        focal / 21.63 if focal else None,
        dark_sheet,
    )


def _eight_bits(picture):
    """As RGB of eight bits; deeper greys are scaled by their brightest pixel, not cut off."""
    if picture.mode[0] in "IF":
        from PIL import Image

        deep = np.asarray(picture, dtype=float)
        return Image.fromarray(np.uint8(np.clip(255.0 * deep / max(deep.max(), 1.0), 0, 255))).convert("RGB")
    return picture.convert("RGB")


@dataclass(frozen=True, eq=False)
class FoundOutline:
    """The section's edge in a photo.

    `edge_px`, `edge_mm` (n, 2) in order, each with its error beside the photo's own `extra_mm` (n,);
    `softness_mm` (n,) the width of the edge; `px_mm` the size of a pixel on the sheet.
    """

    edge_px: np.ndarray
    edge_mm: np.ndarray
    softness_mm: np.ndarray
    extra_mm: np.ndarray
    px_mm: float
    notes: tuple[str, ...]
    doubts: tuple[str, ...] = field(default=())
    unless_thickness: tuple[str, ...] = field(default=())


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
        surface = terms @ np.linalg.lstsq(terms[paper], sample[paper], rcond=None)[0]
        flat = sample / np.maximum(surface, 1e-3)
    level = split_level(flat[use])
    dark = float(np.median(flat[use & (flat < level)]))
    noise = float(1.4826 * np.median(np.abs(flat[paper] - 1.0)))
    if not dark < 0.6 or noise > 0.25 * (1.0 - dark):
        raise TraceError(
            f"low contrast: the section reflects {dark:.0%} of what the paper does (grain {noise:.0%}); it "
            "must "
            "be below 60 %: blacken the face, or use the dark sheet (--sheet photo-dark, --dark-sheet)"
        )
    weights = np.linalg.lstsq(terms[paper], sample[paper], rcond=None)[0]
    y, x = np.arange(light.shape[0])[:, None] / light.shape[0], np.arange(light.shape[1]) / light.shape[1]
    paper_light = weights[0] + weights[1] * x + weights[2] * y + weights[3] * x * x + weights[4] * x * y
    paper_light = np.maximum(paper_light + weights[5] * y * y, 1e-3)
    return np.where(inside, (light / paper_light - dark) / (1.0 - dark), 1.0), paper_light


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


def find_outline(
    photo: Photo,
    plane: Plane,
    paper: Sheet | None = None,
    pose: Pose | None = None,
    rib_mm: float | None = None,
    pen_line: bool = False,
) -> FoundOutline:
    """Find the section.

    Parameters
    ----------
    pose : Pose, optional
        Where the camera stood; without it a rib's height is not corrected.
    rib_mm : float, optional
        Thickness of the rib, 0 for card or a drawn outline [mm].
    pen_line : bool
        The outline is a pen's line: its middle is taken.

    Raises
    ------
    PhotoRefused
        No section, low contrast, something reaching in over the sheet's edge, a second part, or a shadow that
        cannot be told from the section.
    """
    inside = looked_at(plane, photo.light.shape, paper)
    loops: list[np.ndarray] = []
    try:
        flat, paper_light = flattened(photo.light, inside)
        px_per_mm = _px_per_mm(plane, inside)
        least = (2.0 * px_per_mm) ** 2
        loops = _loops(flat, EDGE_LEVELS[1], least)
        if not loops:
            raise TraceError(
                "no dark shape on the sheet; lay the section between the marks and blacken its face"
            )
        outline, inner, notes = judge_loops(loops, inside, plane, pen_line)
        soft_mm = float(np.median(_softness(polyline.resampled(outline, 200), flat, plane, least)))
        flat, outline, cut, unless = _without_shadow(
            photo, flat, paper_light, inside, outline, px_per_mm, soft_mm
        )
        if inner is None:
            notes += glare_notes(outline, flat, plane)
    except TraceError as error:
        raise PhotoRefused(f"{photo.path}: {error}", photo.light, tuple(loops[:20])) from None
    edge = _spread(outline)
    if inner is not None:
        edge = edge - 0.5 * polyline.feet(polyline.closed(inner), edge)[2]
    softness = _softness(edge, flat, plane, least)
    extra = np.zeros(len(edge))
    if cut is not None:
        extra[np.hypot(*polyline.feet(cut, edge)[2].T) < 2.0 * px_per_mm] = CUT_ERROR_MM
        softness[extra > 0.0] = soft_mm
    found = FoundOutline(
        edge, plane.to_mm(edge), softness, extra, 1.0 / px_per_mm, notes + plane.notes, (), unless
    )
    return found if pose is None else _on_the_rib(found, pose, rib_mm)


def _without_shadow(photo, flat, paper_light, inside, outline, px_per_mm, soft_mm):
    """Brightness and outline without a joined shadow, the edge where it was cut, and what is to be said."""
    if photo.dark_sheet or not np.isfinite(soft_mm):
        return flat, outline, None, ()
    margin = int(3.0 * px_per_mm)
    low = np.maximum(np.floor(outline.min(axis=0)).astype(int) - margin, 0)
    high = np.ceil(outline.max(axis=0)).astype(int) + margin
    box = (slice(low[1], high[1]), slice(low[0], high[0]))
    paper = inside[::8, ::8] & (flat[::8, ::8] > 0.8)
    levels = ((np.arange(256) / 255.0) ** GAMMA).astype(np.float32)
    white = np.median(levels[photo.rgb[::8, ::8][paper]] / paper_light[::8, ::8][paper][:, None], axis=0)
    colour = levels[photo.rgb[box]] / (white * paper_light[box][..., None])
    found = cut_shadow(flat[box], colour, outline - low, px_per_mm, soft_mm)
    if found is None:
        return flat, outline, None, ()
    text = (
        f"a shadow up to {found.width_mm:.1f} mm wide is joined to {found.share:.0%} of the edge; it was "
        "cut away by "
        "its colour: light it from both sides and take it again, or give --thickness by calipers"
    )
    clean = flat.copy()
    clean[box] = found.brightness
    return clean, found.loop_px + low, found.loop_px[found.cut] + low, (text,)


def _spread(loop: np.ndarray) -> np.ndarray:
    """Points along a closed loop, closer at its two far ends, nose and tail."""
    length = polyline.arc_length(loop)
    centred = loop - loop.mean(axis=0)
    along = centred @ np.linalg.svd(centred, full_matrices=False)[2][0]
    at = [np.linspace(0.0, length[-1], OUTLINE_POINTS + 1)[:-1]]
    for end in (length[along.argmin()], length[along.argmax()]):
        at.append((end + np.linspace(-1.0, 1.0, 2 * END_POINTS + 1) * END_SHARE * length[-1]) % length[-1])
    places = np.unique(np.concatenate(at).round(6))
    return np.column_stack([np.interp(places, length, loop[:, k]) for k in (0, 1)])


def _on_the_rib(found: FoundOutline, pose: Pose, rib_mm: float | None) -> FoundOutline:
    """The edge where it stands on a rib of some thickness, or what not knowing that leaves open."""
    loop = found.edge_mm
    sign = np.sign(polyline.signed_area(loop))
    along = np.roll(loop, -1, axis=0) - np.roll(loop, 1, axis=0)
    outward = sign * np.column_stack([along[:, 1], -along[:, 0]]) / np.hypot(*along.T)[:, None]
    shift = edge_shift_mm(loop, outward, pose)
    notes = (f"camera {pose.camera_mm[2] / 1000:.1f} m above the sheet, {pose.tilt_deg:.0f} deg off square",)
    across = np.abs((shift * outward).sum(axis=1))
    if rib_mm is not None:
        extra = np.hypot(found.extra_mm, pose.height_error * rib_mm * across)
        return replace(found, edge_mm=loop - rib_mm * shift, extra_mm=extra, notes=found.notes + notes)
    extra = np.hypot(found.extra_mm, UNKNOWN_RIB_MM * across)
    sides = np.abs(outward @ _long_axis(loop)) < 0.7
    worst = COMMON_RIB_MM * float(across[sides].max())
    doubts: tuple[str, ...] = ()
    if worst > SMALL_SHIFT_MM:
        doubts = (
            f"{notes[0]}: a rib {COMMON_RIB_MM:g} mm thick would show its edge {worst:.1f} mm out; give its "
            "thickness "
            "(--rib, 0 mm for card), or hold the camera square above the section, 1.5 m away",
        )
    return replace(found, extra_mm=extra, notes=found.notes + notes, doubts=found.doubts + doubts)


def _long_axis(points: np.ndarray) -> np.ndarray:
    return np.linalg.svd(points - points.mean(axis=0), full_matrices=False)[2][0]


def _px_per_mm(plane: Plane, inside: np.ndarray) -> float:
    rows, columns = np.nonzero(inside[::16, ::16])
    middle = 16.0 * np.array([[columns.mean(), rows.mean()], [columns.mean() + 1.0, rows.mean()]])
    return float(16.0 / np.hypot(*np.diff(plane.to_mm(middle), axis=0)[0]))


def outline_readings(
    found: FoundOutline, error_mm: float, plane: Plane, pen_diameter_mm: float = 0.0
) -> Readings:
    """Readings from a found outline: the stated error, the marks' misfit and soft edges together."""
    extra, notes = soft_places(found)
    residual = plane.residual_mm if np.isfinite(plane.residual_mm) else 0.0
    return Readings(
        "photo",
        found.edge_mm,
        np.sqrt(error_mm**2 + residual**2 + extra**2 + found.extra_mm**2),
        np.full(len(found.edge_mm), EITHER),
        offset_mm=pen_diameter_mm / 2.0,
        offset_error_mm=0.05 if pen_diameter_mm else 0.0,
        shared_error_mm=0.3 * error_mm,
        dull_tail_mm=float(np.clip(8.0 * np.median(found.softness_mm), 0.5, 3.0)),
        photo_px=found.edge_px,
        notes=found.notes + notes,
        doubts=found.doubts,
        unless_thickness=found.unless_thickness,
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
