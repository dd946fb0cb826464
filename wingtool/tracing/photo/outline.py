"""The outline of a dark section on a light sheet, from a photo.

Half-way between paper and section, in linear light, blur leaves an edge in its place; where a shadow lies
beside the section the first step of brightness is the edge (`step`), looked for in the colour in which the
face is darkest: a shadow dims all colours of the paper alike. What else could move the outline unseen (the
side of a thick rib, glare, holes, a hand, another part) is looked for and corrected, refused or said.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import words_beside
from wingtool.geometry import polyline
from wingtool.tracing.photo.doubts import glare_notes, judge_loops, soft_places
from wingtool.tracing.photo.marks import Sheet
from wingtool.tracing.photo.paper import closed_loops, flattened, looked_at, px_per_mm_of
from wingtool.tracing.photo.picture import Photo, PhotoRefused, linear_light
from wingtool.tracing.photo.plane import Plane
from wingtool.tracing.photo.pose import COMMON_RIB_MM, UNKNOWN_RIB_MM, Pose, edge_shift_mm, side_seen
from wingtool.tracing.photo.step import Steps, find_steps
from wingtool.tracing.readings import EITHER, PEN_ERROR_MM, Readings

WORDS = words_beside(__file__, "outline")
OUTLINE_POINTS = 200
END_POINTS = 25  # more, on either side of both ends
END_SHARE = 0.02  # of the way round: over this they stand
HALF_WAY, FACE_LEVEL = 0.5, 0.15  # between face and paper; where the face ends, beside a shadow
BESIDE_SHADOW = 0.4  # of the step's half width: what the shadow's own slope may move it
JOINED_MM = 0.25  # from the step to half-way: more is a shadow
WIDE_SHADOW_MM = 1.0  # wider needs calipers' word
LEAST_SHARE = 0.02  # of the edge
SMALL_SHIFT_MM = 0.5
BLACK = 0.1  # of the paper: darker than any shadow, and its colour is noise
COLOURED = 0.6  # of its brightness: a face that reflects less of one colour is coloured
SHADE = 0.2  # of the paper: seldom darker in a lamp's shadow (common practice, no source)
BRIGHT_FACE = 0.4  # of the paper; beside a wall it loses half of the sky (`step`), and some of a lamp
# of a rib's side in the picture: which of its two rims was found is then open; beyond it nothing is known
WIDE_SIDE_MM, MOST_SIDE_MM = 1.5, 4.0


@dataclass(frozen=True, eq=False)
class FoundOutline:
    """The section's edge in a photo.

    `edge_px`, `edge_mm` (n, 2) in order, each with its error beside the photo's own `extra_mm` (n,);
    `softness_mm` (n,) the half width of the edge; `open_mm`, `shadow_mm` (n,) what the doubts leave open;
    `bright` as paper in the shade is the face.
    """

    edge_px: np.ndarray
    edge_mm: np.ndarray
    softness_mm: np.ndarray
    extra_mm: np.ndarray
    open_mm: np.ndarray
    shadow_mm: np.ndarray
    notes: tuple[str, ...]
    doubts: tuple[str, ...] = field(default=())
    unless_thickness: tuple[str, ...] = field(default=())
    bright: bool = False


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
        light = _least_reflected(photo, flat, paper_light, inside)
        if light is not photo.light:
            flat, paper_light = flattened(light, inside)
        px_per_mm = px_per_mm_of(plane, inside)
        loops = closed_loops(flat, HALF_WAY, (2.0 * px_per_mm) ** 2)
        if not loops:
            raise TraceError(
                "no dark shape on the sheet; lay the section between the marks and blacken its face"
            )
        outline, inner, notes = judge_loops(loops, inside, plane, pen_line)
        seen = None if pose is None or not rib_mm else _side_seen(plane, pose, rib_mm)
        steps = find_steps(flat, outline, px_per_mm, seen)
        if steps.moved_mm.max() > WIDE_SHADOW_MM:  # round both ends half-way lies askew to the face
            steps = find_steps(flat, closed_loops(flat, FACE_LEVEL, 0.0)[0], px_per_mm, seen)
            away = np.hypot(*polyline.feet(outline, steps.loop_px)[2].T)
            steps = replace(steps, moved_mm=away / px_per_mm)
        if inner is None:
            notes += glare_notes(steps.loop_px, flat, plane)
    except TraceError as error:
        raise PhotoRefused(f"{photo.path}: {error}", photo.light, tuple(loops[:20])) from None
    edge, moved, softness = _spread(steps)
    extra = np.where(moved > 0.4 * JOINED_MM, BESIDE_SHADOW * softness, 0.0)
    if inner is not None:
        edge = edge - 0.5 * polyline.feet(polyline.closed(inner), edge)[2]
    said, unless = _shadow_words(moved)
    edge_mm = plane.to_mm(edge)
    shadow = _shadow_mm(edge_mm, moved) if unless else 0.0 * moved
    dark = inside & (flat < HALF_WAY)
    face = float(np.median(light[dark] / paper_light[dark]))
    bright: tuple[str, ...] = ()
    if photo.dark_sheet or rib_mm == 0.0 or face < SHADE:
        pass
    elif face > BRIGHT_FACE:
        bright = (WORDS["bright_face"].format(face),)
    else:
        unless += (WORDS["grey_face"].format(face),)
        shadow = np.maximum(shadow, rib_mm or COMMON_RIB_MM)
    notes += plane.notes + said
    found = FoundOutline(
        edge, edge_mm, softness, extra, 0.0 * moved, shadow, notes, bright, unless, bool(bright)
    )
    try:
        return found if pose is None else _on_the_rib(found, pose, rib_mm)
    except TraceError as error:
        raise PhotoRefused(f"{photo.path}: {error}", photo.light, (edge,)) from None


def _least_reflected(photo: Photo, flat, paper_light, inside) -> np.ndarray:
    """Light (rows, columns) in the colour that the face reflects least; all of it where the face is grey."""
    step = (slice(None, None, 4), slice(None, None, 4))
    face = inside[step] & (flat[step] < HALF_WAY)
    paper = inside[step] & (flat[step] > 1.0 - HALF_WAY / 2.0)
    colours = linear_light(photo.rgb[step]) / paper_light[step][..., None]
    share = np.median(colours[face], axis=0) / np.median(colours[paper], axis=0)
    whole = np.median((photo.light[step] / paper_light[step])[face])
    if photo.dark_sheet or whole < BLACK or share.min() > COLOURED * whole:
        return photo.light
    return linear_light(photo.rgb[..., share.argmin()])


def _shadow_words(moved_mm: np.ndarray) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """A note on the shadow beside the section, and the doubt that a measured thickness settles."""
    joined = moved_mm > JOINED_MM
    if joined.mean() < LEAST_SHARE:
        return (), ()
    wide = float(np.percentile(moved_mm[joined], 95))
    text = WORDS["shadow"].format(wide, joined.mean())
    return ((text,), ()) if wide < WIDE_SHADOW_MM else ((), (f"{text}: {WORDS['shadow_way_out']}",))


def _shadow_mm(edge_mm: np.ndarray, moved_mm: np.ndarray) -> np.ndarray:
    """How wide a shadow lies at each point (n,), seen or taken for the section: one lamp moves it one way."""
    outward, joined = polyline.outward(edge_mm, 3), moved_mm > JOINED_MM
    away = np.linalg.lstsq(outward[joined], moved_mm[joined], rcond=None)[0]
    return np.maximum(moved_mm, outward @ away)


def _spread(steps: Steps) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points along the edge, closer at nose and tail; how far they were moved, and the edge's width there."""
    loop = polyline.closed(steps.loop_px)
    length = polyline.arc_length(loop)
    along = loop @ _long_axis(loop)
    at = [np.linspace(0.0, length[-1], OUTLINE_POINTS + 1)[:-1]]
    for end in (length[along.argmin()], length[along.argmax()]):
        at.append((end + np.linspace(-1.0, 1.0, 2 * END_POINTS + 1) * END_SHARE * length[-1]) % length[-1])
    places = np.unique(np.concatenate(at).round(6))
    values = np.column_stack([steps.loop_px, steps.moved_mm, steps.width_mm])
    x, y, moved, width = (np.interp(places, length, value) for value in polyline.closed(values).T)
    return np.column_stack([x, y]), moved, width


