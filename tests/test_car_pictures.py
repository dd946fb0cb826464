"""Texts in the car's pictures: none is cut off by its frame, none lies over another."""

import pytest
from car_stand_ins import stand_in_wing
from matplotlib.figure import Figure

from wingtool.report.plots.car import draw_place
from wingtool.study import car_result, checked_study

STUDY = {
    "title": "stand-in",
    "wing": {"section": "4412", "span": "1.4 m", "chord": "25 cm", "height": "1.3 m"},
    "car": {
        "mass": "1150 kg", "front_share": 0.58, "wheelbase": "2.5 m", "power": "135 kW", "cda": "0.72 m^2",
    },
    "splitter": {"overhang": "90 mm", "width": "1.5 m", "clearance": "90 mm", "floor": "300 mm"},
}  # fmt: skip


def drawn(draw, behind, angle=6.0):
    mounts = {"behind_rear_axle": f"{behind} m"}
    figure = Figure(figsize=(7.0, 5.0), layout="constrained")
    draw(figure, car_result(checked_study(STUDY | {"mounts": mounts}), stand_in_wing(), angle))
    figure.draw_without_rendering()
    (ax,) = figure.axes
    return ax, [text for text in ax.texts if text.get_text()]


@pytest.mark.parametrize("angle", [0.0, 3.0, 6.0, 10.0])
@pytest.mark.parametrize("behind", [-0.3, 0.0, 0.45, 0.7])
def test_numbers_on_lines_of_equal_balance_stand_inside_the_frame(behind, angle):
    ax, texts = drawn(draw_place, behind, angle)
    assert len({text.get_text() for text in texts}) == len(texts) >= 3
    for text in texts:
        corners = text.get_window_extent().corners()
        assert all(ax.bbox.contains(x, y) for x, y in corners), text.get_text()
