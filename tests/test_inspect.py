"""`wingtool inspect`, and the sections of our own making."""

import json
import sys
from math import comb
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from PIL import Image

from wingtool.cli import main
from wingtool.files import bundled
from wingtool.geometry import find_section, measure, profile_names, read_section, repanel
from wingtool.report import inspection_lines, write_inspection, write_template
from wingtool.study import inspect_section


@pytest.fixture
def run(monkeypatch, capsys):
    def call(*words):
        monkeypatch.setattr(sys, "argv", ["wingtool", "inspect", *map(str, words)])
        with pytest.raises(SystemExit) as left:
            main()
        out, err = capsys.readouterr()
        return int(left.value.code or 0), out, err

    return call


def test_prints_measures_repairs_and_warnings(run):
    code, out, err = run("shed-find", "--chord", "10 in")
    assert (code, err) == (0, "")
    assert "thickness                   13.0 %       33.0 mm    1.30 in at 26 % chord" in out
    assert "repaired: scaled to unit chord from x 0 to 238" in out
    assert "warning: waves on the upper side" in out
    code, out, _ = run("0012")
    assert "repaired: nothing" in out
    assert "warnings: none" in out


def test_writes_what_is_asked_and_says_so(run, tmp_path):
    picture, points, rib = tmp_path / "p.png", tmp_path / "p.dat", tmp_path / "rib.svg"
    code, out, _ = run(
        "fen-flat", "--out", picture, "--write", points, "--template", rib, "--chord", "250 mm"
    )
    assert code == 0
    assert [line for line in out.splitlines() if line.startswith("wrote")] == [
        f"wrote {path}" for path in (picture, points, rib)
    ]
    with Image.open(picture) as image:
        assert image.size[0] > 1000
        assert len(set(image.convert("L").resize((50, 40)).tobytes())) > 10
    assert np.abs(read_section(points).xy - find_section("fen-flat").xy).max() < 1e-8
    width = ET.parse(rib).getroot().get("width")
    assert 250.0 < float(width.removesuffix("mm")) < 260.0


@pytest.mark.parametrize("ending", ["svg", "pdf"])
def test_other_pictures(tmp_path, ending):
    (path,) = write_inspection(inspect_section("2412"), tmp_path / f"a.{ending}")
    assert path.stat().st_size > 5000


def test_the_table_holds_the_measures_and_the_coordinates(tmp_path):
    found = inspect_section("shed-find")
    write_inspection(found, tmp_path / "a.json")
    document = json.loads((tmp_path / "a.json").read_text())
    (row,) = document["rows"]
    for name in ("thickness", "camber", "nose_radius", "tail_gap", "tail_angle_deg", "area"):
        assert row[name] == pytest.approx(getattr(found.measures, name))
    assert row["points"] == 49
    assert document["facts"]["repairs"] == list(found.section.repairs)
    assert np.allclose(document["facts"]["coordinates"], found.section.xy, atol=1e-8)
    write_inspection(inspect_section("0012"), tmp_path / "b.json")
    assert json.loads((tmp_path / "b.json").read_text())["rows"][0]["camber_x"] is None


@pytest.mark.parametrize(
    ("words", "complaint"),
    [
        (["nosuchthing"], "is no file, designation or known name"),
        (["2412", "--template", "rib.pdf"], 'add for example --chord "250 mm"'),
        (["2412", "--chord", "250", "--template", "rib.pdf"], "has no unit"),
        (["2412", "--chord", "3 kg"], "is not a length"),
        (["2412", "--out", "a.gif"], "unknown format '.gif'"),
        (["2412", "--chord", "25 cm", "--template", "a.png"], "unknown drawing format"),
        (["2412", "--chord", "25 cm", "--template", "a.svg", "--skin", "40 mm"], "skin 40 mm is outside"),
        (["2412", "--out", "/proc/nowhere/a.png"], "cannot write"),
    ],
)
def test_wrong_input_is_one_line_and_leaves_nothing(run, tmp_path, monkeypatch, words, complaint):
    monkeypatch.chdir(tmp_path)
    code, _, err = run(*words)
    assert code == 2
    assert complaint in err
    assert err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_a_template_is_the_smooth_outline_at_full_size(tmp_path):
    # EXACT: 12 % of 300 mm is 36 mm; a skin of 1.5 mm takes 3 mm off.
    found = inspect_section("0012", "300 mm")
    for skin, height in (("0 mm", 36.0), ("1.5 mm", 33.0)):
        root = ET.parse(write_template(found, tmp_path / "rib.svg", skin)).getroot()
        cut = next(e for e in root.iter() if e.get("id") == "cut")
        points = np.array([pair.split(",") for pair in cut.get("points").split()], dtype=float)
        assert np.ptp(points[:, 1]) == pytest.approx(height, abs=0.02)
        assert len(points) >= 400


def test_few_figures():
    for line in inspection_lines(inspect_section("23012"))[3:10]:
        number = line[28:34].strip()
        assert len(number.replace(".", "").replace("-", "").lstrip("0")) <= 3, line


def header(name):
    lines = (bundled("profiles") / f"{name}.dat").read_text().splitlines()
    assert lines[0] == name
    assert lines[1].startswith("# origin: ")
    assert lines[2].startswith("# use: ")
    return lines[1]


def test_profiles_are_ours_each_with_its_origin():
    assert len(profile_names()) >= 6
    for name in profile_names():
        assert "for wingtool, free to use" in header(name)
        section = find_section(name)
        assert section.name == name
        assert "for wingtool" in section.origin
        assert len(repanel(section, 200).xy) == 201


@pytest.mark.parametrize("name", ["fen-flat", "fen-lift", "fen-mild", "fen-stout", "fen-thin"])
def test_drawn_profiles_follow_the_formula_in_their_header(name):
    # EXACT: y = sqrt(x) (1 - x) sum of weights times Bernstein polynomials + half the tail gap times x
    # (B. M. Kulfan, J. Aircraft 45(1), 2008), evaluated at the file's own stations; printed to 6 decimals.
    text = header(name)
    upper, lower = (
        np.array(text.split(f"{side} ")[1].split(",")[0].split(), dtype=float) for side in ("upper", "lower")
    )
    gap = float(text.split("tail gap ")[1])
    section = find_section(name)
    assert section.repairs == ()
    assert measure(section).warnings == ()
    nose = len(section.xy) // 2
    for xy, weights, sign in ((section.xy[: nose + 1], upper, 1.0), (section.xy[nose:], lower, -1.0)):
        x, n = xy[:, 0], len(weights) - 1
        shape = sum(w * comb(n, i) * x**i * (1 - x) ** (n - i) for i, w in enumerate(weights))
        assert np.abs(np.sqrt(x) * (1 - x) * shape + sign * gap / 2 * x - xy[:, 1]).max() < 3e-6


def test_the_flat_one_lies_flat_on_a_board():
    # EXACT: from x 0.2 to the tail the lower side stays within 0.1 % of the chord (0.25 mm of 250) of a line.
    lower = find_section("fen-flat").xy[44:]
    part = lower[lower[:, 0] > 0.2]
    line = np.polyfit(part[:, 0], part[:, 1], 1)
    assert np.abs(np.polyval(line, part[:, 0]) - part[:, 1]).max() < 0.001
