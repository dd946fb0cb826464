"""The second opinion beside a coupled polar."""

from dataclasses import replace

import numpy as np

from wingtool.geometry import four_digit
from wingtool.report import second_words
from wingtool.section import polar
from wingtool.study import outside_band, second_polar


def test_a_wrong_branch_shows_itself():
    """TWIN: the learned surrogate against the coupled solver; a lift a quarter off is named by its angle."""
    found = polar(four_digit("2412"), 1e6, np.arange(0.0, 7.0, 2.0), method="coupled", surface="smooth")
    second = second_polar(found)
    assert not outside_band(found, second).any()
    assert "within the band" in second_words(found, second)
    wrong = found.cl_low.copy(), found.cl_high.copy()
    for bound in wrong:
        bound[0, 2] *= 0.75
    spoilt = replace(found, cl_low=wrong[0], cl_high=wrong[1])
    assert np.flatnonzero(outside_band(spoilt, second)[0]).tolist() == [2]
    assert "at 4 degrees" in second_words(spoilt, second)


def test_it_has_no_say_on_tabs_ground_or_itself():
    found = polar(four_digit("2412"), 1e6, [0.0, 2.0], method="surrogate")
    assert second_polar(found) is None
    assert second_polar(replace(found, method="coupled", tab_chord=0.01)) is None
    assert second_polar(replace(found, method="coupled", height_chord=0.3)) is None
