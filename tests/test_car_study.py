"""A study's car part from a stand-in wing: from words to numbers, corrections, rules files, gaps."""

import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from car_stand_ins import GREEN_HATCH, HARROW_DOWN, stand_in_wing

from wingtool.car import (
    Estimate,
    brake_limit_m_s2,
    clearance_left,
    lateral_retuned_m_s2,
    resistance_n,
    splitter_estimate,
    straight_runs,
    total,
)
from wingtool.errors import StudyError
from wingtool.study import axle_areas, axle_loads_at, car_result, checked_study, wing_loads_at
from wingtool.study.car.balance import front_shift_points
from wingtool.study.car.lap import circuit_of
from wingtool.study.car.parts import wing_areas
from wingtool.study.schema.car import CorrectionTable
from wingtool.study.schema.rules import read_limits
from wingtool.study.wing.correction import corrected

CAR = {
    "name": "the green hatch", "mass": "1150 kg", "front_share": 0.58, "wheelbase": "2.5 m",
    "power": "135 kW", "cda": "0.72 m^2", "driven": "front", "roof_height": "1.38 m", "tyre": {"grip": 1.05},
    "front": {"spring_rate": "60 N/mm", "motion_ratio": 0.95, "bump_travel": "55 mm", "track": "1.5 m"},
    "rear": {"spring_rate": "50 N/mm", "motion_ratio": 0.9, "track": "1.48 m", "tyre_load": "615 kg"},
}  # fmt: skip
SEGMENTS = [
    {"name": s.name, "length": f"{s.length_m} m"} | ({"radius": f"{s.radius_m} m"} if s.radius_m else {})
    for s in HARROW_DOWN
]
FULL = {
    "title": "stand-in",
    "wing": {"section": "4412", "span": "1.4 m", "chord": "25 cm", "height": "1.3 m"},
    "car": CAR,
    "splitter": {"overhang": "90 mm", "width": "1.5 m", "clearance": "90 mm", "floor": "300 mm"},
    "mounts": {"behind_rear_axle": "0.5 m"},
    "spar": {"bench_mass": "10 kg", "bench_sag": "3 mm"},
    "circuit": {"name": "Harrow Down", "segment": SEGMENTS},
    "limits": {
        "most": {"wing_span": "1.5 m", "wing_over_roof": "10 cm"},
        "least": {"splitter_clearance": "10 cm"},
    },
    "part": [{"name": "wing", "price": 150.0}, {"name": "board", "price": 75.0, "count": 2}],
    "oil": {"trusted_g": 1.0, "trusted_time": "2 s"},
}


def study(**changes):
    return checked_study(FULL | changes)


@pytest.fixture(scope="module")
def result():
    return car_result(study(), stand_in_wing(), 6.0)


def whole(result):
    """The car with all parts at the set angle."""
    return total(result.body, result.wing_set, *(part.middle for part in result.front))


def test_a_slow_car_is_compared_at_a_speed_that_it_reaches():
    """EXACT: by the top speed that the car's own power gives, in whole tens below it; in miles at 100 mph."""
    slow = car_result(study(car=CAR | {"power": "45 kW"}), stand_in_wing(), 6.0)
    tens = slow.reference_speed_m_s * 3.6 / 10.0
    assert tens == pytest.approx(np.floor(slow.straight.top_with_m_s * 3.6 / 10.0))
    assert tens < 16.0
    assert slow.straight.power_speed_m_s == slow.reference_speed_m_s
    miles = car_result(study(sweep={"speeds": ["60 mph"]}), stand_in_wing(), 6.0)
    assert miles.reference_speed_m_s == pytest.approx(100.0 * 0.44704)


def test_the_whole_chain_holds_together(result):
    assert result.set_angle_deg == 6.0
    assert whole(result).cda_m2 == pytest.approx(
        0.72 + float(result.wing_set.cda_m2) + result.front[0].cda_m2[1]
    )
    area = 0.35 * (0.3 + 0.08 * 6)
    assert float(result.wing_set.cla_m2) == pytest.approx(area)
    q = 0.5 * result.density_kg_m3 * 40.0**2
    k, m = 4, 6
    assert result.loads.front_n[k, m] + result.loads.rear_n[k, m] == pytest.approx(
        result.car.weight_n + q * (area + result.front[0].cla_m2[1] + float(result.body.cla_m2))
    )
    on_page = axle_areas(result, stand_in_wing())[0]
    assert result.loads.front_n[k, m] == pytest.approx(
        result.car.static_front_n + q * on_page.cla_front_m2[k, m]
    )
    for pair in (result.lap.fitted, result.lap.retuned):
        gain = pair.without.lap_time_s[0] - pair.with_parts.lap_time_s[0]
        assert pair.difference.gain_s[-1] == pytest.approx(gain)
        assert pair.gain.value == pytest.approx(gain)
        assert pair.gain.low < gain < pair.gain.high
    assert result.straight.length_m == pytest.approx(240.0 + 700.0, abs=0.6)  # home and pit straight
    assert result.beam.support_n.sum() == pytest.approx(result.mounts.downforce_n, rel=1e-3)
    assert result.cost.total == 300.0


def test_the_shift_of_the_balance_is_that_of_the_axle_loads(result):
    """TWIN: from the car's table at the same speed; 58 % stand in front, less the lift of no body."""
    shift = front_shift_points(study(), stand_in_wing())
    k = int(np.argmin(np.abs(result.loads.speed_m_s - result.reference_speed_m_s)))
    share = result.loads.front_share[k]
    np.testing.assert_allclose(np.diff(shift), 100.0 * np.diff(share), atol=0.05)
    assert shift[-1] < shift[0]


def test_each_caution_stands_beside_its_number(result):
    beside = {place for place, _ in result.cautions}
    assert {"car", "balance", "front", "mounts", "springs", "oil", "rules"} <= beside
    told = " ".join(text for _, text in result.cautions)
    for words in (
        "lifts the front",
        "proof-load",
        "log oil pressure",
        "track only unless",
        "brake air",
        "estimate",
    ):
        assert words in told
    assert result.mounts.caution
    assert result.blade.caution


