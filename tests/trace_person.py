"""A simulated person with a wing, three ways of measuring, and the usual mistakes.

Nothing here is taken from the fit: errors are drawn as a person makes them (a wobble along the outline, each
reading's own slip, rounding, a tilted table, a pen that is not what it says, a lens that bends, a shadow),
with a total standard deviation near the stated error.
"""

import io
from dataclasses import replace

import numpy as np
from PIL import Image, ImageDraw
from scipy import ndimage
from scipy.interpolate import CubicSpline

from wingtool.geometry import Section
from wingtool.tracing import HOLE_MM, RING_MM, Sheet, points_readings, station_readings


def dense(section: Section, points: int = 4001) -> np.ndarray:
    """The true outline, finely, nose at the origin by the point farthest from the middle of the tail."""
    xy = section.xy
    s = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))])
    keep = np.concatenate([[True], np.diff(s) > 1e-9])
    loop = CubicSpline(s[keep], xy[keep])(np.linspace(0.0, s[-1], points))
    tail = 0.5 * (loop[0] + loop[-1])
    nose = loop[np.hypot(*(loop - tail).T).argmax()]
    along = tail - nose
    length = np.hypot(*along)
    turn = np.array([[along[0], along[1]], [-along[1], along[0]]]) / length**2
    return (loop - nose) @ turn.T


def sides(loop: np.ndarray, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    nose = loop[:, 0].argmin()
    upper, lower = loop[: nose + 1][::-1], loop[nose:]
    return np.interp(x, *upper.T), np.interp(x, *lower.T)


def wobble(rng, count: int, size: float) -> np.ndarray:
    """A smooth wandering of standard deviation `size` along a closed line: a hand, a saw, a jig."""
    waves = np.arange(1, 25)
    spectrum = rng.normal(size=(2, len(waves))) / np.sqrt(1.0 + (waves / 8.0) ** 2)
    at = 2.0 * np.pi * np.arange(count) / count
    path = spectrum[0] @ np.cos(np.outer(waves, at)) + spectrum[1] @ np.sin(np.outer(waves, at))
    return size * path / np.sqrt((1.0 / (1.0 + (waves / 8.0) ** 2)).sum())


def outward(loop: np.ndarray) -> np.ndarray:
    step = np.gradient(loop, axis=0)
    return np.column_stack([step[:, 1], -step[:, 0]]) / np.maximum(np.hypot(*step.T), 1e-12)[:, None]


def rotation(angle: float) -> np.ndarray:
    return np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])


def nose_radius(loop: np.ndarray, reach: float = 0.004) -> float:
    """Radius of the circle through the nose's first 0.4 % chord: what a drill shank shows."""
    near = loop[loop[:, 0] < max(reach, np.sort(loop[:, 0])[12])]
    a = np.column_stack([2.0 * near, np.ones(len(near))])
    x, y, c = np.linalg.lstsq(a, (near**2).sum(axis=1), rcond=None)[0]
    return float(np.sqrt(c + x * x + y * y))


def closed(loop: np.ndarray, chord_mm: float, spacing_mm: float = 0.2) -> np.ndarray:
    """The outline in mm with its blunt tail closed."""
    gap = np.hypot(*(loop[0] - loop[-1])) * chord_mm
    base = np.linspace(loop[-1], loop[0], max(int(gap / spacing_mm), 1) + 1)[1:-1]
    return np.vstack([loop, base]) * chord_mm


