"""Studies side by side: conditions met, bands of differences, and the word for no difference."""

import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from typer.testing import CliRunner

from wingtool.cli.app import app
from wingtool.errors import RangeError, StudyError
from wingtool.files import bundled
from wingtool.report import comparison_lines
from wingtool.study import UNKNOWN_ROOF_DEG, bundled_study, compare_studies, least_left, read_study
from wingtool.study.compare import NO_DIFFERENCE, Side, _difference, _differences, _lap_band, _words
from wingtool.wing import Force


@pytest.fixture(scope="module")
def two():
    few = {"sweep": {"angles": "0:12:3", "speeds": ["60 mph", "100 mph", "120 mph"]}}
    quick = {"wing": {"method": "surrogate", "surface": "race"}}
    plan_b = bundled_study("green_hatch_plan_b")
    longer = {"wing": quick["wing"] | {"span": "1.3 m"}}
    return [read_study(plan_b, few | quick), read_study(plan_b, few | longer)]


@pytest.fixture(scope="module", params=["downforce", "drag", "angle"])
def compared(request, two):
    return compare_studies(two, request.param)


def test_what_is_held_equal_is_equal(compared):
    """EXACT: the interpolated force at the angle found is the target."""
    for side in compared.sides:
        if not np.isfinite(side.wing_angle_deg):
            continue
        held = side.wing_angle_deg if compared.equal == "angle" else getattr(side, compared.equal).n
        assert held == pytest.approx(compared.target, rel=1e-6)
    assert {d.quantity for d in compared.differences}.isdisjoint({compared.equal})


def test_a_study_does_not_differ_from_itself(two):
    result = compare_studies([two[0], two[0]], "angle", target=2.0)
    for difference in result.differences:
        assert difference.value == pytest.approx(0.0, abs=1e-9)
        assert difference.words.startswith(NO_DIFFERENCE)


def test_studies_of_one_angle_are_compared(two):
    """EXACT: a wing at its only angle does not differ from itself."""
    from wingtool.study.compare import side_at
    from wingtool.study.whole_study import run_study

    alone = two[0].model_copy(update={"sweep": two[0].sweep.model_copy(update={"angles_deg": (3.0,)})})
    alone._folder = two[0].folder
    result = run_study(alone)
    side = side_at(result, "angle", 3.0, 40.0)
    assert side.wing_angle_deg == 3.0
    assert side.downforce.low_n < side.downforce.n < side.downforce.high_n
    assert side.status == "converged"
    k = int(np.argmin(np.abs(result.wing.speed_m_s - 40.0)))
    left = float(np.interp(3.0, result.wing.wing_angle_deg, result.wing.stall_margin_deg[k]))
    assert side.stall_margin_deg == pytest.approx(left - UNKNOWN_ROOF_DEG)  # nobody measured the roof


def test_a_margin_where_no_stall_was_found_is_told_as_the_least(two):
    """EXACT: a margin that is the least of its strips' own is a bound; one in degrees of the wing is not."""
    strips = np.array([[[2.0, 3.0]], [[5.0, np.nan]], [[-1.0, 4.0]]])
    wing = SimpleNamespace(strip_margin_deg=strips, stall_margin_deg=np.array([[2.0], [6.5], [-1.0]]))
    assert least_left(wing).tolist() == [[True], [False], [False]]
    found = compare_studies(two, "angle", 3.0)
    for bound in (True, False):
        sides = tuple(replace(side, margin_is_least=bound) for side in found.sides)
        rows = comparison_lines(replace(found, sides=sides))[1]
        assert all(row[4].startswith(">") == bound for row in rows)


def test_a_target_out_of_reach_is_said_not_made_up(two):
    result = compare_studies(two, "downforce", target=5000.0)
    for side in result.sides:
        assert np.isnan(side.wing_angle_deg)
        said = re.fullmatch("cannot meet downforce 5000 N within its table, (.+) to (.+) N", side.status)
        assert float(said[1]) < float(said[2]) < 5000.0
    _, rows, lines = comparison_lines(result)
    assert all(row[2:4] == ("–", "–") for row in rows)
    assert not any("cannot be compared" in line for line in lines)
    assert {d.words for d in result.differences} == {"cannot be compared"}


