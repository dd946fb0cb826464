"""A first study from answers: each answer checked, the file read by `run`, a rerun keeps the answers."""

import tomllib
from types import SimpleNamespace

import pytest
from typer.testing import CliRunner

from wingtool.cli.app import app
from wingtool.errors import StudyError, WingtoolError
from wingtool.report.top_cautions import top_cautions
from wingtool.study import (
    BEGIN_TEMPLATES,
    UnusualAnswer,
    answers_given,
    answers_in,
    bundled_study,
    changed_text,
    checked_answer,
    default_of,
    doubtful_answers,
    questions_of,
    read_study,
    study_text,
    usual_taken,
    write_study,
)
from wingtool.study.begin.write import answers_held
from wingtool.study.plausible import unusual, unusual_values
from wingtool.study.schema.key_lines import NOT_ANSWERED
from wingtool.study.whole_study import asked_about
from wingtool.units import KG_PER_LB, DisplayUnits, quantity

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
        ("wing.chord", "25 m", "usual is 120 to 500 mm"),
        ("wing.chord", "26 mm", "really 26 mm"),
        ("wing.span", "140", "no unit"),
        ("wing.surface", "shiny", "smooth, race, dirty"),
        ("car.mass", "108 kg", "really 108 kg"),
        ("wing.span", "54 cm", "really 540 mm"),
        ("wing.chord", "4 in", "really 4 in? usual is 4.72 to 19.7 in"),
        ("wing.height", "54 cm", "really 540 mm"),
        ("mounts.behind_rear_axle", "-48 in", "really -48 in?"),
        ("car.front_share", "62 %", "front-driven"),
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
    path.write_text(text.replace('radius = "25 m"', 'radius = "6 m"'))
    asked = unusual_values(read_study(path))
    parts = ("factor on the downforce really -1?", "grip really 2.9 g?", "splitter really 800 mm?",
             "tightest corner really 6 m? usual is 8 to 500 m")  # fmt: skip
    assert all(part in sentence for part, sentence in zip(parts, asked, strict=True))
    assert unusual_values(read_study(bundled_study())) == []
    far = {"roof": {"wing_behind": "20 m"}, "spar": {"bench_sag": "4 m"}, "oil": {"trusted_time": "2 h"}}
    soft = {"splitter": {"thickness": "12 m"}}
    asked = unusual_values(read_study(bundled_study(), far | soft))
    parts = (
        "roof edge really 20000 mm?",
        "splitter really 12000 mm?",
        "bench really 4000 mm?",
        "really 7200 s?",
    )
    assert all(part in sentence for part, sentence in zip(parts, asked, strict=True))


def question(key):
    return next(q for q in questions_of("car") if q.key == key)


@pytest.mark.parametrize("key", [q.key for q in questions_of("car") if q.default_us])
def test_defaults_are_in_the_units_of_the_answers_so_far(key):
    """EXACT: both defaults are the same size to a twentieth, by the definitions of the units."""
    asked = question(key)
    so_far = {q.key: ANSWERS[q.key] for q in questions_of("car")[: questions_of("car").index(asked)]}
    metric, us = checked_answer(asked, "", so_far={}), checked_answer(asked, "", so_far=so_far)
    if key != "wing.span":  # the first size: nothing is known of the user's units
        assert us == default_of(asked, so_far) == asked.default_us
    kind = asked.kind.split(" ")[0]
    assert quantity(asked.default_us, kind, key) == pytest.approx(quantity(metric, kind, key), rel=0.05)


def test_units_follow_the_last_answer_of_the_kind():
    """EXACT: lengths in mm and a mass in kg with power in hp, as in Britain."""
    so_far = {"wing.span": "1400 mm", "car.mass": "1100 kg", "car.power": "130 hp"}
    assert default_of(question("car.wheelbase"), so_far) == "2.5 m"
    assert default_of(question("mounts.behind_rear_axle"), so_far) == "40 cm"
    assert default_of(question("car.top_speed"), so_far) == "130 mph"
    assert (
        default_of(question("wing.height"), {"wing.span": "55in", "wing.endplate.height": "none"}) == "48 in"
    )


@pytest.mark.parametrize("word", ["dunno", "Don\u2019t know", "?", "unknown", "no idea."])
@pytest.mark.parametrize("asked", questions_of("car")[1:], ids=lambda q: q.key)
def test_not_known_is_the_same_answer_everywhere(asked, word):
    assert checked_answer(asked, word) == checked_answer(asked, "") == asked.default


