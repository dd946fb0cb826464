"""The bundled studies end to end: what lies in the folder is whole, and any number can be walked back."""

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import numpy as np
import pytest
import xarray
from frictionless import validate

from wingtool.car import Estimate
from wingtool.errors import WingtoolError
from wingtool.files import bundled
from wingtool.report import (
    NAMES,
    answer_lines,
    full_lines,
    study_tables,
    wing_table,
    write_page,
    write_plots,
    write_tables,
)
from wingtool.report.answer_text import degree_terms, forces_at, reference_speed_m_s, three_speeds
from wingtool.report.page.car import NOT_FELT
from wingtool.report.page.content import slider
from wingtool.report.page.write import page_html
from wingtool.report.text import degrees, figures, force_scale, speed_scale
from wingtool.report.top_cautions import top_cautions
from wingtool.study import bundled_study, checked_study, compute_ahead, precompute, read_study, run_study
from wingtool.study.advice import kept_margin_deg
from wingtool.study.cautions import CAUTIONS, Caution
from wingtool.study.whole_study import doubts
from wingtool.units import NEWTON_PER_LBF

STUDIES = sorted(path.stem for path in bundled("studies").glob("*.toml") if "[wing]" in path.read_text())


@pytest.fixture(scope="module", params=STUDIES)
def result(request):
    return run_study(read_study(bundled("studies") / f"{request.param}.toml"))


@pytest.fixture(scope="module")
def folder(result, tmp_path_factory):
    folder = tmp_path_factory.mktemp("run")
    write_tables(result, folder)
    write_plots(result, folder)
    write_page(result, folder)
    return folder


def test_the_package_of_all_tables_is_valid(folder):
    """TWIN: the Frictionless project's own validator."""
    report = validate(str(folder / "datapackage.json"))
    assert report.valid, report.flatten()
    assert {"wing", "span", "section"} <= {task.name for task in report.tasks}


def test_every_heading_is_in_the_list_of_names(folder):
    """The list of names knows every column of every file."""
    files = list(folder.glob("*.csv"))
    assert len(files) > 3
    for path in files:
        headings = path.read_text(encoding="utf-8").splitlines()[0].split(",")
        assert set(headings) <= set(NAMES), path.name


def test_the_wing_table_is_the_full_grid(result, folder):
    """TWIN: read back by xarray; every angle at every speed, the same numbers as in the result."""
    with xarray.open_dataset(folder / "wing.nc") as data:
        assert data.wing_angle_deg.values == pytest.approx(result.study.sweep.angles_deg)
        assert data.speed_m_s.values == pytest.approx(result.study.sweep.speeds_m_s)
        assert np.array_equal(data.downforce_n.values, result.wing.downforce.n, equal_nan=True)


def test_every_table_tells_what_its_numbers_stand_on(result):
    for table in study_tables(result):
        if table.name in ("wing", "span"):
            for fact in ("reference_area_m2", "reference_chord_m", "moment_point", "density_kg_m3"):
                assert table.facts[fact]
        if table.name in ("wing", "span", "section", "second_opinion"):
            assert "status" in [column.name for column in table.columns]


def test_forces_are_coefficients_times_dynamic_pressure_and_area(result):
    """EXACT: the definition of the coefficients, with the area, chord and density that the table prints."""
    table = wing_table(result.wing)
    column = {c.name: np.array(table.column(c.name)) for c in table.columns}
    pressure = 0.5 * column["density_kg_m3"] * column["speed_m_s"] ** 2 * column["reference_area_m2"]
    assert column["downforce_n"] == pytest.approx(pressure * column["CL"], rel=1e-9, nan_ok=True)
    assert column["drag_n"] == pytest.approx(pressure * column["CD"], rel=1e-9, nan_ok=True)
    moment = pressure * column["CM"] * column["reference_chord_m"]
    assert column["pitching_moment_nm"] == pytest.approx(moment, rel=1e-9, nan_ok=True)


def test_each_value_lies_in_its_band_and_missing_rows_say_why(result):
    wing = result.wing
    known = np.isfinite(wing.downforce.n)
    assert np.all(wing.downforce.low_n[known] <= wing.downforce.n[known])
    assert np.all(wing.downforce.n[known] <= wing.downforce.high_n[known])
    assert np.all(wing.drag.low_n[known] <= wing.drag.n[known])
    assert np.all(wing.drag.n[known] <= wing.drag.high_n[known])
    assert not np.any(wing.status[~known] == "converged")
    assert wing.band_origin


