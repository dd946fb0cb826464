"""From a photo to millimetres: perspective, marks, outline, and what must be refused."""

import numpy as np
import pytest
from trace_person import dense, photographed, printed, template

from wingtool.errors import TraceError
from wingtool.geometry import four_digit, polyline
from wingtool.report.trace.sheets import PAGES, write_sheet
from wingtool.study.trace.measure import TraceRequest, measure_section
from wingtool.tracing import (
    PhotoRefused,
    as_drawn,
    clicked_readings,
    find_outline,
    fit_outline,
    outline_readings,
    plane_from_marks,
    plane_from_sheet,
    read_photo,
    sheet,
)
from wingtool.tracing.photo.marks import find_rings
from wingtool.tracing.photo.paper import split_level
from wingtool.tracing.photo.plane import homography

A4 = sheet("A4")
SMALL = {"pixels": (1500, 1125), "scale": 6}


def camera(points_mm, lens=0.0, shape=(1800, 2400)):
    """Pixels of sheet points by a tilted pinhole and a radial lens, written apart from `Plane`."""
    a, b = np.radians([8.0, -5.0])
    turn = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
    turn = turn @ np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    world = np.column_stack([points_mm - [148, 105], np.zeros(len(points_mm))]) @ turn.T
    half = np.hypot(*shape) / 2
    straight = 10000.0 * world[:, :2] / (1500.0 - world[:, 2:]) / half
    bent = straight
    for _ in range(50):
        bent = straight / (1.0 + lens * (bent**2).sum(axis=1, keepdims=True))
    return bent * half * [1, -1] + [shape[1] / 2, shape[0] / 2]


def test_four_marks_take_the_tilt_out():
    # EXACT: a pinhole's picture of a plane is a homography.
    target = np.array([[20, 20], [280, 25], [270, 190], [15, 180.0]])
    plane = plane_from_marks(camera(target), target, (1800, 2400))
    points = np.random.default_rng(0).uniform(20, 190, (30, 2))
    assert plane.to_mm(camera(points)) == pytest.approx(points, abs=1e-6)
    assert plane.to_px(points) == pytest.approx(camera(points), abs=1e-6)
    assert plane.residual_mm == 0.0


def test_eight_marks_take_the_lens_out_too():
    # EXACT: the lens term is the one that made the picture; the prior holds it back a little.
    plane = plane_from_marks(camera(A4.marks_mm, 0.03), A4.marks_mm, (1800, 2400))
    points = np.random.default_rng(0).uniform(20, 190, (30, 2))
    assert plane.lens == pytest.approx(0.03, rel=0.02)
    assert plane.to_mm(camera(points, 0.03)) == pytest.approx(points, abs=0.02)


def test_a_ruler_gives_scale_and_says_that_the_tilt_stays():
    plane = plane_from_marks(
        np.array([[100, 500], [1100, 500.0]]), np.array([[0, 0], [200, 0.0]]), (800, 1200)
    )
    assert plane.to_mm(np.array([[600.0, 400.0]])) == pytest.approx(np.array([[100.0, 20.0]]))
    assert "tilt" in plane.notes[0]


@pytest.mark.parametrize(
    ("px", "complaint"),
    [
        ([[0, 0]], "1 marks"),
        ([[0, 0], [1, 0], [1, 1]], "3 marks"),
        ([[0, 0], [1, 0], [2, 0], [3, 0]], "one line"),
        ([[5, 5], [5, 5]], "same pixel"),
    ],
)
def test_marks_that_cannot_do_are_refused(px, complaint):
    mm = np.array([[0, 0], [100, 0], [100, 80], [0, 80.0]])[: len(px)]
    with pytest.raises(TraceError, match=complaint):
        plane_from_marks(np.array(px, dtype=float), mm, (100, 100))


def test_a_mark_in_the_wrong_row_is_named():
    px = camera(A4.marks_mm)
    px[2] += [60, 0]
    with pytest.raises(TraceError, match="mark 3 most"):
        plane_from_marks(px, A4.marks_mm, (1800, 2400))


