"""The lessons: their numbers against exact or published values, their form, their pages."""

import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from wingtool.errors import RangeError
from wingtool.geometry import four_digit, repanel
from wingtool.panels import solve
from wingtool.report.lessons.write import PICTURES, lesson_html, write_lessons
from wingtool.study import LESSONS, bundled_study, read_study, run_lessons, run_study
from wingtool.study.advice import stall_angle_deg
from wingtool.study.lessons.air import newton
from wingtool.study.lessons.flow import air_paths, from_picture, pull_share, race, to_picture
from wingtool.study.page_loads import wing_loads_at
from wingtool.units import DisplayUnits

QUICK = {"wing": {"method": "surrogate"}, "sweep": {"speeds": ["60 km/h", "120 km/h", "200 km/h"]}}


@pytest.fixture(scope="module")
def all_lessons():
    return run_lessons(read_study(bundled_study(), QUICK))


def circle(points=240):
    turn = np.linspace(0.0, 2 * np.pi, points + 1)
    return np.column_stack([0.5 + 0.5 * np.cos(turn), 0.5 * np.sin(turn)])


def test_paths_keep_their_stream_function():
    """EXACT: around a circle psi = (r - a^2/r) sin(theta) is constant along each path."""
    paths = air_paths(solve([circle()], 0.0), start_y=np.array([-0.3, 0.12, 0.4]))
    for path in paths.paths:
        x, y = path[np.isfinite(path[:, 0])].T
        away = (x - 0.5) ** 2 + y**2
        psi = y - 0.25 * y / away
        assert np.ptp(psi) < 0.004


def test_a_symmetric_section_at_no_angle_has_no_winner():
    """EXACT: by symmetry both bits of air take the same time."""
    _, below, above = race(solve([repanel(four_digit("0012"), 160).xy], 0.0))
    assert below == pytest.approx(above, rel=2e-3)


def test_the_air_on_the_pulling_side_arrives_first():
    """EXACT in sign: with circulation the two never meet again (thin-aerofoil theory)."""
    _, below, above = race(solve([repanel(four_digit("4412"), 160).xy], 4.0))
    assert below < 0.95 * above


def test_shares_of_pull_and_push_make_the_whole_lift():
    """TWIN: the share from the same pressure that gives cl; it must lie beside the panel method's own cl."""
    flow = solve([repanel(four_digit("4412"), 200).xy], 4.0)
    xy, cp = flow.elements[0], flow.cp[0]
    nose = int(np.argmin(xy[:, 0]))
    step, middle = np.diff(xy, axis=0), 0.5 * (cp[1:] + cp[:-1])
    turn = np.radians(4.0)
    upper = (middle * (step[:, 0] * np.cos(turn) + step[:, 1] * np.sin(turn)))[:nose].sum()
    assert pull_share(flow) == pytest.approx(upper / flow.cl[0, 0], rel=0.01)
    assert 0.5 < pull_share(flow) < 1.0


def test_turning_to_the_picture_and_back():
    points = np.random.default_rng(3).normal(size=(20, 2))
    np.testing.assert_allclose(from_picture(to_picture(points, 7.0), 7.0), points, atol=1e-12)


def test_the_wing_stands_on_the_car_the_right_way_up():
    """A cambered section turned over bulges downwards and its tail rises with the angle."""
    outline = to_picture(four_digit("6412").xy, 6.0)
    assert outline[0, 1] > outline[int(np.argmin(outline[:, 0])), 1]
    assert outline[:, 1].min() < -0.08


def test_there_are_eight_lessons_and_the_myths(all_lessons):
    assert [one.topic for one in all_lessons] == list(LESSONS)
    assert len(all_lessons) == 9
    assert set(PICTURES) == set(LESSONS)


def test_each_lesson_has_its_parts(all_lessons):
    for one in all_lessons:
        assert len(one.sentences) == 3
        assert all(text.endswith(".") for text in one.sentences)
        assert one.question.endswith("?")
        assert re.search(r"\d|Not computed", one.answer), one.answer
        assert one.by_hand
        assert one.origin.endswith(".")


def test_double_the_speed_is_four_times_the_force(all_lessons):
    """EXACT at constant coefficients; here they change a little with Reynolds number."""
    forces = all_lessons[list(LESSONS).index("speed")].data["forces_n"]
    assert forces[3] / forces[1] == pytest.approx(4.0, rel=0.1)


def test_the_ground_lesson_grows_towards_the_road(all_lessons):
    gains = all_lessons[list(LESSONS).index("ground")].data["gains"]
    assert (np.diff(gains) > 0).all()