def test_pictures_are_whole(folder):
    pictures = list(folder.glob("*.svg"))
    names = {path.stem for path in pictures}
    assert {"downforce_over_speed", "forces_over_angle", "stall_along_span"} <= names
    for path in pictures:
        assert "var(" not in path.read_text(encoding="utf-8")
        assert ElementTree.parse(path).getroot().tag.endswith("svg")


@pytest.mark.parametrize("result", ["green_hatch"], indirect=True)
def test_the_readme_shows_what_the_demo_draws(folder):
    """A copy: after a change of the demo's answer, take its pictures/forces_over_angle.svg to studies/."""
    shown, drawn = (
        [float(number) for number in re.findall(r"-?\d+\.\d+", path.read_text(encoding="utf-8"))]
        for path in (bundled("studies") / "forces_over_angle.svg", folder / "forces_over_angle.svg")
    )
    assert shown == pytest.approx(drawn, abs=0.5)  # of a picture 340 units wide


def test_the_page_stands_alone_and_leads_with_the_answer(result, folder):
    page = (folder / "page.html").read_text(encoding="utf-8")
    assert "http://" not in page.replace("http://www.w3.org/", "")
    assert "https://" not in page
    assert page.index(f"{result.advice.high_deg:g}") < page.index("<table")
    for caution in result.advice.cautions[:2]:
        assert caution.text.split(":")[0][:40].replace("'", "&#39;") in page


def test_the_answer_is_one_screen_and_holds_angle_force_and_danger(result):
    """EXACT: 23 lines of 80 columns and the line that names the page; angles and sum are the advice's own."""
    lines = answer_lines(result)
    text = "\n".join(lines)
    assert len(lines) <= 23
    assert max(map(len, lines)) <= 80
    assert f"start {degrees(result.advice.start_deg)} (nose up)," in text.replace("\n         ", " ")
    assert f"never beyond {degrees(result.advice.high_deg)}" in " ".join(text.split())
    assert 1 <= sum(line.startswith("! ") for line in lines) <= 3
    terms = degree_terms(result.advice)
    assert round(terms[0][1] - sum(size for _, size in terms[1:]), 1) == pytest.approx(
        round(result.advice.stall_deg, 1) - kept_margin_deg(result.advice.roof_band_deg)
    )
    in_its_blocks = ("balance", "estimate", "mounts", "road") if result.car else ()
    with_car = [CAUTIONS[name] for name in in_its_blocks]
    full, first = full_lines(result), top_cautions(result)
    assert full[: len(lines)] == lines
    assert not set(lines) & set(full[len(lines) :])
    for caution in result.advice.cautions:
        assert (f"  ! {caution.text}" in full) == (caution not in with_car and caution.text not in first)


def test_cautions_that_the_screen_leaves_out_are_pointed_to(monkeypatch):
    """EXACT: of 23 lines; the second caution goes, and a line says so where one is left."""
    from wingtool.report import answer

    more = "! More cautions are on the page."
    first, second = ["! a", "  b"], ["! c", "  d"]
    for above, told in ((19, first + second), (20, [*first, more]), (21, [*first, more])):
        screen = ["x"] * above, [first, second]
        monkeypatch.setattr(answer, "_first_screen", lambda _, screen=screen: screen)
        assert answer_lines(None)[above:] == told


def test_no_caution_of_the_numbers_gives_way_to_another_on_the_page(result):
    """EXACT: with the outline, the wing's lift and the roof in doubt every other caution still stands."""
    own = {text.partition(":")[0] for text in top_cautions(result)}
    in_doubt = [CAUTIONS[name] for name in ("may_lift", "roof_unknown")]
    advice = replace(result.advice, cautions=(*result.advice.cautions, *in_doubt))
    doubted = replace(result, advice=advice, section=replace(result.section, doubts=("is it damaged?",)))
    always = {CAUTIONS[name].text.partition(":")[0] for name in ("stall", "estimate")}
    told = top_cautions(doubted)
    assert own - always < {text.partition(":")[0] for text in told}
    assert told[1] == "Outline: is it damaged?"
    assert {one.text for one in in_doubt} <= set(told)
    lines = answer_lines(doubted)
    all_shown = all(text[:20] in "\n".join(lines) for text in told)
    assert all_shown != (lines[-1] == "! More cautions are on the page.")
    page = page_html(doubted)
    assert all(text.partition(":")[0] in page for text in told)


