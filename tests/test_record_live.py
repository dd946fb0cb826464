"""The measured record at the Reynolds numbers of a car's wing, computed again by this build, and its bars."""

import os

import numpy as np
import pytest

from wingtool.section import FIGURES
from wingtool.study import STALL_MARGIN_DEG
from wingtool.study.trust.record import LEFT_OUT, METHODS, WING_REYNOLDS, mean_and_rms, record_table

# Mean and rms allowed, sections left out. Bars set before the fit: greatest lift 2 and 6 %, angle 1
# and 2.5 degrees, lift 0.03 and 0.06, drag 4 and at lift 0.5 and 1 9 and 11 %. Two tests of one section
# differ by 2.2 % in greatest lift and 6 % in drag (rms), so nothing below that could be held.
BARS = {
    "cl_max": (2.0, 6.0),
    "alpha_cl_max_deg": (1.0, 2.5),
    "cl_4deg": (0.03, 0.06),
    "cd_cl_05": (4.0, 9.0),
    "cd_cl_10": (4.0, 11.0),
}


@pytest.fixture(scope="module")
def table():
    def wanted(row):
        low, high = WING_REYNOLDS
        return low < float(row["reynolds"]) < high and row["surface"] != "aft trip"

    return record_table(jobs=os.cpu_count() or 1, wanted=wanted)


@pytest.mark.slow
@pytest.mark.parametrize("figure", BARS)
def test_the_record_is_met(table, figure):
    """PUBLISHED: sources in tests/data/section_record.csv; see `BARS`. Ahead of the surrogate."""
    found = {method: mean_and_rms(table.errors(method, figure)) for method in METHODS}
    mean, rms, count = found[LEFT_OUT]
    allowed_mean, allowed_rms = BARS[figure]
    assert count > 55
    assert abs(mean) <= allowed_mean
    assert rms <= allowed_rms
    assert rms < found["surrogate"][1]


@pytest.mark.slow
def test_the_band_is_earned(table):
    """PUBLISHED: sources in tests/data/section_record.csv; 90 to 99 % of the figures of lift and of drag
    inside the band of a fit without the section, the half-width of lift at 4 degrees 0.10 or less."""
    for inside in table.in_band(np.ones(len(table.surface), dtype=bool)):
        assert 90.0 <= inside <= 99.0
    column = FIGURES.index("cl_4deg")
    assert np.nanmedian(table.high[:, column] - table.low[:, column]) <= 2 * 0.10


@pytest.mark.slow
def test_stall_comes_no_later_than_the_margin_that_the_advice_keeps(table):
    """PUBLISHED: sources in tests/data/section_record.csv; sections left out of the fit."""
    late = table.errors(LEFT_OUT, "alpha_cl_max_deg")
    assert np.nanmax(late) <= STALL_MARGIN_DEG