def test_rules_are_the_users_alone(result):
    assert {check.measure: check.verdict for check in result.rules} == {
        "wing_span": "pass", "wing_over_roof": "pass", "splitter_clearance": "fail",
    }  # fmt: skip
    assert car_result(study(limits=None), stand_in_wing(), 6.0).rules == ()


def test_less_in_the_study_is_less_in_the_answer():
    bare = {"car": CAR, "title": "x", "wing": FULL["wing"]}
    found = car_result(checked_study(bare), stand_in_wing())
    assert found.lap is None
    assert found.mounts is None
    assert found.front == ()
    assert np.all(np.isnan(found.matched.over_fitted))
    assert car_result(checked_study({"title": "x", "wing": FULL["wing"]}), stand_in_wing()) is None


def test_rows_that_did_not_converge_are_left_out_and_stay_nan():
    wing = stand_in_wing()
    some = np.where(np.arange(wing.wing_angle_deg.size) == 3, np.nan, 1.0)
    holes = {name: getattr(wing, name).each(lambda column: column * some) for name in ("downforce", "drag")}
    found = car_result(study(), replace(wing, **holes), 3.0)
    assert 3.0 not in found.wing.wing_angle_deg
    assert np.isnan(found.loads.front_n[:, 3]).all()
    assert np.isfinite(found.lap.best[0].lap_time_s).all()
    nothing = {name: force.each(lambda column: column * np.nan) for name, force in holes.items()}
    assert car_result(study(), replace(wing, **nothing), 3.0) is None


def test_a_corrected_drag_is_still_the_sum_of_its_parts():
    """EXACT: parts of the drag and the lift of the far wake take the factor of their sum."""
    from wingtool.section import polar_from_arrays
    from wingtool.wing import Endplate, Wing, solve_wing

    section = polar_from_arrays([-5, 0, 5, 10], [-0.1, 0.4, 0.95, 1.4], [0.012, 0.011, 0.013, 0.02])
    wing = solve_wing(Wing(1.4, 0.25, endplate=Endplate(0.2), height_m=0.5), section, [2.0, 4.0], [40.0])
    found = corrected(wing, CorrectionTable(downforce_factor=0.8, drag_factor=1.5))
    parts = ("induced", "profile", "plates", "base", "mounts")
    assert sum(getattr(found, f"CD_{name}") for name in parts) == pytest.approx(found.CD)
    assert found.CL_far_wake / found.CL == pytest.approx(wing.CL_far_wake / wing.CL)


def test_car_and_mounts_go_by_the_nearest_speed_that_converged():
    """EXACT: coefficients are alike at all speeds here, so a missing fastest row changes nothing."""
    whole, wing = car_result(study(), stand_in_wing(), 6.0), stand_in_wing()
    slower = np.where(np.arange(wing.speed_m_s.size) < wing.speed_m_s.size - 3, 1.0, np.nan)[:, None]
    holes = {name: getattr(wing, name).each(lambda column: column * slower) for name in ("downforce", "drag")}
    found = car_result(study(), replace(wing, **holes), 6.0)
    assert found.wing_set.cla_rear_m2 == pytest.approx(whole.wing_set.cla_rear_m2)
    assert found.mounts.down_n == pytest.approx(whole.mounts.down_n)
    assert found.proof.bag_kg == pytest.approx(whole.proof.bag_kg)


def test_the_tracks_answer_replaces_the_estimate():
    """EXACT: factors on force and band; the rest of the chain follows."""
    fix = CorrectionTable(
        downforce_factor=0.8, downforce_low=0.7, downforce_high=0.9, drag_factor=1.5, origin="coast-down"
    )  # fmt: skip
    wing = stand_in_wing()
    found = corrected(wing, fix)
    assert found.downforce.n == pytest.approx(0.8 * wing.downforce.n)
    assert found.downforce.low_n == pytest.approx(0.7 * wing.downforce.n)
    assert found.downforce.high_n == pytest.approx(0.9 * wing.downforce.n)
    assert found.drag.high_n == pytest.approx(1.5 * wing.drag.high_n)
    assert found.pitching_moment_nm == pytest.approx(0.8 * wing.pitching_moment_nm)
    assert "corrected by the track" in found.band_origin
    assert corrected(wing, None) is wing
    keys = {"downforce_factor": 0.8, "downforce_low": 0.7, "downforce_high": 0.9}
    told = study(correction=keys)
    slower = car_result(told, corrected(wing, told.correction), 6.0)
    assert float(slower.wing_set.cla_m2) == pytest.approx(0.8 * 0.35 * 0.78)


PLATE = np.array([[1.0, 0.0], [0.0, 0.0], [1.0, 0.0]])


def flat_wing():
    """A wing whose section is a line."""
    return replace(stand_in_wing(), polars=(SimpleNamespace(section=SimpleNamespace(xy=PLATE)),))


def with_wing(**more):
    return checked_study(FULL | {"wing": FULL["wing"] | more})


def test_the_height_of_the_wing_turns_with_its_angle():
    """EXACT: a flat plate of chord c, lowest point kept: nose down by a puts it at c/4 sin a."""
    from wingtool.study.car.limits import reach_m
    from wingtool.study.car.parts import point_height_m

    assert point_height_m(flat_wing(), np.array([0.0, 10.0])) == pytest.approx(
        [1.3, 1.3 + 0.25 * 0.25 * np.sin(np.radians(10.0))]
    )
    over, aft = reach_m(study(), flat_wing(), 10.0)
    assert over == pytest.approx(0.25 * np.sin(np.radians(10.0)))
    assert aft == pytest.approx(0.75 * 0.25 * np.cos(np.radians(10.0)))


