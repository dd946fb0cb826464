"""More angle or a tab, at equal downforce."""

import numpy as np

from wingtool.section import polar_from_arrays
from wingtool.study.wing.tabs import rising_branch, tab_choice
from wingtool.wing import Wing, solve_wing

ALPHA = np.arange(-15.0, 26.0)
ANGLES = np.arange(-4.0, 17.0)


def wing(zero_deg, cd):
    lift = np.where(
        12 + zero_deg / 2 > ALPHA, ALPHA - zero_deg, 12 - zero_deg / 2 - 0.4 * (ALPHA - 12 - zero_deg / 2)
    )
    return solve_wing(
        Wing(1.4, 0.25), polar_from_arrays(ALPHA, 0.1 * lift, cd + 0 * ALPHA), ANGLES, [20.0, 40.0]
    )


def test_a_tab_that_only_shifts_the_zero_lift_angle():
    """EXACT: two degrees of shift are two degrees of wing angle; drag differs by the sections' own."""
    found = tab_choice([(0.0, wing(-4.0, 0.010)), (0.0025, wing(-6.0, 0.013))], [2.0, 6.0], 39.0)
    assert found.speed_m_s == 40.0
    np.testing.assert_allclose(found.wing_angle_deg[0], [2.0, 6.0])
    np.testing.assert_allclose(found.wing_angle_deg[1], [0.0, 4.0], atol=1e-3)
    added = 0.003 * 0.35 * 0.5 * 1.225 * 40.0**2
    np.testing.assert_allclose(found.drag.n[1] - found.drag.n[0], added, rtol=2e-3)
    assert np.all(found.stall_margin_deg[1] > found.stall_margin_deg[0])


def test_what_is_not_reached_is_nan_and_says_so():
    found = tab_choice([(0.0, wing(-6.0, 0.01)), (0.005, wing(-1.0, 0.01))], [14.0], 40.0)
    assert np.isnan(found.drag.n[1, 0])
    assert "not reached" in found.status[1, 0]
    lower = tab_choice([(0.0, wing(-1.0, 0.01)), (0.005, wing(-6.0, 0.01))], [-4.0], 40.0)
    assert "start the table lower" in lower.status[1, 0]
    assert found.status[0, 0] == "converged"
    assert found.drag.low_n[0, 0] < found.drag.n[0, 0] < found.drag.high_n[0, 0]


def test_the_rising_branch_ends_at_the_highest_downforce():
    """EXACT: from the least value behind nothing to the peak; gaps and steps back are left out."""
    force = np.array([5.0, 1.0, 2.0, np.nan, 1.5, 4.0, 9.0, 3.0])
    assert rising_branch(force, force).tolist() == [1, 2, 5, 6]
    drag = np.array([2.0, 1.0, 1.2, 1.3, 1.4, 1.6, 1.9, 2.5])
    assert rising_branch(drag, force).tolist() == [1, 2, 4, 5, 6]
