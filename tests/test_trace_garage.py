"""What goes wrong with a photo in a garage: shadows, tilt, thick ribs, thin tails."""

import numpy as np
import pytest
from test_trace_photo import camera
from trace_person import dense

from wingtool.geometry import four_digit, polyline
from wingtool.tracing import (
    Photo,
    Plane,
    Readings,
    find_outline,
    fit_outline,
    plane_from_marks,
    pose_of,
    sheet,
    traced,
)
from wingtool.tracing.photo.outline import _shadow_mm
from wingtool.tracing.photo.paper import closed_loops
from wingtool.tracing.photo.pose import Pose, edge_shift_mm
from wingtool.tracing.photo.step import _step, find_steps

SCALE = 8  # pixels a millimetre
BROWN, GREY = (0.16, 0.13, 0.10), (0.14, 0.14, 0.15)


def painted(shift_mm: float, face=BROWN):
    """A section on white paper with its shadow, grey as the paper, beside it; and its true outline."""
    from PIL import Image, ImageDraw

    loop = (dense(four_digit("4415"), 801) * [120.0, 120.0] + [15.0, 20.0]) * SCALE
    picture = np.ones((int(45 * SCALE), int(150 * SCALE), 3))
    for move, colour in ((shift_mm * SCALE, GREY), (0.0, face)):
        mask = Image.new("1", picture.shape[1::-1])
        ImageDraw.Draw(mask).polygon([(x, y + move) for x, y in loop], fill=1)
        picture[np.asarray(mask)] = colour
    return picture, loop


def seen(light: np.ndarray):
    """The outline found in a painted picture of linear light, one colour or three."""
    high, wide = light.shape[:2]
    corners = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], dtype=float)
    plane = plane_from_marks(corners, corners / SCALE, (high, wide))
    rgb = np.uint8(255.0 * (light if light.ndim == 3 else np.repeat(light[..., None], 3, 2)) ** (1 / 2.2))
    grey = (rgb @ [0.3, 0.59, 0.11] / 255.0) ** 2.2
    return find_outline(Photo(grey.astype(np.float32), rgb, 1.0, "painted"), plane)


def test_a_shadow_is_told_from_the_section_by_its_colour():
    # EXACT: the outline is known; a shadow 3 mm wide lies on one side, as bright as the section.
    from scipy import ndimage

    colour, loop = painted(3.0, (0.3, 0.08, 0.04))
    found = seen(ndimage.gaussian_filter(colour, (1.5, 1.5, 0)))
    away = np.hypot(*polyline.feet(polyline.closed(loop), found.edge_px)[2].T) / SCALE
    assert np.percentile(away, 95) < 0.2
    assert "shadow" in found.unless_thickness[0]


def test_the_dark_foot_of_a_thick_rib_is_not_taken_for_section():
    """EXACT: beside a wall 6 mm high the paper sees (1 + d / (d^2 + h^2)^(1/2)) / 2 of an overcast sky."""
    from scipy import ndimage

    colour, loop = painted(0.0)
    away = ndimage.distance_transform_edt(colour.mean(axis=2) > 0.5) / SCALE
    light = np.where(away > 0.0, 0.5 * (1.0 + away / np.hypot(away, 6.0)), 0.15)
    flat = ndimage.gaussian_filter((light - 0.15) / 0.85, 1.5)
    half_way = closed_loops(flat, 0.5, 100.0)[0]
    found = find_steps(flat, half_way, SCALE)

    def apart(points):
        return np.hypot(*polyline.feet(polyline.closed(loop), points)[2].T) / SCALE

    assert np.median(apart(half_way[::20])) > 0.5
    assert np.percentile(apart(found.loop_px), 95) < 0.2  # a pixel is 0.125 mm
    assert np.median(apart(found.loop_px)) < 0.16


def test_the_edge_is_found_round_both_ends_of_a_section_in_its_shadow():
    """EXACT: the outline is known; a lamp's shadow, grey as the face, lies along one side and both ends."""
    from scipy import ndimage

    colour, loop = painted(0.0)
    face = colour.mean(axis=2) < 0.5
    shade = ndimage.gaussian_filter(np.roll(face, 3 * SCALE, axis=0).astype(float), 0.6 * SCALE)
    light = ndimage.gaussian_filter(np.where(face, 0.1, 1.0 - 0.75 * shade), 1.5)
    edge = seen(light).edge_px
    away = np.hypot(*polyline.feet(polyline.closed(loop), edge)[2].T) / SCALE
    ends = np.abs(edge[:, 0] - loop[:, 0].mean()) > 57.0 * SCALE
    assert np.percentile(away, 95) < 0.2
    assert away[ends].max() < 0.3


def test_a_profile_that_only_darkens_has_no_step():
    slope = -np.array([3.0, 2.0, 1.0, 2.0, 3.0, 2.5, 3.0, 3.5])
    assert np.isnan(_step(slope, 2.0, 4.0)).all()