def _side_seen(plane: Plane, pose: Pose, rib_mm: float):
    """From points of an outline [px] to how much of the rib's side is seen beyond them [mm]."""

    def seen(loop_px: np.ndarray) -> np.ndarray:
        loop = plane.to_mm(loop_px)
        return rib_mm * side_seen(loop, polyline.outward(loop, 3), pose)

    return seen


def _on_the_rib(found: FoundOutline, pose: Pose, rib_mm: float | None) -> FoundOutline:
    """The edge where it stands on a rib of some thickness, or what not knowing that leaves open."""
    loop = found.edge_mm
    outward = polyline.outward(loop, 3)
    shift = edge_shift_mm(loop, outward, pose)
    height = f"{pose.camera_mm[2] / 1000:.1f} m (within {2.0 * pose.height_error:.0%})"
    notes = (f"camera taken as {height} above the sheet, {pose.tilt_deg:.0f} deg off square",)
    across = np.abs((shift * outward).sum(axis=1))
    if rib_mm is not None:
        extra = np.hypot(found.extra_mm, pose.height_error * rib_mm * across)
        seen_mm = rib_mm * side_seen(loop, outward, pose)
        side_mm = float(np.percentile(seen_mm, 98))
        if side_mm > MOST_SIDE_MM:
            raise TraceError(WORDS["side_seen"].format(notes[0], side_mm))
        wide = side_mm > WIDE_SIDE_MM  # either rim
        return replace(
            found,
            edge_mm=loop - rib_mm * shift,
            extra_mm=np.hypot(extra, 0.5 * wide * seen_mm),
            open_mm=wide * seen_mm,
            notes=found.notes + notes,
            doubts=found.doubts + (WORDS["side_seen"].format(notes[0], side_mm),) * wide,
        )
    extra = np.hypot(found.extra_mm, UNKNOWN_RIB_MM * across)
    sides = np.abs(outward @ _long_axis(loop)) < 0.7
    worst = COMMON_RIB_MM * float(np.percentile(across[sides], 98))  # not at a tail's corner
    doubts: tuple[str, ...] = ()
    if worst > SMALL_SHIFT_MM:
        doubts = (WORDS["unknown_rib"].format(notes[0], COMMON_RIB_MM, worst),)
    open_mm = bool(doubts) * COMMON_RIB_MM * across
    return replace(
        found, extra_mm=extra, open_mm=open_mm, notes=found.notes + notes, doubts=found.doubts + doubts
    )


