"""`wingtool trace` and `wingtool match` from outside: files, words, exit codes, pictures."""

import json
import sys

import numpy as np
import pytest
from trace_person import caliper_readings, dense, photographed, printed, template

from wingtool.cli import main
from wingtool.files import bundled
from wingtool.geometry import four_digit, read_section
from wingtool.tracing import likeness, sheet

NAMES = ("clarky", "e423", "naca2412", "naca4412", "s1223", "goe398")


@pytest.fixture
def run(monkeypatch, capsys, tmp_path):
    """Run the command line in this process, in a folder of its own: exit code, printed, complained."""
    monkeypatch.setenv("WINGTOOL_CACHE", str(tmp_path / "cache"))
    monkeypatch.setattr(likeness, "collection_names", lambda: NAMES)
    monkeypatch.chdir(tmp_path)

    def call(*words: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["wingtool", *map(str, words)])
        with pytest.raises(SystemExit) as left:
            main()
        out, err = capsys.readouterr()
        return int(left.value.code or 0), out, err

    return call


@pytest.fixture
def heights(tmp_path):
    readings = caliper_readings(dense(four_digit("4412")), np.random.default_rng(2))
    upper, lower = (readings.points_mm[readings.side == side] for side in (1, -1))
    rows = [f"{x:g};{u:g};{l:g}".replace(".", ",") for (x, u), (_, l) in zip(upper, lower, strict=True)]
    path = tmp_path / "heights.csv"
    path.write_text("\n".join(["x_mm;upper_mm;lower_mm", *rows]))
    return path


CALIPERS = ("--chord", "250 mm", "--tail", "0.6 mm", "--method", "surrogate")


def test_calipers_to_files_and_words(run, heights, tmp_path):
    code, out, _ = run(
        "trace", "--stations", heights, *CALIPERS, "--suction-side", "up", "--out", "w/wing.dat"
    )
    assert code == 0
    for word in (
        "thickness %",
        "straightedge",
        "naca4412",
        "roof inflow",
        "not identity",
        "event's rules",
        "surrogate",
    ):
        assert word in " ".join(out.split())
    names = {path.name for path in (tmp_path / "w").iterdir()}
    assert names == {"wing.dat", "wing.band.json", "wing-section.csv", "datapackage.json", "wing-fit.png"}
    assert read_section(tmp_path / "w" / "wing.dat").xy[0, 0] == pytest.approx(1.0)
    kept = json.loads((tmp_path / "w" / "wing.band.json").read_text())
    assert kept["error_mm"] == pytest.approx(0.3)
    assert (tmp_path / "w" / "wing-section.csv").read_text().splitlines()[0].startswith("alpha_deg")


def test_nothing_is_turned_over_without_the_users_word(run, heights):
    _, out, _ = run("trace", "--stations", heights, *CALIPERS)
    assert "kept as it lies" in out
    _, over, _ = run("trace", "--stations", heights, *CALIPERS, "--suction-side", "down")
    assert "turned over on your word" in over
    assert "camber -" in over or "near 4." in over


def refusal_in(outcome, *parts):
    code, _, err = outcome
    complaints = [line for line in err.splitlines() if not line.startswith("...")]
    assert code == 2
    assert len(complaints) == 1
    for part in parts:
        assert part in complaints[0]


def test_wrong_words_are_one_line(run, heights):
    refusal_in(run("trace"), "0 ways of measuring", "--sheet photo")
    refusal_in(run("trace", "--stations", heights, "--points", heights), "2 ways")
    refusal_in(run("trace", "--stations", heights), "--chord")
    refusal_in(run("trace", "--stations", heights, "--chord", "250"), "--chord", "no unit")
    refusal_in(run("trace", "--stations", heights, *CALIPERS, "--suction-side", "road"), "not up or down")
    refusal_in(run("trace", "--points", "none.csv"), "none.csv", "no such file")
    refusal_in(run("trace", "--stations", heights, *CALIPERS, "--surface", "shiny"), "shiny")
    refusal_in(run("trace", "--stations", heights, *CALIPERS, "--error", "0 mm"), "--error", "above zero")
    refusal_in(run("trace", "--sheet", "wall"), "wall", "photo, photo-dark, trace, stations")
    refusal_in(run("match", "no-such-section"), "no-such-section")


@pytest.mark.parametrize(
    "words", [("--points", "a.csv", ".dat"), ("--sheet", "photo", ".pdf"), ("--wing", "a.toml", ".dat")]
)
def test_a_name_that_says_another_kind_of_file_is_refused(run, words):
    *given, ending = words
    refusal_in(run("trace", *given, "--out", "x.foo"), "--out x.foo", f"name ends in {ending}")


def test_what_was_measured_is_never_written_over(run, heights, tmp_path):
    before = heights.read_text()
    for name in ("heights.csv", "heights-section.csv"):
        path = tmp_path / name
        path.write_text(before)
        out = path if name == "heights.csv" else "heights.dat"
        refusal_in(run("trace", "--stations", path, *CALIPERS, "--out", out), "write over")
        assert path.read_text() == before


def test_the_readings_that_wingtool_carries(run):
    code, out, _ = run(
        "trace", "--stations", bundled("studies") / "shed_wing.csv", "--chord", "251 mm", "--tail", "1.3 mm",
        "--nose-radius", "7 mm", "--suction-side", "up", "--method", "surrogate",
    )  # fmt: skip
    assert code == 0
    assert [out.splitlines()[line].split()[column] for line, column in ((1, 1), (2, -4))] == ["12.8", "0.3"]
    assert max(map(len, out.splitlines())) <= 80
    assert len(out.splitlines()) <= 30  # one screen


def test_sheets_are_printed(run, tmp_path):
    code, out, _ = run("trace", "--sheet", "stations", "--chord", "10 in", "--out", "form.pdf")
    assert code == 0
    assert "form.pdf" in out
    assert (tmp_path / "form.pdf").stat().st_size > 5000
    assert run("trace", "--sheet", "roof", "--out", "roof.pdf")[0] == 0
    assert (tmp_path / "roof.pdf").stat().st_size > 5000


def test_a_photo_to_files_and_a_refused_one_to_a_picture(run, tmp_path):
    paper, rng = sheet("A4"), np.random.default_rng(4)
    card = template(dense(four_digit("4412")), rng, paper)
    half = (card - card.mean(axis=0)) * 0.5 + [150.0, 50.0]
    for name, shapes in (("one", [(card, 25)]), ("two", [(card, 25), (half, 25)])):
        jpeg = photographed(paper, printed(paper, shapes, 6), rng, pixels=(1500, 1125), scale=6)
        (tmp_path / f"{name}.jpg").write_bytes(jpeg)
    words = ("--chord", "250 mm", "--tail", "0.6 mm", "--method", "surrogate", "--suction-side", "up")
    code, out, _ = run("trace", "--photo", "one.jpg", *words, "--out", "one.dat")
    assert code == 0
    assert "naca4412" in out
    assert (tmp_path / "one-photo.png").stat().st_size > 10000
    refusal_in(
        run("trace", "--photo", "two.jpg", *words, "--out", "two.dat"), "second dark", "two-refused.png"
    )
    assert (tmp_path / "two-refused.png").stat().st_size > 10000
    assert not (tmp_path / "two.dat").exists()


def test_match_says_what_is_near(run):
    code, out, _ = run("match", "4412", "--count", "2", "--chord", "250 mm")
    assert code == 0
    assert out.splitlines()[2].endswith("naca4412")
    assert "not identity" in out
