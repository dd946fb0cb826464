"""The study's page as text: what it tells, that it is escaped, and that odd studies still make one."""

import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wingtool.report import answer_lines
from wingtool.report.answer_text import at_speed, gauge_words
from wingtool.report.page.car_side import side_of
from wingtool.report.page.pictures import stall_along_span
from wingtool.report.page.svg import Frame, nice_ticks, points
from wingtool.report.page.write import page_html
from wingtool.report.text import degrees, figures, force, signed
from wingtool.report.top_cautions import top_cautions
from wingtool.study import bundled_study, read_study, run_study, section_unknown, top_face
from wingtool.study.cautions import Caution
from wingtool.wing import Force

PLAN_B = bundled_study("green_hatch_plan_b")
QUICK = {"wing": {"method": "surrogate", "surface": "race"}}
FORCES = ("downforce", "drag")


@pytest.fixture(scope="module")
def result():
    few = {"sweep": {"angles": "-2:16:3", "speeds": ["60 mph", "90 mph", "120 mph"]}}
    return run_study(read_study(PLAN_B, few | QUICK))


def table_of(text):
    return json.loads(re.search(r'<script type="application/json" id="table">(.*?)</script>', text, re.S)[1])


class Outline(HTMLParser):
    """Open tags that are never closed, ids that stand twice, labels without their input."""

    VOID = frozenset(["meta", "link", "input", "br", "img"])

    def __init__(self):
        super().__init__()
        self.open, self.ids, self.wanted = [], [], []

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        self.ids += [found["id"]] if "id" in found else []
        self.wanted += [found["for"]] if "for" in found else []
        self.wanted += (found.get("aria-labelledby") or "").split()
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        self.open.pop()

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def test_the_page_is_well_formed(result):
    text = page_html(result)
    outline = Outline()
    outline.feed(text)
    assert outline.open == []
    assert len(set(outline.ids)) == len(outline.ids)
    assert set(outline.wanted) <= set(outline.ids)
    for svg in re.findall(r"<svg.*?</svg>", text, re.S):
        root = ET.fromstring(svg)
        assert root.find("title").text
        assert root.find("desc").text
        assert not re.search(r"nan|inf\b", svg)


def test_the_sliders_table_is_the_studys_table(result):
    """EXACT: force over dynamic pressure, to seven digits, for the study's own tab."""
    table = table_of(page_html(result))
    wing = result.wing
    (own,) = [tab for tab in table["tabs"] if tab["tab_m"] == (result.study.wing.tab_m or 0.0)]
    pressure = wing.air.dynamic_pressure_pa(wing.speed_m_s)[:, None]
    for name in FORCES:
        for end, newton in zip(("", "_low", "_high"), getattr(wing, name), strict=True):
            area = np.array(own[f"{name}_area_m2{end}"], dtype=float)
            np.testing.assert_allclose(area * pressure, newton, rtol=1e-6)
    words = [[table["words"][k] for k in row] for row in own["status"]]
    assert words == wing.status.tolist()
    assert len(table["tabs"]) >= 3


def test_a_body_that_nobody_measured_ends_ahead_of_the_wing(result):
    """EXACT: all of the drawn body above the plate's lower edge lies ahead of the plate's front edge."""
    wing = result.study.wing
    plate, side = wing.endplate, side_of(result)
    edges = np.linspace(side.outline_m, np.roll(side.outline_m, -1, axis=0), 50).reshape(-1, 2)
    beside = edges[edges[:, 1] >= wing.height_m + plate.above_m - plate.height_m]
    assert beside[:, 0].max() < side.wing_x_m - 0.25 * wing.chord_m


def test_what_the_user_wrote_is_escaped(result):
    evil = '</script><script>alert(1)</script><img src=x onerror=alert(1)>&"'
    study = result.study.model_copy(update={"title": evil[:190], "note": evil})
    text = page_html(replace(result, study=study, section=replace(result.section, name=evil, origin=evil)))
    assert "alert(1)</script>" not in text
    assert "<img" not in text
    assert text.count("<script") == 2


def test_points_that_did_not_converge_are_null_and_drawn_as_gaps(result):
    hole = result.wing.downforce.n.copy()
    hole[1, 2] = np.nan
    wing = replace(result.wing, downforce=replace(result.wing.downforce, n=hole))
    text = page_html(replace(result, wing=wing, tabs=()))
    assert table_of(text)["tabs"][0]["downforce_area_m2"][1][2] is None
    assert "NaN" not in text


