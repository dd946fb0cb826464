"""The printed sheet's marks: where they are, and finding them in a photo.

A mark is a black ring; the first, at the lower left, has a dot in its middle and says which way the sheet
lies.
"""

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import words_beside
from wingtool.tracing.photo.picture import PhotoRefused
from wingtool.tracing.photo.plane import Plane, homography, plane_from_marks, projected

WORDS = words_beside(__file__, "marks")
RING_MM, HOLE_MM, DOT_MM = 10.0, 5.0, 2.2
INSET_MM = 14.0
PAPER_MM = {"A4": (297.0, 210.0), "A3": (420.0, 297.0), "letter": (279.4, 215.9), "tabloid": (431.8, 279.4)}
PAPERS = tuple(PAPER_MM)
FEWEST_FOUND, MOST_FOUND = 5, 11
SMALL_RING = 0.35  # of the usual ring's area: smaller ones are print
BLURRED = 0.005  # of the picture's long side
WAY_OUT = "clear the marks, light the sheet evenly, or click them (--click)"
RING_TOLERANCE = 0.15  # the next paper differs by 0.3 or more; blur and ink spread by less than 0.1


@dataclass(frozen=True, eq=False)
class Sheet:
    """A printed sheet, landscape, origin at its lower left corner.

    `marks_mm` (8, 2) run counter-clockwise from the dotted one; `ring_mm` is a ring's diameter.
    """

    paper: str
    width_mm: float
    height_mm: float
    marks_mm: np.ndarray
    ring_mm: float = RING_MM


def sheet(paper: str, scale: float = 1.0) -> Sheet:
    """The photo sheet for a paper size, printed at some scale: its measured 100 mm line over 100 mm.

    Raises
    ------
    TraceError
        Unknown paper.
    """
    if paper not in PAPER_MM:
        raise TraceError(f"paper {paper!r} is not known; choose one of {', '.join(PAPER_MM)}")
    width, height = PAPER_MM[paper]
    third = INSET_MM + (width - 2 * INSET_MM) * np.array([0.0, 0.36, 0.64, 1.0])
    low = np.column_stack([third, np.full(4, INSET_MM)])
    high = np.column_stack([third[::-1], np.full(4, height - INSET_MM)])
    return Sheet(paper, scale * width, scale * height, scale * np.vstack([low, high]), scale * RING_MM)