def test_homography_needs_four():
    with pytest.raises(TraceError, match="four are needed"):
        homography(np.zeros((3, 2)), np.zeros((3, 2)))


def test_level_between_two_heaps():
    rng = np.random.default_rng(0)
    heaps = np.concatenate([rng.normal(0.1, 0.03, 4000), rng.normal(0.9, 0.05, 9000)])
    assert 0.3 < split_level(heaps) < 0.7


@pytest.mark.parametrize("paper", ["A4", "A3", "letter"])
def test_the_printed_sheet_carries_the_marks_where_the_program_looks(paper, tmp_path):
    # TWIN: the sheet drawn by the plotting library, looked at by the finder of rings.
    from PIL import Image

    figure = PAGES["photo"](paper, None)[0]
    figure.savefig(tmp_path / "sheet.png", dpi=100)
    light = np.asarray(Image.open(tmp_path / "sheet.png").convert("L"), dtype=float) / 255.0
    target = sheet(paper)
    centres, dotted, _ = find_rings(light)
    mm = np.column_stack([centres[:, 0] + 0.5, light.shape[0] - centres[:, 1] - 0.5]) * 25.4 / 100
    nearest = np.hypot(*(mm[:, None, :] - target.marks_mm).transpose(2, 0, 1))
    assert len(centres) == 8
    assert nearest.min(axis=1).max() < 0.15
    assert nearest[dotted].argmin() == 0
    assert plane_from_sheet(light, target).residual_mm < 0.1


@pytest.mark.parametrize("kind", ["photo", "trace", "stations"])
def test_every_sheet_is_written(kind, tmp_path):
    path = write_sheet(kind, tmp_path / "sheet.pdf", chord_mm=250.0)
    assert path.read_bytes().startswith(b"%PDF")
    with pytest.raises(TraceError, match="not known"):
        write_sheet(kind, tmp_path / "none.pdf", "napkin")


@pytest.fixture(scope="module")
def card():
    return template(dense(four_digit("4412")), np.random.default_rng(1), A4, error_mm=0.0)


def taken(tmp_path, shapes, **how):
    path = tmp_path / "wing.jpg"
    path.write_bytes(photographed(A4, printed(A4, shapes, 6), np.random.default_rng(5), **SMALL, **how))
    return read_photo(path)


def test_a_fair_photo_gives_the_outline_and_the_same_section_as_clicks(tmp_path, card):
    photo = taken(tmp_path, [(card, 25)])
    plane = plane_from_sheet(photo.light, A4)
    found = find_outline(photo, plane, A4)
    assert found.notes == ()
    readings = as_drawn(outline_readings(found, 0.2, plane), "left", False)
    fitted = fit_outline(readings)
    assert fitted.placed.chord_mm == pytest.approx(250.0, abs=2.0)  # a sharp tail is lost in the blur
    assert fitted.misfit < 1.0
    clicks = clicked_readings(found.edge_px[::6], 0.2, plane)
    assert np.allclose(clicks.points_mm, found.edge_mm[::6])


def box(x, y, width, height):
    return np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]], dtype=float)


def refused(photo, complaint):
    with pytest.raises(PhotoRefused, match=complaint) as left:
        find_outline(photo, plane_from_sheet(photo.light, A4), A4)
    assert left.value.light.shape == photo.light.shape
    return left.value


def test_a_second_wing_and_a_hand_are_refused_with_what_was_seen(tmp_path, card):
    two = taken(tmp_path, [(card, 25), (card * 0.5 + [80, 20], 25)])
    assert len(refused(two, "second dark shape").loops_px) >= 2
    refused(taken(tmp_path, [(card, 25), (box(200, -5, 30, 60), 90)]), "hand")
    refused(taken(tmp_path, [(card, 25), (box(150, -5, 25, 115), 60)]), "hand")