def test_lost_points_and_unsound_rows_before_the_stall_are_not_trustworthy(result):
    """EXACT: the doubts are empty as they stand; a thick tail may be meant, so it is a caution only."""
    wing, advice, measures = result.wing, result.advice, result.measures
    lost, tail = "no point for 0.14 chord: are points missing?", "the tail is 2.4% of the chord thick"
    assert doubts(wing, advice, measures, (tail,)) == ()
    assert doubts(wing, advice, measures, (tail, lost)) == (f"section: {lost}",)
    before = (wing.wing_angle_deg > advice.high_deg) & (wing.wing_angle_deg < advice.stall_deg)
    status = np.where(before, "low confidence", "converged")
    weak = replace(wing, status=np.broadcast_to(status, wing.status.shape))
    (told,) = doubts(weak, advice, measures, ())
    rows = before.sum() * len(wing.speed_m_s)
    assert told.startswith(f"{rows} of {rows} rows between the last angle and the stall are")


def test_a_question_about_a_size_is_never_left_out(result):
    """The screen is full of what the demo has to say; the question stands above it."""
    slip = "Is the span of the wing really 14000 mm? usual is 800 to 2100 mm."
    cautions = (*result.advice.cautions, Caution("force", slip))
    lines = answer_lines(replace(result, advice=replace(result.advice, cautions=cautions)))
    assert f"CHECK    {slip}" in lines
    assert sum("really 14000" in line for line in lines) == 1


def test_a_doubt_of_the_outline_stands_on_the_screen(result):
    assert not any(text.startswith("Outline") for text in top_cautions(result))
    sharp = replace(result, measures=replace(result.measures, warnings=("waves on top", "sharp nose")))
    assert "Outline: sharp nose; see wingtool inspect." in top_cautions(sharp)
    doubted = replace(sharp, section=replace(result.section, doubts=("is it damaged?",)))
    told = [text for text in top_cautions(doubted) if text.startswith("Outline")]
    assert told == ["Outline: is it damaged?"]


def test_the_proof_load_on_the_screen_is_no_less_than_computed(result):
    """EXACT: the first caution's two forces, in the study's unit, are those of the mounts rounded up."""
    if result.car is None or result.car.mounts is None:
        pytest.skip("no mounts")
    shown_all = re.findall(r"(\d+) (?:N|lbf)", top_cautions(result)[0])
    scale = NEWTON_PER_LBF if result.study.units.force == "lbf" else 1.0
    loads = result.car.mounts.proof_down_n, result.car.mounts.proof_drag_n
    for shown, newton in zip(shown_all, loads, strict=True):
        assert newton <= scale * float(shown) < 1.1 * newton
    products = re.findall(r"([\d.]+) x ([\d.]+) = (\d+)", top_cautions(result)[0])
    assert len(products) == 2
    assert all(float(factor) * float(load) <= float(shown) for factor, load, shown in products)


def test_the_oil_line_has_the_longest_time_above_the_limit_with_the_parts_first(result):
    """EXACT: with made estimates, 9 s (likely 8 to 9.5) with the parts and 4 s for the bare car."""
    if result.car is None or result.car.lap is None or result.study.oil is None:
        pytest.skip("no oil limit on a circuit")
    lap, over = result.car.lap, ("over your limit",)
    for found, holds in zip(lap.over, lap.holds, strict=True):
        assert found.value == max(hold.over_s or 0.0 for hold in holds)
        assert found.low <= found.value <= found.high
    both = Estimate(9.0, 8.0, 9.5), Estimate(4.0, 4.0, 4.0)
    made = replace(lap, over=both, oil_cautions=over)
    told = top_cautions(replace(result, car=replace(result.car, lap=made)))
    assert any(re.search(r"9.0 s above .*\(8.0 to 9.5; bare car 4.0\)", text) for text in told), told