def test_what_rules_measure_holds_every_part_of_the_wing():
    """EXACT: at no angle, plates, tab, sweep, dihedral and a second plane by addition."""
    from wingtool.study.car.limits import reach_m

    plate = {"height": "20 cm", "above": "7 cm", "length": "30 cm", "ahead": "2 cm"}
    plane = {"section": "4412", "chord": "10 cm", "behind": "40 cm", "above": "30 cm", "span": "1.6 m"}
    assert reach_m(with_wing(endplate=plate), flat_wing(), 0.0) == pytest.approx((0.07, 0.28 - 0.0625))
    assert reach_m(with_wing(tab="5 mm"), flat_wing(), 0.0)[0] == pytest.approx(0.005)
    assert reach_m(with_wing(dihedral_deg=-5.0), flat_wing(), 0.0)[0] == pytest.approx(
        0.7 * np.tan(np.radians(5.0))
    )
    assert reach_m(with_wing(sweep_deg=10.0), flat_wing(), 0.0)[1] == pytest.approx(
        0.1875 + 0.7 * np.tan(np.radians(10.0))
    )
    over, aft = reach_m(with_wing(plane=[plane]), flat_wing(), 0.0)
    assert over == pytest.approx(0.30, abs=0.005)
    assert aft == pytest.approx(0.5 - 0.0625, abs=1e-4)
    turned = np.radians(10.0)
    corner = (0.28 - 0.0625) * np.sin(turned) + 0.07 * np.cos(turned)
    lowest = 0.0625 * np.sin(turned)
    assert reach_m(with_wing(endplate=plate), flat_wing(), 10.0)[0] == pytest.approx(corner + lowest)
    flap = {"section": "4412", "chord": "10 cm", "angle_deg": 30.0, "gap": "4 mm", "overlap": "0 mm"}
    over, aft = reach_m(with_wing(element=[flap]), flat_wing(), 0.0)
    assert aft == pytest.approx(0.1875 + 0.1 * np.cos(np.radians(30.0)), abs=0.01)
    assert over > 0.1 * np.sin(np.radians(30.0))


def test_reach_of_a_wing_that_is_wider_or_steeper_at_its_tips():
    """EXACT: flat plates; the larger chord and the steeper angle reach furthest, up, down and aft."""
    from wingtool.study.car.limits import reach_m

    set_angle, steeper = np.radians(10.0), np.radians(15.0)
    over, aft = reach_m(with_wing(tip_chord="30 cm", sweep_deg=10.0), flat_wing(), 10.0)
    assert over == pytest.approx(0.30 * np.sin(set_angle))
    assert aft == pytest.approx(0.75 * 0.30 * np.cos(set_angle) + 0.7 * np.tan(np.radians(10.0)))
    assert reach_m(with_wing(twist_tip_deg=5.0), flat_wing(), 10.0)[0] == pytest.approx(
        0.25 * np.sin(steeper)
    )
    washed_out = reach_m(with_wing(twist_tip_deg=-5.0), flat_wing(), 10.0)[0]
    assert washed_out == pytest.approx(0.25 * np.sin(set_angle))


def test_a_long_plate_reaches_furthest_as_it_stands_level():
    """EXACT: turned nose down by 10 degrees the rear edge comes forward, so the level one counts."""
    from wingtool.study.car.limits import reach_m

    plate = {"height": "4 cm", "above": "4 cm", "length": "60 cm", "ahead": "2 cm"}
    assert reach_m(with_wing(endplate=plate), flat_wing(), 10.0)[1] == pytest.approx(0.58 - 0.0625)


def test_rules_count_every_plane_and_the_tips_own_plate():
    """EXACT: areas and chords by addition; a plate without a length is as long as the tip's chord."""
    from wingtool.study.car.limits import place_limits, rule_facts
    from wingtool.study.wing.finite_wing import wing_geometry

    plane = {"section": "4412", "chord": "35 cm", "behind": "40 cm", "above": "30 cm", "span": "1.2 m"}
    drawn = with_wing(plane=[plane], tip_chord="15 cm", endplate={"height": "20 cm"})
    wing = replace(flat_wing(), wing=wing_geometry(drawn))
    car = drawn.car.value(1.2)
    facts = rule_facts(drawn, wing, 0.0)
    assert facts["wing_chord"] == pytest.approx(0.35)
    assert facts["wing_area"] == pytest.approx(1.4 * 0.20 + 1.2 * 0.35)
    assert facts["endplate_area"] == pytest.approx(0.2 * 0.15)
    limits = checked_study(FULL | {"limits": {"most": {"wing_over_roof": "10 cm"}}}).limits.value()
    assert place_limits(limits, car, 0.05, 0.2) == (pytest.approx(1.38 + 0.10 - 0.05), np.inf)


def test_rules_fail_what_only_the_second_part_breaks():
    """EXACT: a second plane 30 cm up is too high; a plate drawn as a triangle has half of its box."""
    from wingtool.study.car.limits import rule_facts

    plane = {"section": "4412", "chord": "10 cm", "behind": "0 m", "above": "30 cm", "span": "1.6 m"}
    limits = {"most": {"wing_over_roof": "10 cm", "wing_span": "1.5 m"}}
    wing = FULL["wing"] | {"plane": [plane]}
    found = car_result(checked_study(FULL | {"wing": wing, "limits": limits}), flat_wing(), 6.0)
    assert [check.verdict for check in found.rules] == ["fail", "fail"]
    flap = {"section": "4412", "chord": "10 cm", "angle_deg": 30.0, "gap": "4 mm", "overlap": "0 mm"}
    facts = rule_facts(with_wing(element=[flap]), flat_wing(), 6.0)
    assert facts["wing_chord"] is facts["wing_area"] is None
    outline = [["0 m", "0 m", "1 mm"], ["0.2 m", "0 m", "0.2 m"]]
    drawn = with_wing(endplate={"height": "20 cm", "outline": outline})
    from wingtool.study.wing.finite_wing import wing_geometry

    shape = replace(flat_wing(), wing=wing_geometry(drawn))
    assert rule_facts(drawn, shape, 6.0)["endplate_area"] == pytest.approx(0.2 * 0.201 / 2)