def test_forces_side_by_side_have_the_cautions_of_stall_and_mounts(compared):
    told = comparison_lines(compared)[2]
    assert any("Stall is sudden" in line for line in told)
    assert any("Mounts fail before wings do" in line for line in told)


def test_laps_of_different_circuits_are_not_compared():
    """EXACT: the same road under another name is the same; another bend or another step is not."""
    from car_stand_ins import harrow_down

    from wingtool.study.compare import OTHER_CIRCUIT, same_road

    home = harrow_down()
    assert same_road(home, replace(home, name="Harrow Down, last year's sheet"))
    assert not same_road(home, replace(home, curvature_1_m=0.9 * home.curvature_1_m))
    assert not same_road(home, harrow_down(2.0))
    assert "different circuits" in OTHER_CIRCUIT


def test_shared_errors_act_on_the_difference_alone():
    """EXACT: 100 (80 to 120) against 110 (88 to 132): shared 10 (8 to 12), apart 10 (-19.7 to 39.7)."""
    one, two = (100.0, 80.0, 120.0), (110.0, 88.0, 132.0)
    shared = _difference("b", "downforce", "N", one, two, True, 1.0)
    apart = _difference("b", "downforce", "N", one, two, False, 1.0)
    assert (shared.low, shared.value, shared.high) == (8.0, 10.0, 12.0)
    assert shared.words == "more"
    assert apart.low == pytest.approx(10 - np.hypot(22, 20))
    assert apart.high == pytest.approx(10 + np.hypot(22, 20))
    assert apart.words.startswith(NO_DIFFERENCE)


def test_a_doubt_of_one_lap_alone_widens_the_difference_both_ways():
    """EXACT: body -1 to 2 and -1 to 3 s leave 0 to 1; the first one's splitter, -0.5 to 0.3, turns over."""

    def car(doubts, *times):
        fitted = SimpleNamespace(doubts=doubts, with_parts=SimpleNamespace(lap_time_s=np.array(times)))
        return SimpleNamespace(lap=SimpleNamespace(fitted=fitted))

    first = car(("body", "splitter"), 100.0, 99.0, 102.0, 99.5, 100.3)
    band = _lap_band(first, car(("body",), 101.0, 100.0, 104.0), {"body"})
    assert (band.value, band.low, band.high) == pytest.approx((1.0, 0.7, 1.0 + np.hypot(1.0, 0.5)))


@pytest.mark.parametrize(
    ("value", "low", "high", "repeat", "words"),
    [
        (5.0, -1.0, 9.0, 1.0, f"{NO_DIFFERENCE}: the band includes zero"),
        (5.0, 4.0, 6.0, 9.0, f"{NO_DIFFERENCE}: less than a careful club can repeat"),
        (-15.0, -16.0, -14.0, 9.0, "less"),
        (15.0, 14.0, 16.0, 9.0, "more"),
        (float("nan"), 0.0, 0.0, 9.0, "cannot be compared"),
    ],
)
def test_words(value, low, high, repeat, words):
    assert _words(value, low, high, repeat) == words


def test_wrong_words_are_one_line(two):
    with pytest.raises(RangeError, match="two studies or more"):
        compare_studies(two[:1])
    with pytest.raises(StudyError, match="'weight' is unknown; choose one of downforce, angle, drag"):
        compare_studies(two, "weight")
    with pytest.raises(RangeError, match="360 km/h is outside its table"):
        compare_studies(two, speed_m_s=100.0)


