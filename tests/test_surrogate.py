"""The learned surrogate's band against the measured record."""

import numpy as np
import pytest

from wingtool.errors import WingtoolError
from wingtool.geometry import find_section
from wingtool.section import SectionPolar, polar
from wingtool.study.trust.record import curve_rows

ALPHA_DEG = np.arange(-8.0, 20.0, 0.5)


def lift_and_drag_inside(row: dict[str, str], found: SectionPolar) -> tuple[list[bool], list[bool]]:
    """Whether each figure of a measured curve lies in the band: lift at equal angle, drag at equal lift."""
    top = int(np.argmax(found.cl[0])) + 1
    lift, drag = [], []
    for angle, name in ((0.0, "cl_0deg"), (4.0, "cl_4deg"), (8.0, "cl_8deg")):
        if row[name]:
            low, high = (np.interp(angle, ALPHA_DEG, side[0]) for side in (found.cl_low, found.cl_high))
            lift.append(low <= float(row[name]) <= high)
    for cl, name in ((0.0, "cd_cl_0"), (0.5, "cd_cl_05"), (1.0, "cd_cl_10")):
        if row[name]:
            sides = found.cd_low[0, :top], found.cd_high[0, :top]
            low, high = (np.interp(cl, found.cl[0, :top], side) for side in sides)
            drag.append(low <= float(row[name]) <= high)
    return lift, drag


@pytest.mark.parametrize(("least", "below"), [(1.9e5, 1e7), (0.0, 1.9e5)])
def test_the_band_holds_what_was_measured_and_no_more_than_it_must(least, below):
    """PUBLISHED: sources in tests/data/section_record.csv, clean and tripped curves without a tab."""
    lift: list[bool] = []
    drag: list[bool] = []
    for row in curve_rows():
        if float(row["tab_chord"]) or not least <= float(row["reynolds"]) < below:
            continue
        try:
            section = find_section(row["collection_name"])
        except WingtoolError:
            continue
        reynolds, trip = float(row["reynolds"]), float(row["trip_upper_x"])
        found = polar(section, reynolds, ALPHA_DEG, "surrogate", "smooth", trip if trip < 1 else None)
        of_lift, of_drag = lift_and_drag_inside(row, found)
        lift, drag = lift + of_lift, drag + of_drag
    assert len(lift) > 150
    assert len(drag) > 100
    assert 0.93 < np.mean(lift) < 0.985  # a 95 % band, on 95 to 264 figures
    assert 0.93 < np.mean(drag) < 0.985