def test_the_map_forbids_where_the_top_would_break_the_rule():
    """EXACT: what may stand at the limit is the highest point, not the quarter chord; likewise rearmost."""
    most = {"wing_top_height": "1.4 m", "wing_behind_rear_axle": "70 cm"}
    place = car_result(study(limits={"most": most}), flat_wing(), 10.0).place
    turned = np.radians(10.0)
    low = place.wing_height_m + 0.75 * 0.25 * np.sin(turned) <= 1.4
    near = place.setback_m + 0.75 * 0.25 * np.cos(turned) <= 0.7
    assert 0 < low.sum() < low.size
    assert 0 < near.sum() < near.size
    assert (place.allowed == (low[:, None] & near[None, :])).all()


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"car": CAR | {"top_speed": "200 km/h"}}, "one way"),
        ({"car": CAR | {"lift_area_front": "0.1 m^2"}}, "together or neither"),
        ({"car": {k: v for k, v in CAR.items() if k != "mass"}}, "car.mass is missing"),
        ({"limits": {"most": {"wing_colour": "3 m"}}}, "no measure that can be checked"),
        ({"limits": {"most": {"wing_span": "3 kg"}}}, "not a length"),
        ({"spar": {"bench_mass": "3 kg"}}, "bench_mass with bench_sag"),
        ({"circuit": {"name": "x"}}, "segments or a log"),
        ({"splitter": FULL["splitter"] | {"rod_ahead": "1 m"}}, "must lie on the blade"),
        ({"mounts": {"behind_rear_axle": "0.5 m", "stands": 3}}, "stands"),
        ({"oil": {"trusted_g": 9.0}}, "trusted_g"),
        ({"car": CAR | {"mass": "23 lb"}}, "23 lb must be at least 100 and at most 20000 kg"),
        ({"car": CAR | {"wheelbase": "98 mm"}}, "98 mm must be at least 0.5 and at most 10 m"),
        ({"car": CAR | {"power": "135 W"}}, "135 W must be at least 1000 and"),
        ({"car": CAR | {"cda": "72 m^2"}}, "must be at least 0.05 and at most 20 m"),
        ({"car": CAR | {"front_share": 0.9}}, "car.front_share = 0.9"),
        ({"splitter": FULL["splitter"] | {"overhang": "80 m"}}, "above 0 and at most 3 m"),
        (
            {
                "air_dam": {
                    "height": "8 cm",
                    "width": "1.4 m",
                    "clearance": "9 cm",
                    "measured": {"downforce": "40 kN", "error": "9 N", "speed": "60 km/h"},
                }
            },
            "check force and speed",
        ),
    ],
)
def test_mistakes_are_one_line(table, words):
    with pytest.raises(ValueError, match=words) as caught:
        study(**table)
    assert "\n" not in str(caught.value)


def test_a_drag_area_that_no_car_has_is_refused_however_it_was_given():
    bare = {k: v for k, v in CAR.items() if k != "cda"}
    for given in ({"top_speed": "2 km/h"}, {"drag_coefficient": 0.1, "frontal_area": "0.1 m^2"}):
        with pytest.raises(StudyError, match="which no car has"):
            study(car=bare | given).car.value(1.2)


def test_a_rules_file_of_the_users_own(tmp_path):
    path = tmp_path / "rules.toml"
    path.write_text('source = "club"\n[most]\nwing_span = "60 in"\n')
    assert read_limits(path).most == {"wing_span": pytest.approx(1.524)}
    named = car_result(
        checked_study(FULL | {"limits": {"file": "rules.toml"}}, Path(tmp_path)), stand_in_wing(), 6.0
    )
    assert named.rules[0].verdict == "pass"
    for text, words in (
        ("most = 3", "most"),
        ("[most]\nx = 'y'", "no measure"),
        ("[[", "line"),
        ('file = "a"', "cannot name"),
    ):
        path.write_text(text)
        with pytest.raises(ValueError, match=words) as caught:
            read_limits(path)
        assert "\n" not in str(caught.value)
    with pytest.raises(ValueError, match="no such file"):
        read_limits(tmp_path / "gone.toml")


def test_a_measured_splitter_wins_in_the_study():
    measured = {"downforce": "300 N", "error": "30 N", "speed": "40 m/s"}
    found = car_result(study(splitter=FULL["splitter"] | {"measured": measured}), stand_in_wing(), 6.0)
    q = 0.5 * found.density_kg_m3 * 40.0**2
    assert found.front[0].cla_m2[1] * q == pytest.approx(300.0)
    assert found.front[0].origin == "the user's own measurement"


def test_the_clearance_is_that_of_the_splitters_high_end(result):
    """EXACT: at the fast end of the top speed, the front axle's load with the splitter at the high end."""
    q = 0.5 * result.density_kg_m3 * result.top_band_m_s[1] ** 2
    more = result.front[0].high.cla_front_m2 - result.front[0].middle.cla_front_m2
    rate = 60e3 * 0.95**2
    ahead = 0.8 + 0.09
    (gap,) = result.clearances
    sink = q * float(whole(result).cla_front_m2 + more) / (2 * rate)
    more_rear = result.front[0].high.cla_rear_m2 - result.front[0].middle.cla_rear_m2
    rear_sink = q * float(whole(result).cla_rear_m2 + more_rear) / (2 * result.car.rear.wheel_rate_n_m)
    high = total(whole(result), result.front[0].high - result.front[0].middle)
    limits = [limit(result.car, high, q) / 9.80665 for limit in (brake_limit_m_s2, lateral_retuned_m_s2)]
    without_air = clearance_left("splitter", 0.09, 1.5, ahead, result.car, (0.0, 0.0), *limits).left_m
    assert gap.left_m == pytest.approx(without_air - (sink + (sink - rear_sink) * ahead / 2.5))


def test_what_may_break_is_asked_at_the_fast_end_of_the_top_speed(result):
    """EXACT: rods, stands, springs and tyres bear the dynamic pressure of the band's high end."""
    assert result.blade.speed_m_s == result.mounts.speed_m_s == result.top_band_m_s[1]
    assert {one.speed_m_s for one in result.springs} == {result.top_band_m_s[1]}


def test_the_band_of_the_drag_area_is_that_of_the_top_speed(result):
    """TWIN: top speed from P = V (q CdA + c (m g + q ClA)), body, parts and installation at both ends."""
    from scipy.optimize import brentq

    density, body = result.density_kg_m3, 0.72
    wing, blade = result.wing, result.front[0]
    m = wing.index(6.0)
    down = [0.85 * wing.cla_m2[m] + blade.cla_m2[0], 1.15 * wing.cla_m2[m] + blade.cla_m2[2]]
    down = [area + float(result.body.cla_m2) for area in down]
    cla, cda = wing.cla_m2[m], wing.cda_m2[m]
    drag = [1.15 * cda + 0.12 * cla + blade.cda_m2[2] + 1.1 * body]
    drag.append(0.85 * cda + blade.cda_m2[0] + 0.9 * body)
    for k in (0, 1):
        top = brentq(
            lambda v, k=k: 135e3
            - v * (0.5 * density * v**2 * (drag[k] + 0.015 * down[k]) + 0.015 * result.car.weight_n),
            10, 120,
        )  # fmt: skip
        assert result.top_band_m_s[k] == pytest.approx(top, rel=1e-6)
    assert result.top_band_m_s[0] < result.straight.top_with_m_s < result.top_band_m_s[1]


