"""The edge of the section beside a shadow: where the face's own brightness ends.

A printed or painted edge, and a rib's rim, are steps as sharp as the photo. What light does on the paper
beside a rib is not: at the foot of a wall of height h half of the sky is hidden, and at a distance d the
share d / (d^2 + h^2)^(1/2) of that half is back (view factor of a long wall, by its definition), and a lamp's
penumbra is as soft as the lamp is wide. Half-way between face and paper lies in that slope, up to 1 mm out
for a rib of 6 mm. So each profile across the outline is followed outwards from the face to the first step:
the edge is where its slope reaches half of its peak, and from there outwards half the width that the photo's
sharpest edges have, since the inner flank is face alone. Where a larger step follows too closely for a peak
of its own, the edge lies a standard deviation of the blur beyond the end of the face's brightness. Where the
camera sees the rib's side the section stands on the sheet: there the last steep step within the width of
that side counts.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from wingtool.geometry import polyline

SPACING_MM = 0.6  # of profiles along the outline
INWARD_MM, OUTWARD_MM = 9.0, 2.0
STEP_PX = 0.4
SMOOTH_PX = 0.7
GRAINS = 8.0  # standard deviations of the face's own brightness
LEAST_RISE, MOST_RISE = 0.05, 0.15  # of the brightness from face to paper: the face has ended
SHARPEST = 20  # per cent of the edge
HIDDEN = 2.5  # half widths from the face's end to a peak: farther is another edge's
BLUR = 0.85  # standard deviation over the half width at half height, of a normal distribution
BLUNT = 2.0  # of the photo's sharpest edges
LONG_BLUNT = (
    10  # profiles in a row are kept as a soft edge; fewer are left out, as a tail's corner in a shadow
)
ASTRAY_MM = 0.3  # from the middle of its neighbours
SIDE_SLACK_MM = 0.4


@dataclass(frozen=True, eq=False)
class Steps:
    """`loop_px` (n, 2) through the steps, not closed; `moved_mm` (n,) inwards from half-way; `width_mm` (n,)
    from a step's inner flank to its steepest place."""

    loop_px: np.ndarray
    moved_mm: np.ndarray
    width_mm: np.ndarray


def find_steps(
    flat: np.ndarray,
    loop_px: np.ndarray,
    px_per_mm: float,
    side_seen: Callable[[np.ndarray], np.ndarray] | None = None,
) -> Steps:
    """The step on the normal of each point of the half-way outline.

    Without a sharp step a point is left out, in a long row of such it stays where it is.

    Parameters
    ----------
    flat : ndarray, shape (rows, columns)
        Brightness with the paper at 1 and the section at 0.
    loop_px : ndarray, shape (n, 2)
        Closed line half-way between them.
    px_per_mm : float
    side_seen : callable, optional
        From points in order (n, 2) [px] to the visible width of the rib's side there (n,) [mm].
    """
    from scipy import ndimage

    count = int(max(200, polyline.arc_length(loop_px)[-1] / px_per_mm / SPACING_MM))
    points = polyline.resampled(loop_px, count + 1)[:-1]
    normal = polyline.outward(points, 2)
    at = np.arange(-INWARD_MM * px_per_mm, OUTWARD_MM * px_per_mm, STEP_PX)
    places = points[:, None, :] + at[:, None] * normal[:, None, :]
    profile = ndimage.map_coordinates(flat, [places[..., 1], places[..., 0]], order=1, mode="nearest")
    profile = ndimage.gaussian_filter(profile, (SMOOTH_PX, SMOOTH_PX / STEP_PX), mode=("wrap", "nearest"))
    slope = np.gradient(profile, axis=1)
    ends = _face_ends(profile, at, px_per_mm)
    side = np.zeros(len(points)) if side_seen is None else side_seen(points)
    slack = np.where(side > 0.0, (side + SIDE_SLACK_MM) * px_per_mm / STEP_PX, 0.0)
    flank, top = np.array([_step(*row) for row in zip(slope, ends, slack, strict=True)]).T
    width = top - flank
    half = np.nanpercentile(width, SHARPEST) if np.isfinite(width).any() else 0.0
    merged = (slack == 0.0) & (ends > 0) & ~(top - ends < HIDDEN * half)
    place = np.where(merged, ends + BLUR * half, flank + half)
    width = np.where(merged, 1.5 * half, width)
    sharp = width < BLUNT * half  # not nan either
    shift = np.where(sharp, at[0] + STEP_PX * place, 0.0)
    middle = ndimage.median_filter(shift, 9, mode="wrap")
    shift = np.where(np.abs(shift - middle) > ASTRAY_MM * px_per_mm, middle, shift)
    width = STEP_PX * np.where(sharp, width, np.fmax(5.0 * half, width))
    keep = sharp | ndimage.binary_opening(~sharp, np.ones(LONG_BLUNT))
    found = np.column_stack([points + shift[:, None] * normal, -shift / px_per_mm, width / px_per_mm])[keep]
    return Steps(found[:, :2], found[:, 2], found[:, 3])


