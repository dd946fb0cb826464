"""What a choice says: one answer on the screen, page and picture, in the units of the study."""

from dataclasses import replace

import numpy as np
import pytest

from wingtool.geometry import four_digit
from wingtool.report import choice_lines, write_choice
from wingtool.study import Design, bundled_study, read_study
from wingtool.study.choose.aim import Aim
from wingtool.study.choose.finalists import Finalist
from wingtool.study.choose.run import Choice
from wingtool.units import DisplayUnits

DOLLARS = "Six $ and { $7"  # between two dollars a plotting library reads mathematics
METRIC = DisplayUnits()


def finalist(name: str, newton: float, origin: str = "family") -> Finalist:
    three = (0.9 * newton, newton, 1.1 * newton)
    return Finalist(name, origin, four_digit("4412"), name, np.zeros(26), 5.0, 4.5, three, (30.0, 35.0, 40.0),
                    5.0, 1.0, newton, 5.0, 0.02, "converged", -0.001, 0.01)  # fmt: skip


def choice(design: bool = False, units: DisplayUnits = METRIC) -> Choice:
    study = read_study(bundled_study()).model_copy(update={"title": DOLLARS})
    study._units = units
    best, other = finalist("4412", 500.0), finalist("odd/mine.dat", 498.0, "folder")
    own, made = finalist("6412", 440.0, "own"), finalist("made, stage 4", 510.0, "designed")
    values = {"smooth": 504.0, "race": 510.0, "dirty": 499.0}
    surfaces = tuple((name, 500.0, value, 7.0) for name, value in values.items())
    left = Design(made, best, 40.0, surfaces, 3000) if design else None
    return Choice(
        study=study, aim=Aim("downforce", 4.5, 1210.0), speed_m_s=160 / 3.6, groups=((best, other), (own,)),
        own=own, own_fails="nose radius of 3 mm", design=left,
        failed=(replace(own, name="bad", value=-np.inf, status="behind the best ten"),), candidates=9,
        left_out=((3, "by the filters: nose radius of 3 mm (3)"),), repeat=4.0, agreement=0.85,
    )  # fmt: skip


def test_the_answer_comes_first_and_in_the_units_of_the_study():
    """EXACT: 500 N is 112 lbf; ordinates span 12.7 % of 250 mm; a gain would repeat the downforce."""
    headings, rows, before, after = choice_lines(choice())
    assert before[0].startswith("Build NACA 4412 at 5°: 500 N (51 kgf, 112 lbf) at 160 km/h")
    assert "gain s" not in headings
    assert rows[0][:7] == ("1", "5°", "500", "5.0", "35", "32", "2 %")
    assert rows[0][7] == "0 %"  # no minus before a nought
    assert any("6412 (which does not pass: nose radius of 3 mm): +60 N ± 7.1 N." in line for line in before)
    assert any("1  behind the best ten: bad" in line for line in after)
    headings, rows, before, _ = choice_lines(choice(units=DisplayUnits("mph", "in", "lbf")))
    assert before[0].startswith("Build NACA 4412 at 5°: 112 lbf (500 N) at 99 mph")
    assert headings[2] == "downforce lbf"
    assert rows[0][2:6] == ("112", "1.12", "7.9", "1.3")


def test_what_is_left_of_a_promised_gain_is_told():
    """EXACT: 10 N of 40 promised are 25 %; 4 and -1 of a band of 7 are no difference."""
    told = " ".join(choice_lines(choice(design=True))[2])
    assert (
        "smooth +4.0 N ± 7.0 N, no difference that you could measure; race +10.0 N ± 7.0 N; dirty −1.00 N"
        in told
    )
    assert "The search promised 40 N; 25 % of it is left by the solver" in told


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
    assert [row[-1] for row in choice_lines(choice())[1]] == ["NACA 4412", "mine.dat", "6412 (yours)"]
    with pytest.raises(IndexError):
        choice_lines(replace(choice(), groups=()))[1][0]
