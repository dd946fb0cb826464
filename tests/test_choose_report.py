"""What a choice says: one answer on the screen, page and picture, in the units of the study."""

from dataclasses import replace

import numpy as np

from wingtool.cli.screen import show
from wingtool.geometry import four_digit
from wingtool.report import choice_sheet, choice_table, write_choice, write_tolerances
from wingtool.study import Design, Tolerances, bundled_study, read_study
from wingtool.study.choose.aim import Aim, WorkingPoint
from wingtool.study.choose.choose_section import Choice
from wingtool.study.choose.filters import Filters
from wingtool.study.choose.finalists import Finalist
from wingtool.study.choose.terms import Terms
from wingtool.study.choose.tolerances import Tolerance, harm_of
from wingtool.units import DisplayUnits
from wingtool.wing import Force

DOLLARS = "Six $ and { $7"  # between two dollars a plotting library reads mathematics
METRIC = DisplayUnits()


def finalist(name: str, newton: float, origin: str = "family") -> Finalist:
    point = WorkingPoint(5.0, 4.5, Force(newton, 0.9 * newton, 1.1 * newton), Force(35.0, 30.0, 40.0), newton)
    return Finalist(name, origin, four_digit("4412"), np.zeros(26), None, point, 5.0, 5.0,
                    stall_drop=0.02, dirt_loss=-0.001, error_loss=0.01)  # fmt: skip


def choice(design: bool = False, units: DisplayUnits = METRIC) -> Choice:
    study = read_study(bundled_study()).model_copy(update={"title": DOLLARS})
    study._units = units
    best, other = finalist("4412", 500.0), finalist("odd/mine.dat", 498.0, "folder")
    own = finalist("6412", 440.0, "own")
    made = replace(finalist("made, stage 4", 510.0, "designed"), stall_drop=0.23)
    values = {"smooth": 504.0, "race": 510.0, "dirty": 499.0}
    surfaces = tuple((name, 500.0, value, 7.0) for name, value in values.items())
    left = Design(made, best, 40.0, surfaces, 3000) if design else None
    terms = Terms(study, Aim("downforce", 4.5, 1210.0), Filters(), (160 / 3.6,), 160 / 3.6, None)
    return Choice(
        terms=terms, groups=((best, other), (own,)),
        own=own, own_fails="nose radius of 3 mm", design=left,
        failed=(replace(own, name="bad", status="behind the best ten"),), candidates=9,
        left_out=((3, "by the filters: nose radius of 3 mm (3)"),), repeat=4.0,
    )  # fmt: skip


def test_the_answer_comes_first_and_in_the_units_of_the_study():
    """EXACT: 500 N is 112 lbf; 12 % of 250 mm are 30; a gain would repeat the downforce."""
    sheet = choice_sheet(choice())
    assert sheet.answer[0].startswith("Build NACA 4412, never beyond 5°; `run` sets the start")
    assert "Compared at 5°: 500 N (51 kgf, 112 lbf) at 160 km/h" in sheet.answer[0]
    assert sheet.answer[0].endswith("gentle stall (2 % lost 3° past it).")
    assert "gain s" not in sheet.headings
    assert sheet.rows[0][:7] == ("1", "5°", "500", "5.0", "35", "30", "2/0/1")  # no minus before a zero
    assert any(
        "6412 (which does not pass: nose radius of 3 mm): +60 N ± 7.1 N." in line for line in sheet.answer
    )
    assert any("1  behind the best ten: bad" in line for line in sheet.after)
    sheet = choice_sheet(choice(units=DisplayUnits("mph", "in", "lbf")))
    assert "Compared at 5°: 112 lbf (500 N) at 99 mph" in sheet.answer[0]
    assert sheet.headings[2] == "down lbf"
    assert sheet.rows[0][2:6] == ("112", "1.12", "7.9", "1.2")


def test_the_end_is_rounded_down_as_the_advice_does():
    """EXACT: 13.32 less 4.5 are 8.8 degrees, of which `run` advises 8."""
    found = choice()
    best = replace(found.groups[0][0], point=replace(found.groups[0][0].point, angle_deg=8.82))
    told = choice_sheet(replace(found, groups=((best,),))).answer[0]
    assert "never beyond 8°" in told
    assert "Compared at 8.8°" in told