def _long_axis(points: np.ndarray) -> np.ndarray:
    return np.linalg.svd(points - points.mean(axis=0), full_matrices=False)[2][0]


def outline_readings(
    found: FoundOutline, error_mm: float, plane: Plane, pen_diameter_mm: float = 0.0
) -> Readings:
    """Readings from a found outline: the stated error, the marks' misfit and soft edges together."""
    extra, notes = soft_places(found)
    return Readings(
        "photo",
        found.edge_mm,
        np.sqrt(error_mm**2 + plane.residual_mm**2 + extra**2 + found.extra_mm**2),
        np.full(len(found.edge_mm), EITHER),
        offset_mm=pen_diameter_mm / 2.0,
        offset_error_mm=PEN_ERROR_MM / 2.0 if pen_diameter_mm else 0.0,
        shared_error_mm=float(np.hypot(0.3 * error_mm, np.median(found.extra_mm))),
        tail_blur_mm=float(np.clip(8.0 * np.median(found.softness_mm), 0.5, 3.0)),
        photo_px=found.edge_px,
        notes=found.notes + notes,
        doubts=found.doubts,
        unless_thickness=found.unless_thickness,
        open_mm=found.open_mm,
        shadow_mm=found.shadow_mm,
    )


def clicked_readings(points_px: np.ndarray, error_mm: float, plane: Plane) -> Readings:
    """Readings from points clicked along the outline in the photo, (n, 2) pixels."""
    return Readings(
        "photo",
        plane.to_mm(points_px),
        np.full(len(points_px), float(np.hypot(error_mm, plane.residual_mm))),
        np.full(len(points_px), EITHER),
        shared_error_mm=0.3 * error_mm,
        photo_px=np.asarray(points_px, dtype=float),
        notes=plane.notes,
    )