def test_a_drag_area_that_cars_do_not_have_is_asked_about_at_once():
    """EXACT: by hand 96.9 kW / 49.2 m/s is 1971 N, less 167 N of rolling, over a q of 1481 Pa: 1.22 m2."""
    answers = ANSWERS | {"car.power": "130 hp", "car.top_speed": "110 mph"}
    with pytest.raises(UnusualAnswer, match=r"area of 1\.22 m2"):
        checked_answer(question("car.top_speed"), "110 mph", so_far=answers)
    assert checked_answer(question("car.top_speed"), "110 mph", so_far=answers, sure=True) == "110 mph"
    assert [text.split(":")[0] for text in doubtful_answers(answers, "car")] == ["car.top_speed"]
    assert doubtful_answers({}, "car") == []
    slippery = ANSWERS | {"car.power": "60 hp", "car.top_speed": "130 mph"}
    with pytest.raises(UnusualAnswer, match="drag area of"):
        checked_answer(question("car.top_speed"), "130 mph", so_far=slippery)
    blunt = ANSWERS | {"car.power": "115 hp", "car.top_speed": "110 mph"}  # 1.06 m2, as open cars may have
    with pytest.raises(UnusualAnswer, match="drag area of"):
        checked_answer(question("car.top_speed"), "110 mph", so_far=blunt)
    open_car = blunt | {"car.body": "open"}
    assert checked_answer(question("car.top_speed"), "110 mph", so_far=open_car) == "110 mph"


def test_answers_that_do_not_go_together_leave_no_file(tmp_path):
    path = tmp_path / "mine.toml"
    with pytest.raises(StudyError, match="cannot reach"):
        write_study(study_text(ANSWERS, "car").replace('"150 hp"', '"10 hp"'), path)
    assert not path.exists()


def test_a_section_that_nothing_has_leaves_no_file(tmp_path):
    path = tmp_path / "mine.toml"
    with pytest.raises(WingtoolError, match="(?i)clark"):
        write_study(study_text(ANSWERS | {"wing.section": "Clark"}, "wing"), path)
    assert not path.exists()


def test_an_answer_given_twice_is_kept_and_one_that_cannot_be_asked_again(monkeypatch, tmp_path, capsys):
    from wingtool.cli.commands import begin

    given = iter(["", "Clark", "4412", "-55 in", "54 cm", "54 cm", *[""] * 5])
    monkeypatch.setattr(begin.typer, "prompt", lambda *_, **__: next(given))
    assert begin._ask("wing", {}, tmp_path)["wing.span"] == "54 cm"
    asked_again = capsys.readouterr().out
    assert "  -55 in must be above 0 and at most 100 m" in asked_again
    assert "'Clark'" in asked_again


def test_a_wing_of_unknown_section_is_not_asked_for_its_section(monkeypatch, tmp_path):
    from wingtool.cli.commands import begin

    asked: list[str] = []
    monkeypatch.setattr(begin.typer, "prompt", lambda shown, **_: asked.append(shown.strip()) or "")
    begin._ask("surplus", {}, tmp_path)
    assert asked.count("[unknown]") == 1  # the roof's


@pytest.mark.parametrize(
    ("text", "template", "said"),
    [
        ('[wing]\ncord = "10 in"\n', "wing", "line 2: unknown key wing.cord; did you mean wing.chord?"),
        ("[foo]\nx = 1\n", "wing", "line 1: unknown key foo; did you mean roof?"),
        ('[car]\nmass = "2500 lb"\n', "surplus", "line 1: unknown key car; it goes with --template car"),
        ('wing = {spam = "55 in"}\n', "wing", "line 1: unknown key wing.spam; did you mean wing.span?"),
        ('[splitter]\noverhang = "8 cm"\n', "car", "line 1: unknown key splitter; nearest is title"),
        ("wing = 3\n", "wing", "line 1: wing has the wrong form"),
        ('[wing]\nspan = ["55 in"]\n', "wing", "line 2: wing.span has the wrong form"),
        ('[wing]\nspan = "-55 in"\n', "wing", "line 2: wing.span: -55 in must be above 0 and at most 100 m"),
        ('[wing]\n\nspan = "55"\n', "wing", "line 3: wing.span: '55' has no unit"),
        ('[car]\nfront_share = "9 %"\n', "car", "line 2: car.front_share: '9 %' is not 20 to 80 %"),
    ],
)
def test_a_file_of_answers_is_held_to_its_questions(text, template, said, tmp_path):
    """In one line that names the file and the key, and nothing is written."""
    given, out = tmp_path / "answers.txt", tmp_path / "mine.toml"
    given.write_text(text)
    done = CliRunner().invoke(app, ["begin", str(out), "--template", template, "--answers", str(given)])
    assert isinstance(done.exception, StudyError)
    assert str(done.exception).startswith(f"{given}, {said}")
    assert "\n" not in str(done.exception)
    assert not out.exists()


