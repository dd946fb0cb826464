"""What section data say of themselves reaches the driver, whichever plane or station they belong to."""

from dataclasses import replace

import numpy as np

from wingtool.section import polar_from_arrays
from wingtool.study import of_sections
from wingtool.wing import Plane, StationPolars, Wing, solve_planes

ALPHA = np.arange(-8.0, 17.0)
DATA = polar_from_arrays(ALPHA, 0.4 + 0.1 * ALPHA, 0.01 + 0.0 * ALPHA)


def told(*notes):
    return replace(DATA, notes=notes)


def test_every_plane_and_station_is_heard_once_and_plain_notes_are_not():
    """EXACT: texts put into the data come out; what was asked for and what stands in a row do not."""
    first = [
        StationPolars(0.0, (told("surface race: as asked", "stall from the nose"),)),
        StationPolars(1.0, (told("two solutions: hysteresis", "the tip's own"),)),
    ]
    second = told("stall from the nose", "the second plane's own")
    planes = [Plane(Wing(1.4, 0.25), first), Plane(Wing(1.4, 0.1), second, 0.3, 0.2)]
    found = solve_planes(planes, [4.0], [40.0])
    assert [caution.text for caution in of_sections(found)] == [
        "Section data: stall from the nose.",
        "Section data: the tip's own.",
        "Section data: the second plane's own.",
    ]