def test_the_table_of_a_choice_keeps_to_the_screen(capsys):
    """80 columns with the gain, its band and the longest usual name."""
    found = choice(units=DisplayUnits("mph", "in", "lbf"))
    best = replace(found.groups[0][0], name="fx76mp160-il", origin="collection", half_width=0.05,
                   stall_drop=0.12, dirt_loss=0.11, error_loss=0.02)  # fmt: skip
    lap = replace(found.terms, aim=Aim("lap", 4.5, 1210.0))
    sheet = choice_sheet(replace(found, terms=lap, groups=((best,),)))
    show(sheet.headings, sheet.rows)
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == len(sheet.rows) + 1
    assert max(map(len, lines)) <= 80


def test_an_angle_to_spare_below_zero_is_told_to_keep_no_margin():
    """A reader must not take a section of −3° to spare for one that keeps the margin."""
    found = choice()
    spare = replace(found, terms=replace(found.terms, aim=Aim("spare", 4.5, 1210.0)))
    assert choice_sheet(found).answer[-1] == "Aim: downforce; each keeps 4.5° from its stall."
    assert (
        choice_sheet(spare).answer[-1].endswith("beyond the advised margin of 4.5°; below 0° it is not kept.")
    )


def test_how_much_of_a_predicted_gain_is_confirmed_is_told():
    """EXACT: 10 N of 40 predicted are 25 %; 4 and -1 of a band of 7 are no difference; 23 % are abrupt."""
    told = " ".join(choice_sheet(choice(design=True)).answer)
    assert "Made for this wing (5°, 510 N (52 kgf, 115 lbf), abrupt stall (23 % lost 3° past it))" in told
    assert (
        "smooth +4.0 N ± 7.0 N, no difference that you could measure; race +10.0 N ± 7.0 N; dirty −1.00 N"
        in told
    )
    assert "The surrogate predicted 40 N; 25 % of it is confirmed by the solver" in told


def test_the_folder_holds_page_picture_and_what_is_cut(tmp_path):
    """A dollar in a title or a name is a dollar; both sections get coordinates and a template."""
    found = choice(design=True)
    first = replace(found.groups[0][0], name=DOLLARS, section=replace(four_digit("4412"), name=DOLLARS))
    written = write_choice(replace(found, groups=((first,),)), tmp_path)
    assert {path.name for path in written} >= {"page.html", "best.svg", "section.dat", "template.pdf",
                                               "designed.dat", "designed.pdf"}  # fmt: skip
    assert DOLLARS in (tmp_path / "page.html").read_text(encoding="utf-8")
    assert "Made for this wing" in (tmp_path / "page.html").read_text(encoding="utf-8")


def test_the_table_of_a_choice_names_every_section():
    """EXACT: three sections, three rows."""
    names = ["NACA 4412", "mine.dat", "6412 (yours)"]
    assert [row[-1] for row in choice_sheet(choice()).rows] == names
    assert choice_sheet(replace(choice(), groups=())).rows == []
    assert len(choice_table(choice()).rows) == len(names)


def test_building_errors_have_a_page_with_their_picture(tmp_path):
    """EXACT: the three of most harm are the answer: 50 N of 500 weigh as a degree of stall."""
    study = read_study(bundled_study())
    sizes = ((-30.0, -0.1, "tail"), (-5.0, -1.0, "nose"), (-1.0, 0.0, "crest"), (-100.0, 0.0, DOLLARS))
    found = tuple(
        Tolerance(name, "1 mm", (0.1, 0.5, "both"), *change, harm_of(np.array(change), 500.0))
        for *change, name in ((down, stall, np.nan, name) for down, stall, name in sizes)
    )
    order = tuple(sorted(found, key=lambda one: -one.harm))
    assert [one.name for one in order] == [DOLLARS, "nose", "tail", "crest"]
    written = write_tolerances(
        Tolerances(study, four_digit("4412"), 5.0, 44.0, 500.0, 12.0, np.nan, order), tmp_path
    )
    page = written[0].read_text(encoding="utf-8")
    assert f"Take most care of: {DOLLARS} (1 mm); nose (1 mm); tail (1 mm)." in page
    assert "<svg" in page