def test_the_page_tells_what_the_car_stands_on_and_no_angle_where_there_is_none(result):
    """EXACT: notes of the car in its last block; a best angle that is none is said, not printed as nan."""
    from wingtool.report.page.car import car_content

    told = " ".join(line for block in car_content(result) for line in block["lines"])
    assert "Lift area of the bare body: front" in told
    none = replace(stand_in_wing(), status=np.full(stand_in_wing().status.shape, "low confidence"))
    blocks = car_content(car_result(study(), none, 6.0))
    cells = [cell for block in blocks for row in block["rows"] for cell in row]
    assert cells.count("no angle keeps the margin to the stall") == 3
    assert not [text for text in cells + [line for b in blocks for line in b["lines"]] if "nan" in text]


def test_what_the_study_does_not_say_is_told_as_taken():
    """EXACT: by key, value and unit; nothing is told as taken that was given."""
    found = car_result(study(), stand_in_wing(), 6.0)
    notes, mounts = " ".join(found.car.notes), [text for place, text in found.cautions if place == "mounts"]
    for words in ("cg_height 0.5 m", "nose 0.8 m", "rolling 0.015", "tyre.load_sensitivity 0.1"):
        assert words in notes
    assert "tyre.grip" not in notes
    assert "driven" not in notes
    assert "stand_height 0.3 m" in mounts[0]
    assert "wing_mass 6.0 kg" in mounts[0]
    assert "bolts_per_foot 4" in mounts[0]
    assert "spacing 35.4 in, stand_height 11.8 in" in study().mounts.taken(us=True)
    assert "nose 31.5 in" in " ".join(study().car.value(1.2, us=True).notes)
    told = car_result(study(mounts={"behind_rear_axle": "0.5 m", "stand_height": "0.2 m"}), stand_in_wing())
    assert "stand_height" not in " ".join(text for place, text in told.cautions if place == "mounts")
    nowhere = car_result(study(mounts=None, spar=None), stand_in_wing(), 6.0)
    assert any(place == "balance" and "no [mounts]" in text for place, text in nowhere.cautions)
    assert not any("no [mounts]" in text for _, text in found.cautions)


def test_tables_that_need_a_car_are_not_dropped_in_silence():
    """EXACT: without [car] every one of them is named; with it none."""
    from wingtool.study.whole_study import unanswered

    (caution,) = unanswered(checked_study({name: table for name, table in FULL.items() if name != "car"}))
    for name in ("mounts", "splitter", "spar", "circuit", "oil", "part"):
        assert f"[{name}]" in caution.text
    assert unanswered(study()) == ()


def test_stands_beside_the_wing_are_refused():
    """EXACT: a wing of 1.4 m cannot stand on stands 2 m apart; at its tips it can."""
    with pytest.raises(ValueError, match="stands 2 m apart do not reach a wing of 1.4 m"):
        car_result(study(mounts={"behind_rear_axle": "0.5 m", "spacing": "2 m"}), stand_in_wing(), 6.0)
    tips = car_result(study(mounts={"behind_rear_axle": "0.5 m", "spacing": "1.4 m"}), stand_in_wing(), 6.0)
    assert tips.beam.support_n.sum() == pytest.approx(tips.mounts.downforce_n, rel=1e-3)


def test_tables_of_the_car(result):
    from wingtool.report.tables.car import car_tables

    tables = {table.name: table for table in car_tables(result, {})}
    assert set(tables) >= {
        "axle_loads",
        "matched_settings",
        "corners",
        "lap_trace",
        "proof_load",
        "rules",
        "wing_beam",
    }
    assert sum(tables["proof_load"].column("bag_kg")) * 9.80665 >= result.mounts.proof_down_n
    assert len(tables["lap_trace"].rows) == 4000
    assert "log oil pressure" in tables["sideways"].facts["caution"]


def test_the_pages_band_of_the_balance_is_the_balances(result):
    """TWIN: the page's areas at the reference speed against the band of the balance, all doubts in both."""
    areas, down, up = axle_areas(result, stand_in_wing())
    q, car = 0.5 * result.density_kg_m3 * result.reference_speed_m_s**2, result.car
    m = int(np.argmin(np.abs(stand_in_wing().wing_angle_deg - result.set_angle_deg)))
    front, rear = (float(area[-1, m]) for area in (areas.cla_front_m2, areas.cla_rear_m2))
    on_front = car.static_front_n + q * front
    share = on_front / (on_front + car.static_rear_n + q * rear)
    assert share == pytest.approx(result.share.value, abs=1e-4)
    assert share - q * down[-1, m] == pytest.approx(result.share.low, abs=1e-3)
    assert share + q * up[-1, m] == pytest.approx(result.share.high, abs=1e-3)


def test_the_car_has_a_figure(result):
    """EXACT: the two curves are the matched settings of the result."""
    from wingtool import plot

    front, wing = plot(result).lines
    assert np.array_equal(front.get_ydata(), result.matched.matched_front_n, equal_nan=True)
    assert np.array_equal(wing.get_ydata(), result.matched.wing_downforce_n)


def test_every_tab_has_its_best_angle(result):
    """TWIN: the study's own wing among the tabs gives the lap times that it gives alone."""
    from wingtool.study.car.lap import tab_laps

    wing = more = stand_in_wing()
    tabs = ((0.0, wing), (0.005, replace(more, downforce=more.downforce.each(lambda n: 1.2 * n))))
    found = tab_laps(study(), wing, tabs, result.lap.circuit)
    assert [best.name for best in found] == [
        "no tab, as fitted", "tab of 5.0 mm, as fitted", "no tab, retuned", "tab of 5.0 mm, retuned",
    ]  # fmt: skip
    assert found[0].lap_time_s == pytest.approx(result.lap.best[0].lap_time_s)
    assert found[2].lap_time_s == pytest.approx(result.lap.best[-1].lap_time_s)
    assert found[3].best_time_s < found[2].best_time_s
    assert tab_laps(study(), wing, tabs[:1], result.lap.circuit) == ()


