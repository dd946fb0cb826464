"""A shadow joined to the section in a photo: found by its colour, cut away, and said.

A shadow is paper in less light: it keeps the paper's colour, while the section has its own. Where the
section is as grey as the paper (blackened) a shadow is lighter than it is, and the step between them is the
edge (`step`). The side of a rib has the colour of its face and is left alone. Colours are compared as
logarithms, in which a change of light is a shift.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.geometry import polyline
from wingtool.tracing.photo.paper import closed_loops

BLUR_MM = 0.25  # colour is averaged over this: grain and the coarse colour of JPEG
CORE = 0.55  # of the greatest depth: deeper lies the section for certain
COLOURED = 0.12  # of a logarithm, red over blue: less is grey
LEAST_SHARE = 0.02  # of the edge
MOST_SHARE = 0.5  # of the area: beyond it nobody can say which part is the section


@dataclass(frozen=True, eq=False)
class Shadow:
    """`loop_px` (n, 2) is the section's outline without the shadow; `share` of its points lie where it was
    cut.

    `cut` (n,) says which, `width_mm` is the widest place; `brightness` (rows, columns) has paper and shadow
    at 1.
    """

    loop_px: np.ndarray
    brightness: np.ndarray
    cut: np.ndarray
    share: float
    width_mm: float


def cut_shadow(flat, colour, loop_px: np.ndarray, px_per_mm: float, soft_mm: float) -> Shadow | None:
    """The shadow joined to a section, cut away; None where there is none.

    Parameters
    ----------
    flat : ndarray, shape (rows, columns)
        Brightness with the paper at 1 and the section at 0.
    colour : ndarray, shape (rows, columns, 3)
        Linear red, green, blue over those of the lit paper.
    loop_px : ndarray, shape (n, 2)
        The dark shape.
    px_per_mm, soft_mm : float
        Scale, and the usual width of the edge [mm].
    """
    from scipy import ndimage

    depth = ndimage.distance_transform_edt(mask_of(loop_px, flat.shape)) / px_per_mm
    smooth = ndimage.gaussian_filter(colour, (BLUR_MM * px_per_mm, BLUR_MM * px_per_mm, 0))
    log = np.log(np.maximum(smooth, 2e-3))
    warmth = log[..., 0] - log[..., 2]
    core = depth > CORE * depth.max()
    own_warmth = np.median(warmth[core])
    least = max(2.0 * soft_mm, 3.0 / px_per_mm) + 2.0 * BLUR_MM
    if abs(own_warmth) < COLOURED:
        return None
    spread = max(1.4826 * np.median(np.abs(warmth[core] - own_warmth)), 0.02)
    foreign = (own_warmth - warmth) * np.sign(own_warmth) > max(4.0 * spread, 0.45 * abs(own_warmth))
    foreign = ndimage.binary_opening(foreign & (depth > least), iterations=max(1, round(0.15 * px_per_mm)))
    labels, count = ndimage.label(foreign)
    joined = np.unique(labels[foreign & (depth < least + 0.5)])
    size = ndimage.sum_labels(foreign, labels, joined) / px_per_mm**2
    shade = np.isin(labels, joined[(joined > 0) & (size > 2.0)])
    if count == 0 or not shade.any() or shade.sum() > MOST_SHARE * (depth > 0).sum():
        return None
    zone = ndimage.distance_transform_edt(~shade) < (least + 1.0) * px_per_mm
    towards = (own_warmth - warmth) / (own_warmth - np.median(warmth[shade]))
    own_side = np.where(zone, np.clip(towards, 0.0, 1.5), 0.0)
    field = np.maximum(flat, own_side)
    return _outline(field, loop_px, px_per_mm, least)


def _outline(field: np.ndarray, loop_px: np.ndarray, px_per_mm: float, least: float) -> Shadow | None:
    loops = closed_loops(field, 0.5, 0.0)
    if not loops:
        return None
    even = polyline.resampled(loops[0], 400)[:-1]
    away = np.hypot(*polyline.feet(polyline.resampled(loop_px, 1200), even)[2].T) / px_per_mm
    cut = away > 0.5 * least
    if cut.mean() < LEAST_SHARE:
        return None
    return Shadow(even, field, cut, float(cut.mean()), float(away.max()))


def mask_of(loop: np.ndarray, shape: tuple[int, int]) -> np.ndarray:
    """Pixels (rows, columns) inside a loop of (column, row) points."""
    from PIL import Image, ImageDraw

    picture = Image.new("1", shape[::-1])
    ImageDraw.Draw(picture).polygon([(float(x), float(y)) for x, y in loop], fill=1)
    return np.asarray(picture)