def test_the_command_prints_and_writes(tmp_path):
    out = tmp_path / "both.csv"
    paths = []
    for name in ("green_hatch", "green_hatch_plan_b"):
        text = bundled_study(name).read_text().replace("[wing]\n", '[wing]\nmethod = "surrogate"\n')
        text = text.replace('"dirty"', '"race"')  # which the surrogate knows too little of
        text = re.sub("(?m)^speeds = .*", 'speeds = ["60 mph", "100 mph", "120 mph"]', text)
        paths.append(str(tmp_path / f"{name}.toml"))
        (tmp_path / f"{name}.toml").write_text(text)
    done = CliRunner().invoke(app, ["compare", *paths, "--speed", "90 mph", "--out", str(out)])
    assert done.exit_code == 0, done.output
    assert "At equal downforce" in done.output
    assert max(len(line) for line in done.output.splitlines() if not line.startswith("wrote")) <= 80
    heading, *rows = out.read_text().splitlines()
    assert heading.startswith("study,wing_angle_deg,speed_m_s,downforce_n")
    assert len(rows) == 2


def test_equal_titles_give_way_to_file_names_and_a_doubted_outline_is_not_trusted(tmp_path):
    """A variant keeps its title: each is named by its file; points missing from a section mean exit 3."""
    section = (bundled("profiles") / "fen-lift.dat").read_text().splitlines()
    nose = next(k for k, line in enumerate(section) if line.split()[:1] == ["0.000000"])
    (tmp_path / "gap.dat").write_text("\n".join(section[: nose - 10] + section[nose + 10 :]))
    text = (
        bundled_study("green_hatch_plan_b").read_text().replace("[wing]\n", '[wing]\nmethod = "surrogate"\n')
    )
    text = text.replace('"dirty"', '"race"').replace('tab = "0.18 in"', "")
    for name, used in (("whole", "fen-lift"), ("gap", "gap.dat")):
        (tmp_path / f"{name}.toml").write_text(text.replace("shed-find", used, 1))
    paths = [str(tmp_path / f"{name}.toml") for name in ("whole", "gap")]
    done = CliRunner().invoke(app, ["compare", *paths, "--equal", "angle", "--at", "0"])
    told = " ".join(done.output.split())
    assert "NOT TRUSTWORTHY: gap.toml: outline: between lines" in told
    assert "NOT TRUSTWORTHY: whole.toml" not in told
    assert "against “whole.toml”: gap.toml: downforce" in told
    assert done.exit_code == 3, done.output


def test_a_setting_past_the_stall_or_the_advised_end_is_said(two, monkeypatch):
    """A wing past its stall is not to be trusted, exit 3; beyond the end of the advice it is told."""
    paths = [str(bundled_study("green_hatch_plan_b"))] * 2
    monkeypatch.setattr("wingtool.cli.commands.compare.study.read_study", lambda _: two[0])
    side = compare_studies(two, "angle", target=10.0).sides[0]
    stall = 10.0 + side.stall_margin_deg
    for at, code, word in ((side.end_deg, 0, ""), (stall - 0.1, 0, "past its advised end"),
                           (stall + 0.1, 3, "past its stall")):  # fmt: skip
        done = CliRunner().invoke(app, ["compare", *paths, "--equal", "angle", "--at", f"{at:.3f}"])
        told = " ".join(done.output.split())
        assert done.exit_code == code, done.output
        assert word in told
        assert (f"never beyond {side.end_deg:g}°" in told) == bool(word)


def test_what_a_club_can_repeat_grows_with_the_square_of_speed():
    """EXACT: 40 N at 160 km/h are 10 N at 80 km/h: 12 N more is a difference there, 9 N more is none."""

    def side(newton):
        down, drag = Force(newton, newton, newton), Force(50.0, 50.0, 50.0)
        return Side("b", 4.0, down, drag, 5.0, "converged", None, ("same data",))

    words = [_differences(side(100.0), side(other), "drag", 80 / 3.6)[0].words for other in (112.0, 109.0)]
    assert words == ["more", f"{NO_DIFFERENCE}: less than a careful club can repeat"]