def test_forces_are_shown_up_to_the_cars_own_top_speed_and_drag_says_whose_it_is(result):
    """EXACT: a car of 45 m/s is told no force above it; stands and wake add 0 to 0.12 of the downforce."""
    end = result.advice.high_deg
    down, _ = forces_at(result, reference_speed_m_s(result), end)
    most = figures(0.12 * down.n / force_scale(result.study.units))
    assert f"0 to {most} {result.study.units.force}" in "\n".join(answer_lines(result))
    if result.car is None:
        pytest.skip("no car")
    slow = replace(result.car, straight=replace(result.car.straight, top_with_m_s=45.0),
                   top_band_m_s=(44.0, 46.0))  # fmt: skip
    scale = speed_scale(result.study.units)
    assert slider(replace(result, car=slow))["fastest"] == int(46.0 / scale)
    assert slider(result)["fastest"] == round(float(result.wing.speed_m_s[-1]) / scale)
    assert max(three_speeds(replace(result, car=slow))) == 45.0
    assert three_speeds(result)[-1] == result.wing.speed_m_s[-1] < result.car.straight.top_with_m_s
    assert NOT_FELT not in "\n".join(full_lines(result))
    assert NOT_FELT in "\n".join(full_lines(replace(result, car=slow)))


def test_a_study_in_miles_and_inches_is_answered_in_them_first(result):
    """EXACT: plan B writes mph and inches, the first study km/h and centimetres."""
    text = "\n".join(answer_lines(result) + full_lines(result))
    if result.study.units.speed == "mph":
        assert re.search(r"\d mph", "\n".join(answer_lines(result)))
        assert "km/h" not in "\n".join(answer_lines(result))
        assert re.search(r"\d lbf \(\d+ N\)", text)
    else:
        assert "mph" not in "\n".join(answer_lines(result))
        assert re.search(r"\d N \([\d.]+ kgf", text)


def test_what_the_user_wrote_is_escaped(result, tmp_path):
    study = result.study.model_copy(update={"title": "<script>alert(1)</script>", "note": "<b>&"})
    page = write_page(replace(result, study=study), tmp_path).read_text(encoding="utf-8")
    assert "<script>alert(1)" not in page
    assert "<b>&<" not in page


def test_more_angle_makes_more_downforce_before_the_stall(result):
    """Common practice, no source: the sign of the wing angle is the crew's first check."""
    wing = result.wing
    sound = np.isfinite(wing.downforce.n) & (wing.stall_margin_deg > 3.0)
    steps = np.diff(wing.downforce.n, axis=1)[sound[:, 1:] & sound[:, :-1]]
    assert steps.size
    assert np.all(steps > 0.0)


ODD = {
    "one speed, two angles": {"sweep": {"angles": "0:2:2", "speeds": ["100 km/h"]}},
    "lift only": {"sweep": {"angles": "-20:-10:2", "speeds": ["100 km/h"]}},
    "stalled only": {"sweep": {"angles": "25:40:5", "speeds": ["10 km/h", "400 km/h"]}},
    "close to the road": {"wing": {"height": "4 cm"}},
    "sections along the span": {
        "wing": {"station": [{"span_fraction": 1.0, "section": "4412", "chord": "20 cm", "twist_deg": -3.0}]}
    },
}


@pytest.mark.parametrize("name", ODD)
def test_odd_studies_give_whole_folders_that_say_what_they_are(name, tmp_path):
    wing = {"section": "2412", "span": "140 cm", "chord": "25 cm", "height": "1.2 m", "method": "surrogate"}
    odd = dict(ODD[name])
    result = run_study(checked_study(odd | {"wing": wing | odd.get("wing", {})}))
    write_tables(result, tmp_path)
    write_plots(result, tmp_path)
    assert write_page(result, tmp_path).exists()
    assert answer_lines(result)
    assert validate(str(tmp_path / "datapackage.json")).valid
    if name in ("lift only", "stalled only"):  # the advice looks beyond what was asked for
        assert result.advice.given
        assert result.advice.start_deg not in checked_study(odd | {"wing": wing}).sweep.angles_deg


@pytest.mark.parametrize(
    ("table", "change", "words"),
    [
        ("wing", {"chord": "25 m"}, "green_hatch.toml: wing: chord 25 m"),
        ("wing", {"height": "3 cm"}, "cut the plate"),
        ("wing", {"tab": "4 cm"}, "tab over chord"),
        ("sweep", {"angles": "60:80:5"}, "less than or equal to 60"),
        ("circuit", {"segment": [{"name": "short", "length": "20 m"}]}, "give 100 m to 50 km"),
        ("circuit", {"segment": [], "log": "no.csv"}, "no such log"),
        ("limits", {"file": "no.toml"}, "no such file"),
    ],
)
def test_what_cannot_be_is_refused_before_the_work(table, change, words, monkeypatch):
    monkeypatch.setattr(precompute, "missing_rows", lambda *_: pytest.fail("the work has begun"))
    with pytest.raises(WingtoolError, match=words):
        compute_ahead(read_study(bundled_study(), {table: change}))
