"""A first study from answers: each answer checked, the file read by `run`, a rerun keeps the answers."""

import pytest

from wingtool.errors import StudyError, WingtoolError
from wingtool.study import (
    BEGIN_TEMPLATES,
    answers_in,
    bundled_study,
    changed_text,
    checked_answer,
    questions_of,
    read_study,
    study_text,
)
from wingtool.study.plausible import unusual_values
from wingtool.units import DisplayUnits

ANSWERS = {
    "title": "Shed wing", "wing.section": "4412", "wing.span": "55 in", "wing.chord": "9 7/8 in",
    "wing.height": "48 in", "wing.endplate.height": "8 in", "wing.surface": "dirty", "roof": "free",
    "car.body": "saloon", "car.mass": "2500 lb", "car.front_share": "53 %", "car.wheelbase": "100 in",
    "car.power": "150 hp", "car.top_speed": "125 mph", "mounts.behind_rear_axle": "15 in",
}  # fmt: skip


@pytest.mark.parametrize("template", BEGIN_TEMPLATES)
def test_the_file_is_a_study_and_says_what_was_answered(template, tmp_path):
    """EXACT: by definition of the inch and the pound."""
    path = tmp_path / "mine.toml"
    path.write_text(study_text(ANSWERS, template), encoding="utf-8")
    study = read_study(path)
    assert study.title == "Shed wing"
    assert study.wing.span_m == pytest.approx(55 * 0.0254)
    assert study.wing.chord_m == pytest.approx(9.875 * 0.0254)
    assert study.roof.inflow[0].angle_deg == 0.0
    assert study.units == DisplayUnits("mph", "in", "lbf")
    assert (study.car is not None) == (template == "car")
    if study.car:
        assert study.car.mass_kg == pytest.approx(2500 * 0.45359237)
        assert study.car.front_share == pytest.approx(0.53)
    assert len(questions_of(template)) <= 15


@pytest.mark.parametrize("template", BEGIN_TEMPLATES)
def test_a_second_run_keeps_the_answers_and_changes_one(template, tmp_path):
    """EXACT: the file written again from its own answers is the same file, but for what was changed."""
    path = tmp_path / "mine.toml"
    text = study_text(ANSWERS, template)
    path.write_text(text, encoding="utf-8")
    assert study_text(answers_in(path, template), template) == text
    changed = study_text(answers_in(path, template) | {"wing.span": "50 in"}, template)
    assert changed.replace('"50 in"', '"55 in"') == text


def test_what_was_added_by_hand_stays_when_begin_runs_again():
    """EXACT: only the lines of changed answers differ; what was not there is put where it belongs."""
    by_hand = '[splitter] # plywood\noverhang = "80 mm"\n'
    old = study_text(ANSWERS | {"wing.endplate.height": "none"}, "wing") + by_hand
    new = changed_text(old, ANSWERS | {"wing.span": "50 in", "wing.surface": "race"}, "wing")
    gone, come = set(old.splitlines()) - set(new.splitlines()), set(new.splitlines()) - set(old.splitlines())
    assert {line.split(" ")[0] for line in gone} == {"span", "surface"}
    assert {line.split(" ")[0] for line in come} == {"span", "surface", "[wing.endplate]", "height"}
    assert by_hand in new
    assert changed_text(new, ANSWERS | {"wing.span": "50 in", "wing.surface": "race"}, "wing") == new
    with pytest.raises(StudyError, match="holds a .roof. table"):
        changed_text(new, ANSWERS | {"roof": "unknown"}, "wing")
    with_car = changed_text(new, ANSWERS, "car")
    assert with_car.count("[car]") == 1
    assert by_hand in with_car


@pytest.mark.parametrize(
    ("key", "answer", "part"),
    [
        ("wing.chord", "25 m", "usual is 0.08 to 0.6 m"),
        ("wing.chord", "26 mm", "really 0.026 m"),
        ("wing.span", "140", "no unit"),
        ("wing.surface", "shiny", "smooth, race, dirty"),
        ("car.mass", "108 kg", "really 108 kg"),
        ("car.front_share", "530 %", "20 to 80 %"),
        ("car.front_share", "half", "58 %"),
        ("title", 'a "quoted" one', "no quotes"),
    ],
)
def test_an_answer_that_cannot_be_is_asked_again(key, answer, part):
    (question,) = [q for q in questions_of("car") if q.key == key]
    with pytest.raises(WingtoolError, match="(?s).*") as caught:
        checked_answer(question, answer)
    assert part in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_key_that_is_missing_goes_below_its_own_heading(tmp_path):
    """EXACT: a study written by hand without a surface, its endplate's table below [wing]."""
    by_hand = '[wing]\nsection = "4412"\nspan = "55 in"\nchord = "25 cm"\nheight = "1.3 m"\n'
    by_hand += '[wing.endplate]\nheight = "20 cm"\n'
    path = tmp_path / "hand.toml"
    path.write_text(changed_text(by_hand, {"wing.section": "4412", "wing.surface": "dirty"}, "wing"))
    assert read_study(path).wing.surface == "dirty"


@pytest.mark.parametrize("template", BEGIN_TEMPLATES)
def test_a_section_that_nobody_knows_stays_marked_until_another_is_named(template, tmp_path):
    """EXACT: the stand-in is marked in the file, whatever the template; a section named later unmarks it."""
    path = tmp_path / "mine.toml"
    answers = ANSWERS | {"wing.section": "", "title": "unknown"}
    path.write_text(study_text(answers, template), encoding="utf-8")
    study = read_study(path)
    assert (study.title, study.wing.section, study.wing.section_known) == ("unknown", "4412", False)
    held = answers_in(path, template)
    assert changed_text(path.read_text(), held | {"wing.span": "50 in"}, template).count("known = false") == 1
    path.write_text(changed_text(path.read_text(), held | {"wing.section": "0012"}, template))
    study = read_study(path)
    assert (study.wing.section, study.wing.section_known) == ("0012", True)


def test_no_plates_and_defaults(tmp_path):
    path = tmp_path / "plain.toml"
    path.write_text(study_text({"wing.endplate.height": "none"}, "wing"), encoding="utf-8")
    assert read_study(path).wing.endplate is None
    assert answers_in(path, "wing")["wing.endplate.height"] == "none"
    with pytest.raises(StudyError, match="no such file"):  # asked for by name: no study of defaults
        answers_in(tmp_path / "nothing.toml", "wing")


def test_plates_that_are_taken_away_take_their_table_along(tmp_path):
    path = tmp_path / "hatch.toml"
    answers = answers_in(bundled_study(), "wing") | {"wing.endplate.height": "none"}
    path.write_text(changed_text(bundled_study().read_text(), answers, "wing"), encoding="utf-8")
    study = read_study(path)
    assert study.wing.endplate is None
    assert len(study.roof.inflow) == 3


def test_whatever_lies_far_outside_the_usual_in_a_study_is_asked_about(tmp_path):
    text = (bundled_study().read_text().replace('overhang = "80 mm"', 'overhang = "80 cm"')
            .replace("grip = 1.05", "grip = 2.9") + "\n[correction]\ndownforce_factor = -1.0\n")  # fmt: skip
    path = tmp_path / "s.toml"
    path.write_text(text)
    asked = unusual_values(read_study(path))
    parts = ("factor on the downforce really -1?", "grip really 2.9 g?", "splitter really 0.8 m?")
    assert all(part in sentence for part, sentence in zip(parts, asked, strict=True))
    assert unusual_values(read_study(bundled_study())) == []