def test_low_contrast_is_refused(tmp_path, card):
    refused(taken(tmp_path, [(card, 200)]), "low contrast")


def test_a_face_as_bright_as_shaded_paper_is_doubted_on_a_standing_rib(tmp_path, card):
    """EXACT: grey 165 of 255 reflects half of what the sheet does; card lying flat has no shade beside it."""
    photo = taken(tmp_path, [(card, 165)])
    plane = plane_from_sheet(photo.light, A4)
    assert "blacken the face" in find_outline(photo, plane, A4).doubts[0]
    assert find_outline(photo, plane, A4, rib_mm=0.0).doubts == ()
    with pytest.raises(PhotoRefused, match="blacken the face"):
        measure_section(TraceRequest(photo=tmp_path / "wing.jpg", chord="250 mm"))


def test_a_face_as_grey_as_a_lamps_shadow_is_doubted_unless_calipers_checked_it(tmp_path, card):
    """EXACT: grey 145 of 255 reflects 29 % in linear light, of paper that reflects nearly all."""
    photo = taken(tmp_path, [(card, 145)])
    plane = plane_from_sheet(photo.light, A4)
    found = find_outline(photo, plane, A4)
    assert "lamp's shadow" in found.unless_thickness[-1]
    assert found.shadow_mm.min() >= 4.0
    assert find_outline(photo, plane, A4, rib_mm=0.0).unless_thickness == ()


def test_a_wide_shadow_is_left_out_of_the_outline_and_said(tmp_path, card):
    """EXACT: the card's outline is known; 8 mm of shadow lie beside it, of a third of the paper's light."""
    photo = taken(tmp_path, [(card, 25)], shadow=card + [5, -8], shadow_depth=0.7)
    found = find_outline(photo, plane_from_sheet(photo.light, A4), A4)
    away = np.hypot(*polyline.feet(polyline.closed(card), found.edge_mm)[2].T)
    assert np.percentile(away, 85) < 0.3  # the tail lies wholly in the shadow
    assert "--thickness" in found.unless_thickness[0]


def test_the_wrong_paper_is_noticed_by_the_size_of_the_rings(tmp_path, card):
    photo = taken(tmp_path, [(card, 25)])
    with pytest.raises(TraceError, match="--paper"):
        plane_from_sheet(photo.light, sheet("A3"))


def test_a_scan_without_any_perspective_works_as_well(tmp_path, card):
    from PIL import Image

    Image.fromarray((255 * printed(A4, [(card, 25)], 6)[::-1]).astype(np.uint8)).save(tmp_path / "scan.png")
    photo = read_photo(tmp_path / "scan.png")
    plane = plane_from_sheet(photo.light, A4)
    edge = find_outline(photo, plane, A4).edge_mm
    away = np.hypot(*(edge[:, None, :] - card).transpose(2, 0, 1)).min(axis=1)
    assert plane.residual_mm < 0.1  # drawn to whole pixels
    assert np.median(away) < 0.15


def test_a_hole_is_filled_and_told(tmp_path, card):
    turn = np.linspace(0.0, 2 * np.pi, 40)
    hole = card.mean(axis=0) + 5 * np.column_stack([np.cos(turn), np.sin(turn)]) - [30, 0]
    photo = taken(tmp_path, [(card, 25), (hole, 235)])
    found = find_outline(photo, plane_from_sheet(photo.light, A4), A4)
    assert "hole or glare" in found.notes[0]


def test_covered_marks_and_files_that_are_no_photo_are_refused(tmp_path, card):
    photo = taken(tmp_path, [(card, 25), (box(0, 180, 297, 30), 235)])
    with pytest.raises(TraceError, match="of the sheet's 8 rings"):
        plane_from_sheet(photo.light, A4)
    (tmp_path / "no.jpg").write_text("not a photo")
    with pytest.raises(TraceError, match="not a picture"):
        read_photo(tmp_path / "no.jpg")
    with pytest.raises(TraceError, match="no such file"):
        read_photo(tmp_path / "none.jpg")