def _face_ends(profile: np.ndarray, at: np.ndarray, px_per_mm: float) -> np.ndarray:
    """Sample at which the face's brightness ends on each profile, going outwards (n,); 0 where it does not.

    Going inwards brightness falls to the face; where it rises again by a step, the profile has come out on
    the other side of a thin tail. The face ends where brightness is above its darkest by many times what the
    face varies by, 2 mm and more inside the outline.
    """
    zero = int(np.abs(at).argmin())
    inward = profile[:, zero::-1]
    out = inward > np.minimum.accumulate(inward, axis=1) + MOST_RISE
    end = np.where(out.any(axis=1), out.argmax(axis=1), inward.shape[1])
    own = np.where(np.arange(inward.shape[1]) < end[:, None], inward, np.inf)
    darkest, level = zero - own.argmin(axis=1), own.min(axis=1)
    inside = (profile - level[:, None])[:, at < -2.0 * px_per_mm]
    face = inside[inside < MOST_RISE]
    grain = 1.4826 * float(np.median(np.abs(face - np.median(face)))) if len(face) else 0.0
    rise = np.clip(GRAINS * grain, LEAST_RISE, MOST_RISE)
    brighter = (profile > level[:, None] + rise) & (np.arange(len(at)) > darkest[:, None])
    first = brighter.argmax(axis=1)
    before = profile[np.arange(len(first)), np.maximum(first - 1, 0)]
    here = profile[np.arange(len(first)), first]
    part = (here - level - rise) / np.maximum(here - before, 1e-9)
    shade = (level > np.median(level) + rise) & ~out.any(axis=1)
    return np.where(brighter.any(axis=1) & ~shade, first - np.clip(part, 0.0, 1.0), 0.0)


def _step(slope: np.ndarray, end: float, slack: float) -> tuple[float, float]:
    """Inner flank and steepest place, in samples, of the first step from the face's end on; nan without one.

    With `slack` samples of the rib's side to be seen it is the last as steep as half of the first.
    """
    start = max(int(end) - 1, 1)
    here, before, after = slope[start:-1], slope[start - 1 : -2], slope[start + 1 :]
    tops = start + np.flatnonzero((here > before) & (here >= after) & (here > 0.0))
    if end == 0.0 or len(tops) == 0:
        return np.nan, np.nan
    peak = tops[0]
    if slack > 0.0:
        peak = tops[(tops - peak <= slack) & (slope[tops] > 0.5 * slope[peak])][-1]
    below = np.flatnonzero(slope[:peak] < 0.5 * slope[peak])
    if len(below) == 0:
        return np.nan, np.nan
    k = below[-1]
    flank = k + (0.5 * slope[peak] - slope[k]) / max(slope[k + 1] - slope[k], 1e-12)
    low, top, high = slope[peak - 1 : peak + 2]
    return flank, peak + 0.5 * (low - high) / min(low - 2.0 * top + high, -1e-12)