def test_a_log_is_read_once_until_it_changes(tmp_path):
    log, drawn = tmp_path / "ring.csv", study(circuit={"name": "ring", "log": str(tmp_path / "ring.csv")})
    log.write_text("t,v [m/s],lat g\n" + "".join(f"{i / 10},20,0.6\n" for i in range(300)))
    first = circuit_of(drawn)
    assert circuit_of(drawn) is first
    log.write_text(log.read_text().replace("0.6", "0.3"))
    assert circuit_of(drawn).curvature_1_m.mean() == pytest.approx(first.curvature_1_m.mean() / 2, rel=0.01)


def test_a_wing_that_only_lifts_has_no_proof_load_and_says_why():
    """EXACT: below -3.75 degrees the stand-in lifts at every angle; no foot, bolt or sandbag is made up."""
    from wingtool.report.tables.car import car_tables

    found = car_result(study(), stand_in_wing(angles_deg=[-8.0, -6.0, -4.0]), -6.0)
    assert found.mounts is found.proof is found.beam is None
    told = [text for place, text in found.cautions if place == "mounts"]
    assert "lifts at every angle" in told[0]
    assert "comes off at speed" in told[-1]
    assert "proof_load" not in {table.name for table in car_tables(found, {})}


def told_by(result):
    from wingtool.report.page.car import car_content

    blocks = car_content(result)
    return " ".join(text for block in blocks for part in (*block["rows"], block["lines"]) for text in part)


def test_wing_and_front_are_fastest_where_the_laps_best_angle_is():
    """TWIN: the best of the study's own laps over the angle; the wing alone is another case."""
    found = car_result(study(), stand_in_wing(), -2.0)
    wing, front, both = found.lap.part_gains
    assert front.name == "splitter alone"
    assert np.isnan(front.best_deg)
    assert both.name == "wing and splitter"
    best, bare = found.lap.best[0], found.lap.fitted.without.lap_time_s[0]
    assert both.best_deg == best.best_deg > found.set_angle_deg
    assert both.best_s == pytest.approx(bare - best.best_time_s, abs=1e-6)
    assert wing.name == "wing alone"
    assert wing.best_s != pytest.approx(both.best_s, abs=1e-3)


def test_the_proof_loads_bags_are_listed_where_the_recipe_stands(result):
    """EXACT: each bag and their sum, the proof load as printed or a little more; the same bags everywhere."""
    from wingtool.report.tables.car import car_tables
    from wingtool.units import DisplayUnits

    told = told_by(result)
    listed, total_kg = re.search(r"left to right: ([\d., ]+) kg, ([\d.]+) kg in all", told).groups()
    bags = np.array([float(kg) for kg in listed.split(", ")])
    printed_kgf = float(re.search(r"down on the wing.*?\((\d+) kgf\)", told)[1])
    assert bags.sum() == pytest.approx(float(total_kg))
    assert printed_kgf <= bags.sum() < printed_kgf + 0.1 * len(bags)
    assert bags == pytest.approx(result.proof.bag_kg, rel=0.02)
    assert bags.sum() * 9.80665 >= result.mounts.proof_down_n
    tables = {table.name: table for table in car_tables(result, {})}
    assert tables["proof_load"].column("bag_kg") == pytest.approx(bags)
    assert pictured_bags(result, DisplayUnits()) == pytest.approx(bags)


@pytest.mark.parametrize("grip", [0.96, 0.98, 1.0, 1.05])
def test_the_oil_caution_stays_while_the_limit_is_within_the_band(grip):
    """EXACT in sign: a grip 5 % higher may pass 1 g, and no time is below nothing."""
    tables = FULL | {"car": CAR | {"tyre": {"grip": grip}}}
    lap = car_result(checked_study(tables), stand_in_wing(), 4.0).lap
    for found in lap.over:
        assert 0.0 <= found.low <= found.value <= found.high
    assert lap.over[0].high > 2.0
    assert lap.oil_cautions[0].startswith("over your limit")


def test_the_best_angles_band_stays_within_the_angles_allowed(result):
    """EXACT: no end of it is an angle that the advice forbids."""
    allowed = result.wing.wing_angle_deg[result.wing.allowed]
    for best, reach in zip(result.lap.best, result.lap.best_range_deg, strict=True):
        assert allowed[0] <= reach.low <= best.best_deg <= reach.high <= allowed[-1]


def pictured_bags(result, units):
    """Masses written over the bags of the picture."""
    from wingtool.report.page.car_pictures import bags_along_span

    picture = bags_along_span(result.proof, result.beam, result.mounts, units)
    return np.array([float(one) for one in re.findall(r">([\d.]+)</text>", picture.svg)])


def test_the_tables_bags_of_a_study_in_pounds_are_those_of_its_picture(result):
    """EXACT: the same bags, 0.45359237 kg a pound."""
    from wingtool.report.tables.car import car_tables
    from wingtool.units import DisplayUnits

    units = DisplayUnits(force="lbf", length="in")
    tables = {table.name: table for table in car_tables(result, {}, units)}
    assert tables["proof_load"].column("bag_kg") == pytest.approx(0.45359237 * pictured_bags(result, units))


def test_feet_on_the_circuit_bear_the_square_of_its_fastest_speed(result):
    """EXACT: the same worst angle; without weight and shock the moment goes with the square of the speed."""
    one, there = result.mounts, result.mounts_on_circuit
    assert there.speed_m_s == pytest.approx(result.lap.fastest_m_s)
    assert there.speed_m_s < one.speed_m_s
    assert there.moment_nm / one.moment_nm == pytest.approx((there.speed_m_s / one.speed_m_s) ** 2)


def test_lap_and_ride_height_are_told_no_finer_than_anyone_can_measure(result):
    """EXACT: a hundredth of a second, a millimetre; a price for time with what its band says."""

    def gaining(value, low, high):
        pair = replace(result.lap.fitted, gain=Estimate(value, low, high))
        return replace(result.lap, fitted=pair)

    lap = gaining(0.0026, -0.00167, 0.008)
    springs = tuple(replace(one, drop_m=0.000058, load_change_ratio=-0.00115) for one in result.springs)
    told = told_by(replace(result, lap=lap, springs=springs))
    # a band no wider than the last digit is not shown
    assert re.search(r"gained as fitted, of [0-9.]+ s 0.00 s  gained retuned", told)
    assert "sinks less than 1 mm" in told
    assert "−0.1 % of its load at rest" in told
    assert "the range includes zero" in told
    assert "includes zero" not in told_by(replace(result, lap=gaining(0.02, 0.01, 0.03)))


