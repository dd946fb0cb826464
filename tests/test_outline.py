"""Outlines at full size: offsets against exact shapes, files read back by readers that are not ours."""

import re
import zlib
from xml.etree import ElementTree as ET

import ezdxf
import numpy as np
import pytest

from wingtool.errors import OutputError, RangeError
from wingtool.geometry import Section, four_digit
from wingtool.report.inspect.drawing_files import A4_MM, EDGE_MM, tiles, write_outline
from wingtool.report.inspect.outline import cutting_outline, offset_loop

TURN = np.linspace(0.0, 2 * np.pi, 361)
CIRCLE = 50.0 * np.column_stack([np.cos(TURN), np.sin(TURN)])
SQUARE = np.array([[100.0, 0.0], [100.0, 100.0], [0.0, 100.0], [0.0, 0.0]])


def area(loop):
    x, y = loop.T
    return 0.5 * float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))


@pytest.mark.parametrize("offset", [-5.0, 5.0])
def test_a_circle_stays_a_circle(offset):
    """EXACT: the radius changes by the offset; chord error of 1 degree facets."""
    radius = np.hypot(*offset_loop(CIRCLE, offset).T)
    np.testing.assert_allclose(radius, 50.0 + offset, atol=0.02)


def test_a_square_shrinks_to_a_square_and_grows_round_corners():
    """EXACT: 90 by 90 inside; outside the area is 100^2 + 4 * 100 * 5 + pi 5^2."""
    assert area(offset_loop(SQUARE, -5.0)) == pytest.approx(90.0**2, rel=2e-3)
    assert area(offset_loop(SQUARE, 5.0)) == pytest.approx(12000 + np.pi * 25, rel=5e-4)


def test_a_thin_tail_is_cut_back_without_a_fold():
    """EXACT: no point of the core is nearer to the skin's outside than the skin is thick."""
    outline = cutting_outline(four_digit("0012"), 0.25, skin_mm=1.5)
    core, skin = outline.xy_mm, outline.section_mm
    dense = np.vstack([np.linspace(a, b, 20) for a, b in zip(skin, np.roll(skin, -1, axis=0), strict=True)])
    gap = np.sqrt(((core[:, None] - dense) ** 2).sum(axis=2).min(axis=1))
    assert gap.min() > 1.49
    assert core[:, 0].max() == pytest.approx(241.0, abs=0.5)  # where half of the thickness is 1.5 mm
    assert 0 < area(core) < area(skin)
    assert np.hypot(*np.diff(np.vstack([core, core[:1]]), axis=0).T).max() < 1.5


def test_skin_and_wire_add_up():
    plain = cutting_outline(four_digit("4412"), 0.25)
    both = cutting_outline(four_digit("4412"), 0.25, skin_mm=1.0, wire_mm=2.0)
    np.testing.assert_array_equal(both.xy_mm, plain.xy_mm)
    assert "skin 1 mm" in both.label
    assert "2 mm of melt" in both.label


def test_impossible_sizes_are_refused():
    section = four_digit("0006")
    for how, complaint in (
        ({"chord_m": 250.0}, "chord 250 m"),
        ({"chord_m": 0.25, "skin_mm": -1.0}, "skin -1 mm"),
        ({"chord_m": 0.25, "skin_mm": 12.0}, "leaves nothing"),
        ({"chord_m": 0.25, "wire_mm": float("nan")}, "wire nan mm"),
    ):
        with pytest.raises(RangeError, match=complaint):
            cutting_outline(section, **how)


@pytest.fixture
def outline():
    return cutting_outline(four_digit("4412"), 0.30, skin_mm=0.8)


def test_dxf_comes_back_exactly(outline, tmp_path):
    """EXACT: read by ezdxf: millimetres, one closed line, every vertex to the last digit."""
    document = ezdxf.readfile(write_outline(outline, tmp_path / "rib.dxf"))
    assert document.header["$INSUNITS"] == 4
    (line,) = document.modelspace().query('LWPOLYLINE[layer=="CUT"]')
    assert line.closed
    np.testing.assert_array_equal(np.array(line.get_points("xy")), outline.xy_mm)
    (scale,) = document.modelspace().query('LINE[layer=="SCALE"]')
    assert scale.dxf.start.distance(scale.dxf.end) == pytest.approx(100.0, abs=1e-12)


def test_svg_comes_back_to_a_tenth_of_a_micrometre(outline, tmp_path):
    """EXACT: read by xml.etree; one user unit is one millimetre."""
    root = ET.parse(write_outline(outline, tmp_path / "rib.svg")).getroot()
    width, height = (float(root.get(k).removesuffix("mm")) for k in ("width", "height"))
    assert [float(v) for v in root.get("viewBox").split()] == [0.0, 0.0, width, height]
    (polygon,) = root.iter("{http://www.w3.org/2000/svg}polygon")
    points = np.array([[float(v) for v in pair.split(",")] for pair in polygon.get("points").split()])
    points[:, 1] *= -1
    shift = points[0] - outline.xy_mm[0]
    np.testing.assert_allclose(points - shift, outline.xy_mm, atol=1.1e-4)


def pages_of(path):
    """Coordinates in millimetres of every move and line of each page's content."""
    raw = path.read_bytes()
    found = []
    for match in re.finditer(rb"stream\r?\n(.*?)endstream", raw, re.S):
        try:
            text = zlib.decompress(match[1]).decode("latin-1")
        except (zlib.error, UnicodeDecodeError):
            continue
        strokes = re.findall(r"^(-?[\d.]+) (-?[\d.]+) [ml]$", text, re.M)
        if len(strokes) > 10:
            found.append(np.array(strokes, dtype=float) * 25.4 / 72.0)
    return found


def test_pdf_sheets_show_every_point_at_full_size(outline, tmp_path):
    """EXACT: the drawing operators of each sheet, shifted to its corner, are the outline in millimetres."""
    path = write_outline(outline, tmp_path / "rib.pdf")
    raw = path.read_bytes()
    boxes = re.findall(rb"/MediaBox \[ ?0 0 ([\d.]+) ([\d.]+)", raw)
    places = tiles(outline)
    assert len(boxes) == len(places) == 2
    np.testing.assert_allclose(np.array(boxes, dtype=float) * 25.4 / 72.0, [A4_MM[::-1]] * 2, atol=0.01)
    seen = np.zeros(len(outline.xy_mm), dtype=bool)
    for corner, strokes in zip(places, pages_of(path), strict=True):
        shown = strokes - EDGE_MM + np.array(corner)
        gap = np.sqrt(((outline.xy_mm[:, None] - shown) ** 2).sum(axis=2).min(axis=1))
        seen |= gap < 0.01
    assert seen.all()


def test_neighbouring_sheets_share_their_marks(outline):
    from wingtool.report.inspect.drawing_files import _marks

    first, second = (set(np.round(list(_marks(corner)), 6).ravel()[::2]) for corner in tiles(outline))
    assert len(first & second) == 1


def test_names_are_escaped_and_endings_checked(tmp_path):
    outline = cutting_outline(Section("<b>&", four_digit("0012").xy), 0.25)
    root = ET.parse(write_outline(outline, tmp_path / "rib.svg")).getroot()
    assert root.find("{http://www.w3.org/2000/svg}title").text.startswith("<b>&")
    with pytest.raises(OutputError, match=r"end the name in \.svg, \.dxf or \.pdf"):
        write_outline(outline, tmp_path / "rib.png")