def find_rings(light: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Centres [px] (k, 2) of ring marks in a picture of linear light, which hold a dot, their area [px^2]."""
    from scipy import ndimage

    light = gaussian(light)
    window = max(min(light.shape) // 10, 15)
    local = ndimage.uniform_filter(light, window)
    dark = light < 0.55 * local
    labels, _ = ndimage.label(dark)
    largest = max(light.shape) // 10
    rings = []
    for number, place in enumerate(ndimage.find_objects(labels), start=1):
        tall, wide = place[0].stop - place[0].start, place[1].stop - place[1].start
        if min(tall, wide) < 10 or max(tall, wide) > largest or max(tall, wide) > 3 * min(tall, wide):
            continue
        ring = labels[place] == number
        found = _ring(ring, dark[place], light[place], ndimage.binary_fill_holes(ring))
        if found is not None:
            x, y, dot, area = found
            rings.append((x + place[1].start, y + place[0].start, dot, area))
    table = np.array(rings, dtype=float).reshape(-1, 4)
    return table[:, :2], table[:, 2] > 0.0, table[:, 3]


def _ring(ring, dark, light, filled):
    """Centre x and y, whether it is dotted, area: of an ellipse with one round hole; else None."""
    area, hole = filled.sum(), filled & ~ring
    share = hole.sum() / area
    if not 0.12 < share < 0.42:
        return None
    rows, columns = np.nonzero(filled)
    spread = np.cov(np.vstack([columns, rows]))
    if not 0.92 < area / (4.0 * np.pi * np.sqrt(max(np.linalg.det(spread), 1e-9))) < 1.08:
        return None
    inside_rows, inside_columns = np.nonzero(hole)
    away = np.hypot(inside_columns.mean() - columns.mean(), inside_rows.mean() - rows.mean())
    if away > 0.12 * np.sqrt(area):
        return None
    weight = np.clip(light[hole].max() - light, 0.0, None) * filled
    centre = (weight.sum(axis=0) @ np.arange(weight.shape[1])) / weight.sum()
    middle = (weight.sum(axis=1) @ np.arange(weight.shape[0])) / weight.sum()
    dot = bool((dark & hole).sum() > 0.04 * area * (HOLE_MM / RING_MM) ** 2)
    return centre, middle, dot, float(area)


def _around(points: np.ndarray, first: int) -> np.ndarray:
    """Indices counter-clockwise about the centre, beginning with `first`."""
    away = points - points.mean(axis=0)
    order = np.argsort(np.arctan2(away[:, 1], away[:, 0]))
    return np.roll(order, -int(np.flatnonzero(order == first)[0]))


def plane_from_sheet(light: np.ndarray, paper: Sheet) -> Plane:
    """Find the sheet's marks in a picture of linear light and solve for the map.

    Raises
    ------
    PhotoRefused
        Fewer than five marks found, the dotted one not among them, or no placing fits: with what was seen.
    """
    centres, dotted, areas = find_rings(light)
    if len(areas):
        usual = np.sort(areas)[-len(paper.marks_mm) :].mean()
        large = areas > SMALL_RING * usual  # not the zeros of "100 mm"
        centres, dotted, areas = centres[large], dotted[large], areas[large]
    try:
        return _plane(light, paper, centres, dotted, areas)
    except TraceError as error:
        raise PhotoRefused(str(error), light, (), centres) from None


def _too_few(light: np.ndarray, found: int, dots: int, wanted: int) -> str:
    """Why the rings cannot place the sheet: blur, the dotted one, or too few of them."""
    sample = gaussian(light)
    steepest = np.percentile(np.hypot(*np.gradient(sample)), 99.95)
    blur = float(np.ptp(np.percentile(sample, [5, 95])) / max(steepest, 1e-6))
    text = f"found {found} of the sheet's {wanted} rings"
    if found < FEWEST_FOUND and blur > BLURRED * max(light.shape):
        return f"{text}; edges are {blur:.0f} pixels wide: out of focus, shaken? tap on the sheet"
    if found >= FEWEST_FOUND and dots == 0:
        return f"{text}, not the dotted one at the lower left: is it covered or cut off? {WAY_OUT}"
    if dots > 1:
        return f"found {dots} dotted rings, the sheet has one: leave one sheet in the picture"
    return f"{text}, {FEWEST_FOUND} with the dotted one are needed: covered, or cut off? {WAY_OUT}"


def gaussian(light: np.ndarray) -> np.ndarray:
    """Without the grain that no mark is as small as."""
    from scipy import ndimage

    return ndimage.gaussian_filter(light, max(light.shape) / 2400.0)


def _plane(light, paper: Sheet, centres, dotted, areas) -> Plane:
    if len(centres) < FEWEST_FOUND or dotted.sum() != 1:
        raise TraceError(_too_few(light, len(centres), int(dotted.sum()), len(paper.marks_mm)))
    if len(centres) > MOST_FOUND:
        raise TraceError(f"found {len(centres)} rings, the sheet has 8: take others away, or {WAY_OUT}")
    upright = centres * np.array([1.0, -1.0])
    dot = int(np.flatnonzero(dotted)[0])
    others = [k for k in range(len(centres)) if k != dot]
    trials = []  # grain and knots pass for rings
    for kept in combinations(others, min(len(others), len(paper.marks_mm) - 1)):
        some = np.array([dot, *kept])
        order = some[_around(upright[some], 0)]
        trials.append((*_best_placing(upright[order], paper.marks_mm), order))
    best, rival, order = min(trials, key=lambda trial: trial[0][0])
    if best[0] > 2.0 or best[0] > 0.5 * rival:
        raise TraceError(WORDS["not_as_printed"].format(len(centres), paper.paper, WAY_OUT))
    plane = plane_from_marks(centres[order], paper.marks_mm[list(best[1])], light.shape)
    seen_mm = float(np.median(_diameters_mm(plane, centres[order], areas[order])))
    if abs(seen_mm / paper.ring_mm - 1.0) > RING_TOLERANCE:
        raise TraceError(WORDS["other_paper"].format(seen_mm, paper.paper, paper.ring_mm))
    return plane


def _diameters_mm(plane: Plane, centres: np.ndarray, areas: np.ndarray) -> np.ndarray:
    """Diameters [mm] of circles as large as the rings, by the map's area scale at their centres."""
    origin, right, down = (plane.to_mm(centres + step) for step in ([0, 0], [1, 0], [0, 1]))
    (a, b), (c, d) = (right - origin).T, (down - origin).T
    return np.sqrt(4.0 / np.pi * areas * np.abs(a * d - b * c))


def _best_placing(found: np.ndarray, places: np.ndarray):
    """Best choice of places for the found marks, and the misfit [mm] of the next best."""
    trials = []
    for others in combinations(range(1, len(places)), len(found) - 1):
        choice = (0, *others)
        try:
            matrix = homography(found, places[list(choice)])
        except TraceError:
            continue
        away = projected(matrix, found) - places[list(choice)]
        trials.append((float(np.sqrt((away**2).mean())), choice))
    trials.sort()
    if not trials:
        return (np.inf, ()), np.inf
    return trials[0], trials[1][0] if len(trials) > 1 else np.inf
