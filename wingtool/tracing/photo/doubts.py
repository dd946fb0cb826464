"""What could put the outline wrong in a photo: looked for before anything is fitted."""

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import words_beside
from wingtool.geometry import polyline
from wingtool.tracing.photo.plane import Plane

WORDS = words_beside(__file__, "doubts")
PEN_HOLE = 0.6
SECOND_PART = 0.1  # of the section's area
HOLE = 0.002
GREY_REFUSED, GREY_NOTED = 0.08, 0.01
GREY = (0.12, 0.48)  # between section (0) and paper (1)


def _at_rim(loop: np.ndarray, inside: np.ndarray) -> bool:
    """Whether a loop runs along the rim of the pixels that are looked at."""
    rows = np.clip(np.rint(loop[:, 1]).astype(int), 6, inside.shape[0] - 7)
    columns = np.clip(np.rint(loop[:, 0]).astype(int), 6, inside.shape[1] - 7)
    clear = np.ones(len(loop), dtype=bool)
    for down, right in ((-6, 0), (6, 0), (0, -6), (0, 6)):
        clear &= inside[rows + down, columns + right]
    return bool((~clear).mean() > 0.02)


def judge_loops(loops, inside, plane: Plane, pen_line: bool = False):
    """The section's loop among the closed dark shapes [px], a pen line's inner edge or None, and remarks.

    Raises
    ------
    TraceError
        Something reaches in over the rim, there is a second part, or a shadow is joined to the section.
    """
    areas = np.array([abs(polyline.signed_area(plane.to_mm(loop))) for loop in loops])
    section = loops[int(areas.argmax())]
    whole = areas.max()
    if _at_rim(section, inside):
        raise TraceError(WORDS["over_rim"])
    notes: list[str] = []
    inner = None
    for loop, area in zip(loops, areas, strict=True):
        if loop is section:
            continue
        if pen_line and area > PEN_HOLE * whole and polyline.contains(section, loop[0])[0]:
            inner = loop
        elif inner is not None and polyline.contains(inner, loop[0])[0]:
            continue
        elif polyline.contains(section, loop[0])[0]:
            notes += _hole(area, whole, plane.to_mm(loop))
        else:
            notes += _stray(loop, area, whole, inside, plane)
    return section, inner, tuple(notes)


def _hole(area: float, whole: float, loop_mm: np.ndarray) -> list[str]:
    if area > 0.2 * whole:
        raise TraceError("a bright field in the section: glare? or a pen's line (give --pen-diameter)?")
    if area < HOLE * whole:
        return []
    x, y = loop_mm.mean(axis=0)
    return [f"bright spot of {area:.0f} mm2 near ({x:.0f}, {y:.0f}) mm: hole or glare, filled in"]


def _stray(loop, area, whole, inside, plane) -> list[str]:
    x, y = plane.to_mm(loop).mean(axis=0)
    if _at_rim(loop, inside) and area > 0.02 * whole:
        raise TraceError(f"a hand or a shadow reaches over the rim near ({x:.0f}, {y:.0f}) mm: take it away")
    if area > SECOND_PART * whole:
        raise TraceError(WORDS["second"].format(x, y))
    if area > HOLE * whole:
        return [f"a dark speck near ({x:.0f}, {y:.0f}) mm was passed over"]
    return []


def glare_notes(section: np.ndarray, flat: np.ndarray, plane: Plane) -> tuple[str, ...]:
    """Shadow or glare joined to the section: patches of its inside that are neither dark nor light.

    Raises
    ------
    TraceError
        They fill more than a twelfth of it.
    """
    from PIL import Image, ImageDraw
    from scipy import ndimage

    left, top = np.floor(section.min(axis=0)).astype(int)
    right, bottom = np.ceil(section.max(axis=0)).astype(int) + 1
    step = max(1, (right - left) // 800)
    value = ndimage.uniform_filter(flat[top:bottom:step, left:right:step], 3)
    mask = Image.new("1", value.shape[::-1])
    ImageDraw.Draw(mask).polygon([tuple(place) for place in (section - [left, top]) / step], fill=1)
    within = np.asarray(mask)
    patch = ndimage.binary_opening(within & (value > GREY[0]) & (value < GREY[1]), iterations=3)
    share = patch.sum() / max(within.sum(), 1)
    if share > GREY_REFUSED:
        raise TraceError(WORDS["glare"].format(share))
    if share <= GREY_NOTED:
        return ()
    row, column = np.argwhere(patch).mean(axis=0)
    x, y = plane.to_mm(np.array([[left + step * column, top + step * row]]))[0]
    return (WORDS["grey"].format(share, x, y),)


def soft_places(found) -> tuple[np.ndarray, tuple[str, ...]]:
    """Extra error [mm] where the edge is much softer than elsewhere, and remarks.

    Raises
    ------
    TraceError
        The edge is soft nearly everywhere: out of focus.
    """
    usual = float(np.median(found.softness_mm))
    size = float(np.ptp(found.edge_mm, axis=0).max())
    if usual > 0.02 * size:
        raise TraceError(f"the edge is {usual:.1f} mm wide all round: out of focus? hold still, more light")
    soft = found.softness_mm > 2.5 * usual + 0.2
    extra = np.where(soft, 0.5 * found.softness_mm, 0.0)
    if not soft.any():
        return extra, ()
    x, y = found.edge_mm[soft].mean(axis=0)
    return extra, (WORDS["soft"].format(soft.mean(), x, y, found.softness_mm[soft].max()),)