def pen_trace(loop, rng, error_mm=0.3, chord_mm=250.0, pen_mm=7.8):
    """Points every few millimetres, closer at the nose, beside the wing by half a pen that is 0.1 mm off."""
    outline = closed(loop, chord_mm)
    offset = 0.5 * (pen_mm + rng.normal(0.0, 0.1)) + wobble(rng, len(outline), 0.7 * error_mm)
    line = outline + outward(outline) * offset[:, None]
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    nose = arc[outline[:, 0].argmin()]
    at = np.concatenate([np.arange(0.0, arc[-1], 6.0), nose + np.arange(-10.0, 10.0, 1.5)])
    at = np.clip(at + rng.normal(0.0, 0.5, len(at)), 0.0, arc[-1])
    points = np.column_stack([np.interp(at, arc, line[:, k]) for k in (0, 1)])
    points = points + rng.normal(0.0, 0.5 * error_mm, points.shape)
    points = points @ rotation(np.radians(rng.normal(0.0, 4.0))).T + rng.normal(0.0, 30.0, 2)
    rng.shuffle(points)
    return with_calipers(points_readings(np.round(points, 1), error_mm, pen_mm), loop, rng, chord_mm)


def with_calipers(readings, loop, rng, chord_mm):
    """Chord by ruler and tail edge by calipers beside a trace or photo, as the sheets ask."""
    gap = float(np.hypot(*(loop[0] - loop[-1]))) * chord_mm
    return replace(
        readings,
        chord_mm=(round(chord_mm + rng.normal(0.0, 0.5)), 0.5),
        tail_mm=(max(round(gap + rng.normal(0.0, 0.1), 1), 0.0), 0.1),
    )


def caliper_readings(loop, rng, error_mm=0.3, chord_mm=250.0):
    """Heights at stations by eye on a table that the wing does not lie level on."""
    per_cent = np.array([0.5, 1, 2, 3.5, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 85, 90, 95, 98, 100])
    angle = np.radians(rng.normal(0.0, 2.0))
    on_table = (loop * chord_mm) @ rotation(angle).T
    nose_x = on_table[:, 0].min()
    wanted = per_cent * chord_mm / 100.0
    station = nose_x + wanted + rng.normal(0.0, 0.3, len(wanted))
    upper, lower = sides(on_table, station)
    upper[-1], lower[-1] = on_table[0, 1], on_table[-1, 1]  # the corners of the tail edge, wherever they are
    height = 30.0 + rng.normal(0.0, 0.1)
    drift = np.linspace(0.0, rng.normal(0.0, 0.3 * error_mm), len(wanted))
    readings = [
        np.round(
            side
            + height
            + drift
            + rng.normal(0.0, 0.3 * error_mm)
            + rng.normal(0.0, 0.85 * error_mm, len(wanted)),
            1,
        )
        for side in (upper, lower)
    ]
    readings[1] = np.minimum(readings[1], readings[0])
    gap = float(np.hypot(*(loop[0] - loop[-1]))) * chord_mm
    return replace(
        station_readings(wanted, *readings, error_mm),
        chord_mm=(round(chord_mm + rng.normal(0.0, 0.5)), 0.5),
        tail_mm=(max(round(gap + rng.normal(0.0, 0.1), 1), 0.0), 0.1),
        nose_radius_mm=(round(2.0 * nose_radius(loop) * chord_mm + rng.normal(0.0, 0.4)) / 2.0, 0.4),
    )


def printed(paper: Sheet, shapes_mm, scale: int = 10) -> np.ndarray:
    """The sheet with its rings and dark shapes on it, `scale` pixels per millimetre, 0 to 1, y upwards."""
    size = (round(paper.width_mm * scale), round(paper.height_mm * scale))
    picture = Image.new("L", size, 235)
    draw = ImageDraw.Draw(picture)

    def disc(centre, diameter, level):
        corners = [(centre - diameter / 2) * scale, (centre + diameter / 2) * scale]
        draw.ellipse([tuple(corners[0]), tuple(corners[1])], fill=level)

    for number, centre in enumerate(paper.marks_mm):
        disc(centre, RING_MM, 20)
        disc(centre, HOLE_MM, 235)
        if number == 0:
            disc(centre, 2.2, 20)
    for shape, level in shapes_mm:
        draw.polygon([tuple(point) for point in shape * scale], fill=level)
    return np.asarray(picture, dtype=np.float32) / 255.0