def test_the_balance_has_its_band(result):
    """EXACT: each doubt alone moves the front's share of the load; the moves are added as squares."""
    assert result.reference_speed_m_s == pytest.approx(44.44, abs=0.01)  # 160 km/h, the speed that is printed
    q = 0.5 * result.density_kg_m3 * result.reference_speed_m_s**2
    car, m = result.car, result.wing.index(6.0)

    def share(change=(0.0, 0.0)):
        front = car.static_front_n + q * (float(whole(result).cla_front_m2) + change[0])
        rear = car.static_rear_n + q * (float(whole(result).cla_rear_m2) + change[1])
        return front / (front + rear)

    lift = car.body_lift
    moves = [(lift.front.value - end, 0.0) for end in (lift.front.low, lift.front.high)]
    moves += [(0.0, lift.rear.value - end) for end in (lift.rear.low, lift.rear.high)]
    for middle, ends in (
        (result.wing_set, [result.wing.low.at(m), result.wing.high.at(m)]),
        (result.wing_set, [one.at(m) for one in result.wing.installed]),
        (result.front[0].middle, [result.front[0].low, result.front[0].high]),
    ):
        moves += [
            (float(end.cla_front_m2 - middle.cla_front_m2), float(end.cla_rear_m2 - middle.cla_rear_m2))
            for end in ends
        ]
    steps = np.array([share(move) - share() for move in moves]).reshape(-1, 2)
    low = share() - np.sqrt(np.sum(np.minimum(steps.min(axis=1), 0.0) ** 2))
    high = share() + np.sqrt(np.sum(np.maximum(steps.max(axis=1), 0.0) ** 2))
    assert (result.share.low, result.share.high) == pytest.approx((low, high))
    assert result.share.value == pytest.approx(result.left[0].front_share)
    assert f"{100 * low:.1f} to {100 * high:.1f} ({result.share.largest_doubt})" in told_by(result)


def test_axle_loads_have_the_bands_of_all_doubts(result):
    """EXACT: at the set angle the same moves, added as squares, as the axle areas of all set-ups."""
    speed, wing = float(stand_in_wing().speed_m_s[4]), stand_in_wing()
    front, rear = axle_loads_at(result, wing, speed, 6.0)
    k, m = 4, result.loads.wing_angle_deg.tolist().index(6.0)
    q = 0.5 * result.density_kg_m3 * speed**2
    assert front.value == pytest.approx(result.loads.front_air_n[k, m])
    assert rear.value == pytest.approx(result.loads.rear_air_n[k, m])
    lift, ends = result.car.body_lift.rear, (result.front[0].low, result.front[0].high)
    least = [q * (lift.high - lift.value)]
    least += [-q * min(float(end.cla_rear_m2 - result.front[0].middle.cla_rear_m2) for end in ends)]
    on_rear = wing_areas(wing, 2.5, result.wing.x_m)
    moves = ([one.cla_rear_m2[k, m] - on_rear[1].cla_rear_m2[k, m] for one in pair]
             for pair in ((on_rear[0], on_rear[2]), on_rear[3:]))  # fmt: skip
    least += [-q * min(*pair, 0.0) for pair in moves]
    assert rear.low == pytest.approx(rear.value - np.sqrt(np.sum(np.square(least))))
    _, alone = wing_loads_at(result, wing, speed, 6.0)
    assert alone.value == pytest.approx(q * on_rear[1].cla_rear_m2[k, m])
    assert alone.low == pytest.approx(alone.value - np.sqrt(np.sum(np.square(least[2:]))))


def test_what_the_straight_costs_has_its_band(result):
    """EXACT: the middles are those of the straight; the power is drag times speed."""
    straight = result.straight
    lost = straight.top_lost_m_s, straight.time_lost_s, straight.end_lost_m_s, straight.power_w
    both = [(float(areas.cda_m2), float(areas.cla_m2)) for areas in (whole(result), result.body)]
    drag, down = (np.array(column) for column in zip(*both, strict=True))
    run = (result.density_kg_m3, straight.length_m, straight.entry_m_s)
    (top, bare_top), (time, bare_time), (end, bare_end) = straight_runs(result.car, drag, down, *run)
    held = resistance_n(result.car, drag, down, result.density_kg_m3, straight.power_speed_m_s)
    power = straight.power_speed_m_s * float(held[0] - held[1])
    assert (straight.top_with_m_s, straight.top_without_m_s) == pytest.approx((top, bare_top))
    middles = (bare_top - top, time - bare_time, bare_end - end, power)
    assert [one.value for one in lost] == pytest.approx(middles)
    for one in lost:
        assert one.low < one.value < one.high
        assert one.largest_doubt
    (gap,) = result.clearances
    assert gap.left_m < gap.most_left_m < gap.at_rest_m


def test_tabs_are_no_difference_where_their_laps_are_within_the_gains_band(result):
    """EXACT: three made laps 0.01 s apart with a band of 0.2 s, then with one of 0.002 s."""
    from wingtool.track import best_angle

    angles = np.array([3.0, 4.0, 5.0])
    laps = [best_angle(f"{name}, retuned", angles, np.array([97.0, 96.6 + more, 97.0]))
            for name, more in (("no tab", 0.0), ("tab of 2.5 mm", 0.01))]  # fmt: skip
    wide, narrow = (
        told_by(replace(result, lap=replace(result.lap, best_tabs=tuple(laps), retuned=pair)))
        for pair in (
            replace(result.lap.retuned, gain=Estimate(0.2, 0.1, 0.3)),
            replace(result.lap.retuned, gain=Estimate(0.2, 0.199, 0.201)),
        )
    )
    assert "tab or more angle, retuned equal best angles: no tab 4°, tab of 2.5 mm 4°" in wide
    assert "best angle, tab of 2.5 mm, retuned 4° 96.61 s a lap" in narrow