def test_the_camera_is_found_where_it_stood():
    # EXACT: the pinhole of `camera` stands 1500 mm away, tilted by 8 and 5 degrees.
    a4 = sheet("A4")
    plane = plane_from_marks(camera(a4.marks_mm), a4.marks_mm, (1800, 2400))
    pose = pose_of(plane, distance_mm=1500.0)
    tilt = np.degrees(np.arccos(np.cos(np.radians(8.0)) * np.cos(np.radians(5.0))))
    assert pose.tilt_deg == pytest.approx(tilt, abs=0.5)
    assert pose.camera_mm[2] == pytest.approx(1500.0 * np.cos(np.radians(tilt)), rel=0.01)


def test_the_upper_edge_of_a_rib_is_seen_away_from_the_camera():
    # EXACT: similar triangles: 5 mm at 1000 mm move a point 100 mm away by 0.5 mm; the near edge stands.
    pose = Pose(np.array([0.0, 0.0, 1005.0]), 0.0, 0.05)
    points, outward = np.array([[100.0, 0.0], [100.0, 0.0]]), np.array([[1.0, 0.0], [-1.0, 0.0]])
    shift = 5.0 * edge_shift_mm(points * 1005.0 / 1000.0, outward, pose)
    assert shift == pytest.approx(np.array([[0.5, 0.0], [0.0, 0.0]]))


def test_a_lens_that_bends_outwards_is_straightened():
    """EXACT: Brown's r (1 + k r^2): of k = 0.1, half a half diagonal out is 0.5 (1 + 0.1 / 4)."""
    plane = Plane(np.eye(3), np.array([300.0, 400.0]), 500.0, 0.1, 0.0, np.empty((0, 2)), np.empty((0, 2)))
    px = np.array([[300.0 + 250.0, 400.0], [300.0, 400.0 - 500.0]])
    assert plane.to_mm(px) == pytest.approx(np.array([[0.5125, 0.0], [0.0, 1.1]]))
    assert plane.to_px(plane.to_mm(px)) == pytest.approx(px, abs=0.1)


@pytest.mark.parametrize(("bead_mm", "doubted"), [(0.0, False), (2.5, True)])
def test_a_bead_at_the_tail_is_doubted(bead_mm, doubted):
    """EXACT: an edge found without error; 8 mm of a bead at the tail are no part of the smooth form."""
    edge = polyline.resampled(polyline.closed(dense(four_digit("6406"), 801) * 160.0), 261)[:-1]
    x, y = edge.T
    bead = bead_mm * np.sqrt(np.maximum(1.0 - ((x - 156.0) / 4.2) ** 2, 0.0))
    edge = np.column_stack([x, y + np.sign(y - 0.2 * (160.0 - x)) * bead])
    none = np.zeros(len(edge), dtype=int)
    readings = Readings("photo", edge, none + 0.2, none, tail_blur_mm=2.2, chord_mm=(160.0, 0.5))
    assert any("section's tail" in doubt for doubt in fit_outline(readings).doubts) == doubted


@pytest.mark.parametrize(("off_mm", "wider"), [(0.0, False), (1.5, True)])
def test_calipers_that_contradict_the_edge_widen_the_band_by_as_much(off_mm, wider):
    """EXACT: a section found without error, 18 mm thick; calipers say less."""
    edge = polyline.resampled(polyline.closed(dense(four_digit("0010"), 801) * 180.0), 261)[:-1]
    none = np.zeros(len(edge), dtype=int)
    readings = Readings(
        "photo", edge, none + 0.2, none, chord_mm=(180.0, 0.5), thickness_mm=(18.0 - off_mm, 0.2)
    )
    fitted = fit_outline(readings)
    band_mm = np.median(traced(fitted, "card", 0.2).band_mm)
    assert bool(fitted.doubts) == wider
    assert (1.5 < band_mm < 2.0) if wider else band_mm < 0.5


def test_a_shadow_is_as_wide_as_one_lamp_casts_it():
    """EXACT: a lamp moves the shadow 3 mm one way; of a square, one side has all of it, two have none."""
    square = polyline.resampled(np.array([[0, 0], [40, 0], [40, 40], [0, 40], [0, 0.0]]), 161)[:-1]
    lower = (square[:, 1] == 0.0) & (np.abs(square[:, 0] - 20.0) < 18.0)
    half_seen = np.where(lower & (square[:, 0] < 20.0), 3.0, 0.0)
    assert _shadow_mm(square, half_seen)[lower] == pytest.approx(3.0)
    assert _shadow_mm(square, half_seen)[square[:, 1] == 20.0] == pytest.approx(0.0)


@pytest.mark.parametrize(("longer_mm", "doubted"), [(0.4, False), (2.0, True)])
def test_an_edge_longer_than_the_measured_chord_is_doubted(longer_mm, doubted):
    """EXACT: a section found without error, of a chord that the ruler does not confirm."""
    chord = 180.0 + longer_mm
    edge = polyline.resampled(polyline.closed(dense(four_digit("4412"), 801) * chord), 261)[:-1]
    none = np.zeros(len(edge), dtype=int)
    readings = Readings("photo", edge, none + 0.2, none, tail_blur_mm=2.0, chord_mm=(180.0, 0.5))
    assert any("chord was given" in doubt for doubt in fit_outline(readings).doubts) == doubted