def photographed(
    paper: Sheet,
    picture: np.ndarray,
    rng,
    tilt_deg: float = 6.0,
    lens: float = 0.02,
    shadow: np.ndarray | None = None,
    shadow_depth: float = 0.25,
    pixels=(2400, 1800),
    scale: int = 10,
    grain: float = 0.02,
    blur_px: float = 1.0,
) -> bytes:
    """A JPEG of the sheet from a hand-held camera: perspective, lens, uneven light, shadow, blur, grain."""
    columns, rows = pixels
    away = 1500.0
    tilt = np.radians(rng.uniform(-tilt_deg, tilt_deg, 2))
    spin = np.radians(rng.uniform(-4.0, 4.0))
    cx, sx, cy, sy, cz, sz = (f(a) for a in (*tilt, spin) for f in (np.cos, np.sin))
    turn = (
        np.array([[cz, -sz, 0], [sz, cz, 0], [0, 0, 1]])
        @ np.array([[1, 0, 0], [0, cx, -sx], [0, sx, cx]])
        @ np.array([[cy, 0, sy], [0, 1, 0], [-sy, 0, cy]])
    )
    focal = 0.88 * min(columns / paper.width_mm, rows / paper.height_mm) * away
    v, u = np.mgrid[0:rows, 0:columns].astype(np.float32)
    half = 0.5 * np.hypot(columns, rows)
    x, y = (u - columns / 2) / half, (rows / 2 - v) / half
    bend = 1.0 + lens * (x * x + y * y)
    ray = np.stack([x * bend * half / focal, y * bend * half / focal, -np.ones_like(x)])
    world = np.tensordot(turn, ray, axes=1)
    eye = turn @ np.array([0.0, 0.0, away])
    reach = -eye[2] / world[2]
    mm_x = eye[0] + reach * world[0] + paper.width_mm / 2
    mm_y = eye[1] + reach * world[1] + paper.height_mm / 2
    light = (picture / 1.0) ** 2.2
    if shadow is not None:
        shade = Image.new("L", (picture.shape[1], picture.shape[0]), 0)
        ImageDraw.Draw(shade).polygon([tuple(point) for point in shadow * scale], fill=255)
        soft = ndimage.gaussian_filter(np.asarray(shade, dtype=np.float32) / 255.0, 2.0 * scale)
        light = light * (1.0 - shadow_depth * soft)
    seen = ndimage.map_coordinates(light, [mm_y * scale, mm_x * scale], order=1, cval=0.25)
    across, along = rng.uniform(-0.2, 0.2, 2)
    seen = seen * (0.75 + across * (u / columns - 0.5) + along * (v / rows - 0.5))
    seen = ndimage.gaussian_filter(seen, blur_px)
    level = 255.0 * np.clip(seen, 0.0, 1.0) ** (1 / 2.2) + rng.normal(0.0, 255.0 * grain, seen.shape)
    file = io.BytesIO()
    Image.fromarray(np.clip(level, 0, 255).astype(np.uint8)).save(file, "JPEG", quality=88)
    return file.getvalue()


def template(loop, rng, paper: Sheet, error_mm=0.3, chord_mm=250.0) -> np.ndarray:
    """A cut card template laid on the sheet by eye [mm]: the cut wanders, the card is not quite flat."""
    outline = closed(loop, chord_mm)
    cut = wobble(rng, len(outline), 0.8 * error_mm)
    outline = outline + outward(outline) * cut[:, None]
    outline = outline * (1.0 + abs(rng.normal(0.0, 2.0)) / 1500.0)
    turned = outline @ rotation(np.radians(rng.normal(0.0, 2.0))).T
    centre = 0.5 * (turned.min(axis=0) + turned.max(axis=0))
    return turned - centre + np.array([paper.width_mm, paper.height_mm]) / 2 + rng.normal(0.0, 3.0, 2)