def test_the_tab_lesson_tells_the_stall_with_it(all_lessons):
    """TWIN: both stalls against the first zero of the margin in the study's own tables."""
    tabs = run_study(read_study(bundled_study(), QUICK)).tabs
    plain, tabbed = (stall_angle_deg(wing.wing_angle_deg, wing.stall_margin_deg) for _, wing in tabs[:2])
    one = all_lessons[list(LESSONS).index("tab")]
    assert tabbed < plain
    degrees, low, high = map(float, re.findall(r"\d+\.\d", one.answer)[:3])
    assert (low, high) == pytest.approx((0.5 * degrees, 1.5 * degrees), abs=0.1)
    assert f"stalls at {tabbed:.1f}° instead of {plain:.1f}°" in one.caution


def test_the_wing_behind_the_rear_axle_lifts_the_front(all_lessons):
    """EXACT: moments about the rear axle, within what the drag's own lever adds."""
    data = all_lessons[list(LESSONS).index("balance")].data
    lever = (data["wing_x_m"] - data["wheelbase_m"]) / data["wing_x_m"]
    assert data["front_n"] < 0.0 < data["rear_n"]
    assert -data["front_n"] / data["rear_n"] == pytest.approx(lever, abs=0.08)


def test_the_see_saw_has_the_pages_axle_loads(all_lessons):
    """TWIN: the loads of the page at the same angle and speed."""
    result = run_study(read_study(bundled_study(), QUICK))
    car, angle = result.car, result.wing.wing_angle_deg[result.wing.nearest_angle(result.advice.high_deg)]
    front, rear = wing_loads_at(car, result.wing, car.reference_speed_m_s, angle)
    data = all_lessons[list(LESSONS).index("balance")].data
    assert (data["front_n"], data["rear_n"]) == pytest.approx((front.value, rear.value))


def test_the_drag_lesson_tells_the_lap_band_and_the_drag_of_the_page(all_lessons):
    """TWIN: the page has a range only at the set and the best angle; power is the installed drag's."""
    car = run_study(read_study(bundled_study(), QUICK)).car
    drag = all_lessons[list(LESSONS).index("drag")]
    angle_deg = float(re.search(r"wing at (-?[\d.]+)°", drag.question)[1])
    known = angle_deg in (car.set_angle_deg, car.lap.best[0].best_deg)
    told = r"±[\d.]+ or so" if known else "no range at this angle"
    assert re.match(rf"Net gain -?[\d.]+ s \({told}\)", drag.answer)
    area = float(car.wing.middle.at(car.wing.index(angle_deg)).cda_m2)
    assert drag.data["power_w"] == pytest.approx(0.5 * car.density_kg_m3 * car.reference_speed_m_s**3 * area)


def test_the_stall_lesson_names_the_stall_of_the_run(all_lessons):
    """TWIN: the advice of the same study."""
    advice = run_study(read_study(bundled_study(), QUICK)).advice
    stall = all_lessons[list(LESSONS).index("stall")].answer
    assert f"on the car it stalls at {advice.stall_deg:.1f}°" in stall
    assert f"({advice.stall_deg + advice.roof_deg:.1f}° to the air" in stall


def test_the_two_units_of_a_force_agree():
    """EXACT: 104.9 N are told as 100 N, which are 22 lbf; 10 lbf are 44.5 N."""
    assert newton(104.9, DisplayUnits()) == "100 N (22 lbf)"
    assert newton(44.48, DisplayUnits(force="lbf")) == "10 lbf (44 N)"


def test_an_unknown_topic_names_the_known_ones():
    with pytest.raises(RangeError, match="no lesson 'lift'; there are pressure, stall"):
        run_lessons(read_study(bundled_study(), QUICK), ["lift"])


def test_pages_are_whole_and_hold_well_formed_pictures(all_lessons, tmp_path):
    written = write_lessons(all_lessons, tmp_path)
    assert len(written) == 11
    (alone,) = write_lessons(all_lessons[1:2], tmp_path / "alone")
    assert "Lesson 2<" in alone.read_text()
    for path in written[1:]:
        text = path.read_text()
        for svg in re.findall(r"<svg.*?</svg>", text, re.S):
            ET.fromstring(svg)
            assert "nan" not in svg
        assert "http" not in text.replace("http-equiv", "")
        assert len(text) < 200_000


def test_text_is_escaped(all_lessons):
    from dataclasses import replace

    text = lesson_html(replace(all_lessons[0], origin="<script>x</script>"), 1)
    assert "<script>x" not in text


def test_the_command_prints_its_lessons_within_80_columns(all_lessons, monkeypatch, capsys, tmp_path):
    from wingtool import study
    from wingtool.cli.commands.lesson import lesson

    monkeypatch.setattr(study, "compute_ahead", lambda *_: None)
    monkeypatch.setattr(study, "run_lessons", lambda *_: all_lessons)
    lesson(None, None, tmp_path)
    told = [line for line in capsys.readouterr().out.splitlines() if not line.startswith("wrote ")]
    assert max(map(len, told)) <= 80
