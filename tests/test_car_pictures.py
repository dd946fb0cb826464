"""Texts in the car's pictures: none leaves its picture, none lies over another."""

from itertools import combinations
from xml.etree import ElementTree

import pytest
from car_stand_ins import stand_in_wing

from wingtool.report.plots.study import car_pictures
from wingtool.study import car_result, checked_study

STUDY = {
    "title": "stand-in",
    "wing": {"section": "4412", "span": "1.4 m", "chord": "25 cm", "height": "1.3 m"},
    "car": {
        "mass": "1150 kg", "front_share": 0.58, "wheelbase": "2.5 m", "power": "135 kW", "cda": "0.72 m^2",
    },
    "splitter": {"overhang": "90 mm", "width": "1.5 m", "clearance": "90 mm", "floor": "300 mm"},
}  # fmt: skip
LETTER, HEIGHT = 6.4, 9.0  # of a letter of the pictures, on average, as chromium draws them


def boxes(svg):
    """(text, left, top, right, bottom) of every text."""
    for node in ElementTree.fromstring(svg).iter("text"):
        if not node.text:
            continue
        long, x, y = LETTER * len(node.text), float(node.get("x")), float(node.get("y"))
        left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[node.get("text-anchor")] * long
        yield node.text, left, y - HEIGHT, left + long, y


@pytest.mark.parametrize("angle", [0.0, 6.0, 10.0])
@pytest.mark.parametrize("behind", [-0.3, 0.45, 0.7])
def test_words_and_numbers_stand_clear_inside_the_picture(behind, angle):
    mounts = {"behind_rear_axle": f"{behind} m"}
    study = checked_study(STUDY | {"mounts": mounts})
    pictures = car_pictures(car_result(study, stand_in_wing(), angle), study.units)
    assert {"matched_settings", "corner_speed", "wing_place"} <= {one.name for one in pictures}
    for one in pictures:
        _, _, width, height = map(float, ElementTree.fromstring(one.svg).get("viewBox").split())
        texts = list(boxes(one.svg))
        for text, left, top, right, bottom in texts:
            assert left > -4.0, (one.name, text)
            assert right < width + 4.0, (one.name, text)
            assert 0.0 < top < bottom < height, (one.name, text)
        for (text, left, top, right, bottom), (other, l2, t2, r2, b2) in combinations(texts, 2):
            apart = left >= r2 - 2.0 or l2 >= right - 2.0 or top >= b2 or t2 >= bottom
            assert apart, (one.name, text, other)


def test_a_car_that_turns_above_two_g_is_drawn():
    """Levels of lateral load go to 2 g, and on to the greatest of each car."""
    circuit = {
        "name": "two corners",
        "segment": [
            {"name": "straight", "length": "150 m"},
            {"name": "corner", "length": "150 m", "radius": "60 m"},
        ],
    }
    car = STUDY["car"] | {"tyre": {"grip": 2.0}}
    study = checked_study(STUDY | {"car": car, "circuit": circuit, "mounts": {"behind_rear_axle": "0.45 m"}})
    result = car_result(study, stand_in_wing(), 6.0)
    one, two = result.lap.sustained
    assert len(one.level_g) != len(two.level_g)
    assert "sideways_load" in {one.name for one in car_pictures(result, study.units)}
