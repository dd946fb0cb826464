"""The inviscid polar and the door that adds a tab to methods without one."""

import numpy as np
import pytest

from wingtool.errors import RangeError
from wingtool.geometry import four_digit
from wingtool.section import LOW_CONFIDENCE, polar


def test_inviscid_polar_is_marked_and_lifts():
    """EXACT: thin-aerofoil theory, 2 pi per radian, times 1 + 0.77 t/c for thickness (from memory)."""
    found = polar(four_digit("0012"), [3e5, 1e6], [0.0, 4.0, 8.0], method="inviscid")
    assert found.cl.shape == (2, 3)
    assert (found.status == LOW_CONFIDENCE).all()
    assert (found.cd == 0).all()
    assert "no stall" in found.notes[0]
    slope = (found.cl[0, 1] - found.cl[0, 0]) / np.radians(4.0)
    assert slope == pytest.approx(2 * np.pi * (1 + 0.77 * 0.12), rel=0.01)
    np.testing.assert_allclose(found.circulation, found.cl, atol=2e-3)


def test_near_the_ground_circulation_is_not_lift():
    near = polar(four_digit("4412"), 1e6, [4.0], "inviscid", height_chord=0.1)
    free = polar(four_digit("4412"), 1e6, [4.0], "inviscid")
    assert near.cl[0, 0] > 1.5 * free.cl[0, 0]
    assert near.cl[0, 0] > 1.1 * near.circulation[0, 0]


@pytest.mark.parametrize("method", ["inviscid", "surrogate"])
def test_the_door_adds_a_tab_at_every_angle(method):
    plain, tabbed = (
        polar(four_digit("4412"), 5e5, np.arange(-4.0, 13.0, 2.0), method=method, tab_chord=h)
        for h in (0.0, 0.01)
    )
    assert np.isfinite(tabbed.cl).all()
    assert (tabbed.cl > plain.cl)[:, :5].all()
    assert (tabbed.cd > plain.cd)[:, :5].all()
    assert tabbed.tab_chord == 0.01


def test_refuses_a_height_below_the_ground():
    with pytest.raises(RangeError, match="not positive"):
        polar(four_digit("4412"), 1e6, [4.0], "inviscid", height_chord=-0.1)
