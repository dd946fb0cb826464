"""Little ground left under a front part: the caution stands at that number, wherever it is printed."""

from dataclasses import replace

import pytest
from car_stand_ins import GREEN_HATCH, stand_in_wing

from wingtool.car import clearance_left
from wingtool.report.car_text import car_numbers
from wingtool.report.page.car import car_content
from wingtool.study import car_result, checked_study

STUDY = {
    "title": "stand-in",
    "wing": {"section": "4412", "span": "1.4 m", "chord": "25 cm", "height": "1.3 m"},
    "car": {
        "mass": "1150 kg", "front_share": 0.58, "wheelbase": "2.5 m", "power": "135 kW", "cda": "0.72 m^2",
        "front": {"spring_rate": "60 N/mm", "track": "1.5 m"},
        "rear": {"spring_rate": "50 N/mm", "track": "1.48 m"},
    },
    "splitter": {"overhang": "90 mm", "width": "1.5 m", "clearance": "90 mm", "floor": "300 mm"},
    "mounts": {"behind_rear_axle": "0.5 m"},
}  # fmt: skip


def with_clearance(millimetres, part="splitter"):
    tables = {k: v for k, v in STUDY.items() if k != "splitter"}
    size = {"clearance": f"{millimetres:.3f} mm", "width": "1.5 m"}
    own = {"overhang": "90 mm", "floor": "300 mm"} if part == "splitter" else {"height": "12 cm"}
    return car_result(checked_study(tables | {part: size | own}), stand_in_wing(), 6.0)


def with_left(left_mm, part):
    """The result whose clearance leaves so much; the splitter's band, and so what is taken, depends on it."""
    millimetres = 62.0 + left_mm
    for _ in range(5):
        result = with_clearance(millimetres, part)
        more = left_mm - 1e3 * result.clearances[0].left_m
        if abs(more) < 0.3:
            return result
        millimetres += more
    raise AssertionError(millimetres)


@pytest.mark.parametrize("part", ["splitter", "air dam"])
@pytest.mark.parametrize(
    ("left_mm", "said"),
    [
        (-5.0, "nothing left"),
        (5.0, "only 5 mm (0.2 in) left"),
        (23.0, "only 23 mm (0.9 in) left"),
        (26.0, ""),
    ],
)
def test_the_caution_stands_wherever_the_number_is_printed(part, left_mm, said):
    key = part.replace(" ", "_")
    result = with_left(left_mm, key)
    (gap,) = result.clearances
    assert 1e3 * gap.left_m == pytest.approx(left_mm, abs=0.4)
    (block,) = [b for b in car_content(result) if b["heading"] == "Front end, clearance, springs"]
    told = [text for text in block["cautions"] if f"left under the {part}" in text]
    (cell,) = [row[3] for row in car_numbers(result) if row[0] == f"clearance left under the {part}"]
    if not said:
        assert told == []
        assert "left under" not in cell
        return
    (caution,) = told
    assert caution == block["cautions"][0]
    for text in (caution, cell):
        assert said.lower() in text.lower()
        assert "the event's rules on ground clearance come first" in text
        assert "takes load off the front tyres" in text


def test_it_says_what_balance_is_left_without_the_part():
    """TWIN: the see-saw's own words for the case that the splitter is gone."""
    result = with_clearance(60.0)
    (words,) = [case.words for case in result.left if case.lost_part == "splitter"]
    assert words.startswith("front less loaded")
    assert f"if it breaks off, {words}" in result.clearances[0].caution


def front_block(**changes):
    tables = {k: v | changes.get(k, {}) if isinstance(v, dict) else v for k, v in STUDY.items()}
    blocks = car_content(car_result(checked_study(tables), stand_in_wing(), 6.0))
    (block,) = [b for b in blocks if b["heading"] == "Front end, clearance, springs"]
    return block


@pytest.mark.parametrize("axle", ["front", "rear"])
def test_what_is_left_without_a_spring_rate_is_said_to_be_unknown(axle):
    block = front_block(car={axle: {"track": "1.5 m"}})
    (row,) = [row for row in block["rows"] if row[0].startswith("left under the splitter")]
    assert row[1:] == ("not known", "of 90 mm at rest; top speed")
    assert "give spring_rate in [car.front] and [car.rear]" in block["lines"][0]


def test_the_rods_pull_has_its_caution_and_what_was_taken_beside_it():
    """EXACT: two rods at 60 degrees are taken where the study says nothing; without rods none pulls."""
    block = front_block()
    assert any(row[0] == "pull of each splitter rod" for row in block["rows"])
    assert any("let rods buckle" in text for text in block["cautions"])
    (taken,) = [text for text in block["cautions"] if "so taken" in text]
    assert taken == "Not given in [splitter], so taken: thickness 0.012 m, rods 2, rod_angle_deg 60.0."
    given = {"thickness": "15 mm", "rods": 0}
    bare = front_block(splitter=given)
    assert any(row[0] == "load on the splitter's blade, no rod" for row in bare["rows"])
    assert not any("so taken" in text for text in bare["cautions"])


def test_without_wheel_rates_nothing_is_claimed():
    bare = type(GREEN_HATCH.front)()
    gap = clearance_left("splitter", 0.01, 1.5, 0.9, replace(GREEN_HATCH, front=bare), 500.0, 1.0, 1.0)
    assert gap.left_m is None
    assert gap.caution == ""


def test_a_low_wing_has_the_caution_of_the_front_parts_at_its_plates_lower_edge():
    """EXACT: a wing 50 mm up, ahead of the front axle, has nothing left; one at 1.3 m is not asked about."""
    low = {"wing": STUDY["wing"] | {"height": "50 mm"}, "mounts": {"behind_rear_axle": "-3.2 m"}}
    result = car_result(checked_study(STUDY | low), stand_in_wing(), 6.0)
    (gap,) = [one for one in result.clearances if one.part == "wing"]
    assert gap.at_rest_m <= 0.05
    assert gap.caution.startswith("nothing left under the wing")
    assert "wing" not in [one.part for one in with_clearance(90.0).clearances]