def test_a_table_without_any_number_still_makes_a_page(result):
    nan = np.full_like(result.wing.downforce.n, np.nan)
    empty = dict.fromkeys(FORCES, Force(nan, nan, nan))
    empty |= dict.fromkeys(("CL", "CD", "stall_margin_deg", "reynolds"), nan)
    strips = np.full_like(result.wing.strip_margin_deg, np.nan)
    wing = replace(result.wing, **empty, strip_margin_deg=strips)
    assert "<svg" in page_html(replace(result, wing=wing, tabs=()))


@pytest.mark.parametrize("sweep", [{"speeds": ["100 mph"]}, {"angles": "0:1:1"}, {"angles": "25:30:1"}])
def test_odd_sweeps_still_make_a_page(sweep):
    text = page_html(run_study(read_study(PLAN_B, {"sweep": sweep} | QUICK)))
    assert not any(re.search(r"nan|inf\b", svg) for svg in re.findall(r"<svg.*?</svg>", text, re.S))


def test_the_study_has_a_figure(result):
    from wingtool import plot

    ax = plot(result, quantity="drag_n")
    assert ax.get_title() == result.study.title
    assert len(ax.lines) == len(result.wing.speed_m_s)


def test_cautions_stand_at_their_number_and_bands_tell_their_origin(result):
    text = page_html(result)
    forces = text.index("Forces at each speed")
    assert text.index("Mounts fail before wings do") < forces < text.index("Largest force of the table")
    for caution in top_cautions(result):
        assert text.count(caution.split("'")[0]) == 1
    shown = re.findall(r'<p class="(?:caution|soft)">(.*?)</p>', text)
    assert len(set(shown)) == len(shown)
    assert result.wing.band_origin.split(";")[0].split("(")[0].strip() in text
    assert f"wingtool {result.version}, {result.date}" in text
    assert "a level floor: straightedge on top, tab off, " in text  # a tab lies in the straightedge's way


def test_the_page_says_why_the_range_ends_and_why_there_is_none(result):
    """EXACT: the advice's own words, once each, also where no stall is met."""
    ends = "the next angle is not sound (low confidence)"
    no_stall = replace(result.advice, stall_deg=np.nan, ends_because=ends)
    text = page_html(replace(result, advice=no_stall))
    assert "no stall was found" in text
    assert ends in text
    doubt, slip = "no angle keeps it", "Is the chord of the wing really 25 mm? usual is 120 to 500 mm."
    nan = dict.fromkeys(("start_deg", "high_deg", "stall_deg"), np.nan)
    cautions = (*result.advice.cautions, Caution("force", slip))
    none = replace(result.advice, **nan, doubt=doubt, cautions=cautions)
    without = replace(result, advice=none, doubts=(doubt, "another doubt"))
    screen = "\n".join(answer_lines(without))
    assert f"CHECK {slip} ANGLE none can be advised." in " ".join(screen.split())
    assert screen.count("really") == 1
    assert not re.search(r"^(BALANCE|LAP|STRAIGHT|GAUGE)", screen, re.M)
    text = page_html(without)
    assert table_of(text)["reliable"] == "no angle can be advised"
    assert text.count("No angle keeps it.") == 1
    assert "Another doubt." in text


def test_a_section_and_a_roof_that_nobody_knows_come_first_and_are_never_called_reliable(result):
    """EXACT: the sentence stands first on screen and page; the sliders take the roof's 6 degrees off."""
    study = read_study(PLAN_B, {"wing": {"section": "4412", "section_known": False}})
    unsure = replace(result, study=study, advice=replace(result.advice, roof_band_deg=None),
                     doubts=section_unknown(study))  # fmt: skip
    said = "Section not known: 4412 stands in. Trust neither angle nor force until you trace yours"
    assert " ".join(" ".join(answer_lines(unsure)[1:3]).split()).startswith(f"NOT TRUSTWORTHY: {said}")
    text = page_html(unsure)
    assert text.index(said) < text.index("Provisional: start at ")
    assert "run here" not in text
    assert "run here" in page_html(result)
    stall = unsure.advice.stall_deg
    assert f"{degrees(stall - 6.0)} to {degrees(stall)}" in text  # the air comes down, never up
    table = table_of(text)
    assert table["reliable"] == "provisional, section not known, roof not measured"
    assert table["roof_off_deg"] == 6.0
    sure = table_of(page_html(replace(result, advice=replace(result.advice, roof_band_deg=1.5))))
    assert (sure["reliable"], sure["roof_off_deg"]) == ("yes", 0.0)


def test_the_picture_of_the_span_leaves_as_many_degrees_as_the_end_line(result):
    """EXACT: the stall of the answer, less its last angle, and less what is kept for an unmeasured roof."""
    advice = result.advice
    for band, off in ((1.5, 0.0), (None, 6.0)):
        figure = stall_along_span(replace(result, advice=replace(advice, roof_band_deg=band)))
        left = round(advice.stall_deg, 1) - advice.high_deg - off
        assert f" {left:.1f} degrees of wing angle beyond the end angle".replace("-", "−") in figure.text