def test_each_state_is_held_against_its_own_bare_car():
    """EXACT: parts that are nothing gain nothing, as fitted and retuned, though the bare body lifts."""
    nothing = stand_in_wing(area_m2=1e-9)
    found = car_result(study(splitter=None), nothing, 6.0)
    assert found.car.body_lift.rear.value > 0.0
    for pair in (found.lap.fitted, found.lap.retuned):
        assert pair.gain.value == pytest.approx(0.0, abs=1e-6)
    assert found.lap.retuned.without.lap_time_s[0] < found.lap.fitted.without.lap_time_s[0]
    assert found.corners.retuned_m_s == pytest.approx(found.corners.retuned_without_m_s, abs=1e-6)


def test_taps_of_a_study_carry_their_error_into_the_splitters_band():
    """EXACT: six readings of 10 Pa and their differences at 120 km/h, by hand: +- 6 N of 154 N."""
    taps = {
        "speed": "120 km/h", "error": "10 Pa",
        "above": ["380 Pa", "400 Pa"], "below": ["-230 Pa", "-210 Pa"], "floor": ["-170 Pa", "-150 Pa"],
    }  # fmt: skip
    splitter = checked_study(FULL | {"splitter": FULL["splitter"] | {"taps": taps}}).splitter
    q = 0.5 * 1.225 * (120 / 3.6) ** 2
    part = splitter_estimate(splitter.value(1.225), GREEN_HATCH)
    blade, floor = 0.09 * 1.5, 0.3 * 1.5
    force, one = blade * (390 + 220) + floor * 160, np.hypot(10 / np.sqrt(2), 10)
    half = one * np.sqrt(2 * blade**2 + floor**2)
    assert np.array(part.cla_m2) * q == pytest.approx([force - half, force, force + half])
    assert half < 10.0


def test_the_front_scaled_for_the_lap_keeps_the_static_share():
    """EXACT: what wing and front add falls on the axles as the weight does, as in the matched settings."""
    from wingtool.study.car.lap import scaled_front
    from wingtool.study.car.parts import fitted_car

    fit = fitted_car(study(), stand_in_wing(), 6.0)
    front, matched = scaled_front(fit), car_result(study(), stand_in_wing(), 6.0).matched
    needed = matched.matched_front_n / fit.q_pa(matched.speed_m_s)
    within = (front.cla_m2 > 0.0) & (front.cla_m2 < 0.99 * fit.front[0].cla_m2[2])
    assert within.sum() >= 2
    both = front + fit.on_car.middle
    assert both.cla_front_m2[within] == pytest.approx(fit.car.front_share * both.cla_m2[within])
    assert front.cla_m2[within] == pytest.approx(needed[within], rel=0.02)


def test_the_proof_load_before_a_coast_down_covers_that_after_it(result):
    """EXACT: the drag's high end by 0.12 of the downforce, until the drag was measured on the car."""
    measured = study(correction={"drag_factor": 1.0, "drag_on_car": True})
    before, after = result.mounts, car_result(measured, stand_in_wing(), 6.0).mounts
    q = 0.5 * result.density_kg_m3 * before.speed_m_s**2
    wing = stand_in_wing()
    area = (wing.drag.high_n + 0.12 * np.abs(wing.downforce.high_n))[0] / (
        0.5 * result.density_kg_m3 * wing.speed_m_s[0] ** 2
    )
    assert before.drag_n == pytest.approx(q * area.max(), rel=0.01)
    assert before.proof_drag_n > after.proof_drag_n
    assert before.moment_nm >= after.moment_nm
    assert before.down_n == pytest.approx(after.down_n, rel=0.01)
    behind = {"mounts": FULL["mounts"] | {"foot_ahead": "-30 cm"}}  # here drag takes from the moment
    feet = [car_result(study(**behind, **more), wing, 6.0).mounts.moment_nm
            for more in ({}, {"correction": {"drag_factor": 1.0, "drag_on_car": True}})]  # fmt: skip
    assert np.abs(feet[0]) >= np.abs(feet[1]) * 0.99


def test_foot_moment_of_a_study(result):
    """EXACT: high ends of drag (0.12 of the downforce added) and moment, gust 1.5, two feet."""
    wing, loads = stand_in_wing(), result.mounts
    m, k = int(np.argmin(np.abs(wing.wing_angle_deg - loads.wing_angle_deg))), 0
    grow = (loads.speed_m_s / wing.speed_m_s[k]) ** 2
    raised = wing.pitching_moment_nm[k, m] * wing.downforce.high_n[k].max() / wing.downforce.n[k].max()
    drag = wing.drag.high_n[k, m] + 0.12 * wing.downforce.high_n[k, m]
    moment = 1.5 * grow * (drag * 0.3 + raised) / 2
    assert abs(raised) > 0.01 * wing.drag.high_n[k, m]
    assert loads.moment_nm == pytest.approx(moment)
    # hardly any downforce, but a wide band: its own ratio of 115 would make this angle the worst
    middle = wing.downforce.n.copy()
    middle[:, 0] *= 0.01
    faint = replace(wing, downforce=replace(wing.downforce, n=middle))
    assert car_result(study(), faint, 6.0).mounts.moment_nm == pytest.approx(loads.moment_nm)


def test_outer_tyre_without_a_circuit():
    """EXACT: at the fast end each axle holds mu (load / rest)^0.9; the outer wheel half and the transfer."""
    found = car_result(study(circuit=None), stand_in_wing(), 12.0)
    q, car = 0.5 * found.density_kg_m3 * found.top_band_m_s[1] ** 2, found.car
    front, rear = (float(q * area) for area in (whole(found).cla_front_m2, whole(found).cla_rear_m2))
    ratios = 1 + front / car.static_front_n, 1 + rear / car.static_rear_n
    held_g = 1.05 * (0.58 * ratios[0] ** 0.9 + 0.42 * ratios[1] ** 0.9)
    transfer = 0.42 * 1150.0 * 9.80665 * held_g * car.cg_height_m / 1.48
    assert held_g > 1.06
    outer_n = (car.static_rear_n + rear) / 2 + transfer
    assert found.springs[1].tyre_share == pytest.approx(outer_n / car.rear.tyre_load_n)