def test_what_was_not_answered_is_marked_until_it_is(tmp_path):
    """EXACT: the rest of what is asked stands marked in the file, and in the command's words."""
    given, out = tmp_path / "answers.txt", tmp_path / "mine.toml"
    given.write_text('wing.span = "55 in"\ncar.mass = "2500 lb"\nwing.endplate.height = "?"\n')
    command = ["begin", str(out), "--template", "car", "--answers", str(given)]
    printed = " ".join(CliRunner().invoke(app, command).output.split())
    marked = {line.split()[0] for line in out.read_text().splitlines() if NOT_ANSWERED in line}
    taken = usual_taken(out.read_text(), "car")
    assert {key.rpartition(".")[2] for key in taken} == marked
    assert out.read_text().count("# roof not answered") == 1
    assert set(taken) == {
        "wing.chord", "wing.height", "wing.endplate.height", "wing.surface", "car.body", "car.front_share",
        "car.wheelbase", "car.power", "car.top_speed", "mounts.behind_rear_axle",
    }  # fmt: skip
    assert "car.front_share 58 %, car.wheelbase 98 in" in printed
    (caution,) = asked_about(read_study(out))
    screen = "Not answered, so usual values stand for 10 keys, marked in the study"
    assert caution.text.startswith(f"{screen}: wing.chord, ")
    alone = SimpleNamespace(
        advice=SimpleNamespace(cautions=(caution,)),
        car=None,
        study=read_study(out),
        section=SimpleNamespace(doubts=()),
        doubts=(),
        measures=SimpleNamespace(warnings=()),
    )
    assert f"{screen}." in top_cautions(alone)
    assert set(read_study(out).not_answered) == set(taken)
    given.write_text('car.wheelbase = "98 in"\nwing.endplate.height = "none"\n')
    assert CliRunner().invoke(app, command).exit_code == 0
    assert out.read_text().count("# roof not answered") == 1
    assert "roof not answered" not in changed_text(out.read_text(), {"roof": "free"}, "car")
    now = usual_taken(out.read_text(), "car")
    assert set(taken) - set(now) == {"car.wheelbase", "wing.endplate.height"}
    assert read_study(out).wing.endplate is None
    by_hand = out.read_text().replace('"135 hp"', '"120 hp"')
    assert answers_held(by_hand, "car")["car.power"] == "120 hp"
    assert "car.power" not in usual_taken(by_hand, "car")


@pytest.mark.parametrize("template", BEGIN_TEMPLATES)
def test_the_questions_are_printed_as_a_file_of_answers(template, tmp_path):
    """EXACT: every key with its default; the study of them all is that of no answers, but for the marks."""
    given = tmp_path / "answers.txt"
    given.write_text(CliRunner().invoke(app, ["begin", "--questions", "--template", template]).output)
    answers = answers_given(given, template)
    assert answers == {q.key: q.default for q in questions_of(template)}
    values = [tomllib.loads(study_text(some, template)) for some in (answers, {})]
    assert values[0] == values[1]
    assert values[0]["wing"]["endplate"]["height"] == "20 cm"  # what is left out is what Enter takes


SLIPS = {"length": (2.54, 10.0, 25.4), "mass": (KG_PER_LB, 10.0), "power": (10.0,), "speed": (10.0,)}


@pytest.mark.parametrize("key", [q.key for q in questions_of("car") if q.default_us])
def test_a_slip_of_the_unit_is_asked_about(key):
    """EXACT: inches for cm or mm, pounds for kg, a decimal place, either way from the usual size."""
    kind = question(key).kind.split(" ")[0]
    size = quantity(question(key).default, kind, key)
    for slip in SLIPS[kind]:
        assert "usual is" in unusual(key, size * max(slip, 1 / slip))
        if key != "mounts.behind_rear_axle":  # a wing may stand above the axle
            assert "usual is" in unusual(key, size * min(slip, 1 / slip))


def test_enter_at_the_terminal_is_no_answer(monkeypatch, tmp_path):
    from wingtool.cli.commands import begin

    typed = iter(["", "4412", "55 in", *[""] * 5])
    monkeypatch.setattr(begin.typer, "prompt", lambda *_, **__: next(typed))
    text = study_text(begin._ask("wing", {}, tmp_path), "wing")
    keys = ["wing.chord", "wing.height", "wing.endplate.height", "wing.surface"]
    assert sorted(usual_taken(text, "wing")) == sorted(keys)


def test_a_file_that_holds_no_answer_is_kept(tmp_path):
    """EXACT: what stands in it stays, whatever begin asks about."""
    given, out = tmp_path / "answers.txt", tmp_path / "mine.toml"
    given.write_text('wing.span = "55 in"\n')
    out.write_text('note = "mine"\n')
    assert CliRunner().invoke(app, ["begin", str(out), "--answers", str(given)]).exit_code == 0
    assert read_study(out).note == "mine"


def test_a_size_that_is_no_longer_known_is_marked_again():
    """EXACT: the usual value stands in its line, and the line says so."""
    known = study_text(ANSWERS | {"wing.chord": "9 in"}, "wing")
    assert usual_taken(changed_text(known, ANSWERS | {"wing.chord": "?"}, "wing"), "wing") == {
        "wing.chord": "10 in"
    }