def test_every_part_of_the_wing_is_among_what_it_was_computed_from(result):
    element = {"section": "4412", "chord": "6 cm", "angle_deg": 20.0, "gap": "4 mm", "overlap": "2 mm"}
    study = read_study(PLAN_B, {"wing": {"element": [element]}})
    text = page_html(replace(result, study=study))
    assert "4412, chord 2.4 in (60 mm) at 20°" in text


@given(st.floats(-1e7, 1e7).filter(lambda v: abs(v) > 1e-6))
def test_figures_keep_two_or_three_digits(value):
    shown = float(figures(value).replace("−", "-"))
    assert shown == pytest.approx(value, rel=0.05)
    assert "e" not in figures(value)


def test_forces_are_told_in_both_systems():
    """EXACT: 1 kgf is 9.80665 N, 1 lbf is 4.448222 N."""
    assert force(444.8) == "440 N (45 kgf, 100 lbf)"


@given(st.floats(-1e5, 1e5), st.floats(1e-3, 1e5))
def test_ticks_lie_inside_and_are_few(low, span):
    ticks = nice_ticks(low, low + span)
    assert len(ticks) <= 12
    if len(ticks):
        assert ticks[0] >= low - 1e-6 * span
        assert ticks[-1] <= low + span * (1 + 1e-6)


def test_a_missing_value_breaks_a_line():
    frame = Frame((0.0, 2.0), (0.0, 1.0), left=0.0, top=0.0, width=2.0, height=1.0)
    assert points(*frame.at([0.0, 1.0, 2.0], [0.0, np.nan, 1.0])) == "M0.0 1.0M2.0 0.0"


def test_the_page_answers_without_scripts():
    """EXACT: force at the reference speed is a row of the table; axle loads are those of the car's table."""
    result = run_study(read_study(bundled_study(), QUICK))
    text, wing, loads = page_html(result), result.wing, result.car.loads
    k = int(np.argmin(np.abs(wing.speed_m_s - result.car.reference_speed_m_s)))
    m = int(np.argmin(np.abs(wing.wing_angle_deg - result.advice.start_deg)))
    said = dict(re.findall(r'<text id="say-(\w+)"[^>]*>([^<]*)<', text))
    assert said["at"].startswith("At 160 km/h")
    assert said["down"] == f"wing downforce {figures(float(wing.downforce.n[k, m]))} N"
    assert said["rear"].removeprefix("+") == f"{figures(float(loads.rear_air_n[k, m]))} N"
    assert f"±{degrees(result.advice.roof_band_deg)}" in text
    advice, top_deg = result.advice, round(top_face(result.section).offset_deg, 1)
    shown = ", ".join(f"{degrees(a - top_deg)} for {degrees(a)}" for a in (advice.start_deg, advice.high_deg))
    assert gauge_words(result) == f"on top, 31 mm behind nose to tail edge: {shown}"
    assert text.count(f"traightedge {gauge_words(result)}.") == 2
    assert f"GAUGE    {gauge_words(result)}." in answer_lines(result)
    wing = result.study.wing.model_copy(update={"tab_m": 0.005})
    tabbed = replace(result, study=result.study.model_copy(update={"wing": wing}))
    assert gauge_words(tabbed) == f"on top, tab off, 31 mm behind nose to tail edge: {shown}"
    lap = result.car.lap
    first = lap.best[0]
    own = np.interp(result.advice.start_deg, first.wing_angle_deg, first.lap_time_s - lap.wing_alone_s)
    assert f"of that, splitter</th><td>{signed(float(own))} s" in text
    assert "best angle as fitted, with this front end" in text
    assert "cannot show how suddenly the downforce drops" in text
    change = signed(-result.car.lap.fitted.gain.value)
    assert f"Harrow Down {change} s (likely " in text[: text.index("<table")]


def test_a_force_between_two_speeds_follows_their_coefficients(result):
    """EXACT: half way between 60 and 90 mph the mean of both coefficients times the square of the speed."""
    v, (a, b) = result.wing.speed_m_s, result.wing.downforce.n[:2, 0]
    middle = 0.5 * (v[0] + v[1])
    expected = 0.5 * (a / v[0] ** 2 + b / v[1] ** 2) * middle**2
    found = at_speed(result, result.wing.downforce.n, middle, float(result.wing.wing_angle_deg[0]))
    assert found == pytest.approx(expected, rel=1e-12)
