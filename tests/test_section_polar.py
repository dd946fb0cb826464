"""Lookup between the points of a polar, its stall, its extension, and the learned surrogate."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wingtool.errors import RangeError
from wingtool.geometry import Section
from wingtool.section import (
    LOW_CONFIDENCE,
    Question,
    SectionPolar,
    circulation_at,
    extended,
    polar_from_arrays,
    surrogate_polar,
)
from wingtool.section.curves import first_peak

ALPHA = np.arange(-10.0, 21.0)


def stalling(alpha_deg, peak_deg=12.0):
    """An invented section: straight to the peak, then a fall of 0.03 a degree."""
    return np.where(alpha_deg < peak_deg, 0.1 * alpha_deg, 0.1 * peak_deg - 0.03 * (alpha_deg - peak_deg))


def given_polar(**facts) -> SectionPolar:
    return polar_from_arrays(ALPHA, stalling(ALPHA), 0.01 + 0.0001 * ALPHA**2, -0.05 + 0 * ALPHA, **facts)


@given(st.floats(-10, 20), st.floats(1e4, 1e7))
def test_lookup_never_leaves_its_neighbours(alpha, reynolds):
    """EXACT: a monotone interpolant lies between the two points beside it."""
    found = given_polar().at(alpha, reynolds)
    left = np.clip(np.searchsorted(ALPHA, alpha, side="right") - 1, 0, ALPHA.size - 2)
    ends = stalling(ALPHA[left : left + 2])
    assert ends.min() - 1e-12 <= found.cl <= ends.max() + 1e-12


def test_lookup_keeps_the_shape_and_differentiates():
    """EXACT: the slope agrees with a central difference of the value."""
    polar = given_polar()
    alpha = np.linspace(-9.4, 18.7, 24).reshape(2, 3, 4)
    found = polar.at(alpha, 1e6)
    assert found.cl.shape == (2, 3, 4)
    circulation, slope = circulation_at(polar.table, alpha, np.full(alpha.shape, 1e6))
    np.testing.assert_allclose(circulation, found.circulation)
    difference = (polar.at(alpha + 1e-4, 1e6).cl - polar.at(alpha - 1e-4, 1e6).cl) / np.radians(2e-4)
    np.testing.assert_allclose(slope, difference, atol=1e-4)


def test_reynolds_number_enters_by_its_logarithm():
    """EXACT: half way in the logarithm is half way in the coefficient."""
    cl = np.stack([0.1 * ALPHA, 0.12 * ALPHA])
    polar = polar_from_arrays(ALPHA, cl, 0 * cl + 0.01, reynolds=[1e5, 1e7])
    assert polar.at(5.0, 1e6).cl == pytest.approx(0.55)
    assert polar.at(5.0, 1e3).cl == pytest.approx(0.5)


def test_no_number_is_made_up_across_a_gap():
    cl = stalling(ALPHA)
    cl[15:18] = np.nan
    polar = polar_from_arrays(ALPHA, cl, 0.01 + 0 * ALPHA)
    found = polar.at(np.array([3.9, 4.5, 6.0, 7.9, 8.1]), 1e6)
    np.testing.assert_array_equal(found.inside, [True, False, False, False, True])
    np.testing.assert_array_equal(np.isnan(found.cl), ~found.inside)
    assert polar.status[0, 16].startswith("not converged: ")
    passed = extended(polar).at(6.0, 1e6)
    assert np.isfinite(passed.cl)
    assert not passed.inside


def test_a_plateau_is_stall_and_a_wiggle_is_not():
    """Lift that has stopped rising is stall, even where it creeps up again; a dent on the way up is none."""
    plateau = np.where(ALPHA < 12, 0.1 * ALPHA, 1.2 - 0.002 * (ALPHA - 12) * (16 - ALPHA))
    polar = polar_from_arrays(ALPHA, plateau, 0.01 + 0 * ALPHA)
    assert polar.stall_alpha_deg(1e6) == 12.0
    assert polar.stall()[1] == pytest.approx(1.2)
    dented = stalling(ALPHA) - 0.03 * (ALPHA == 5)
    assert polar_from_arrays(ALPHA, dented, 0.01 + 0 * ALPHA).stall_alpha_deg(1e6) == 12.0


def test_data_that_show_stall_at_one_reynolds_number_only():
    cl = np.stack([stalling(ALPHA), stalling(ALPHA)])
    cl[1, ALPHA > 12] = np.nan
    polar = polar_from_arrays(ALPHA, cl, 0.01 + 0 * cl, reynolds=[1e5, 1e6])
    np.testing.assert_array_equal(
        polar.shows_stall(np.array([5e4, 1e5, 3e5, 1e6])), [True, True, False, False]
    )
    assert not polar.stall()[2].all()


def test_stall_is_where_lift_stops_rising():
    polar = given_polar()
    assert polar.stall_alpha_deg(1e6) == 12.0
    assert polar.stall()[1] == pytest.approx(1.2)
    assert polar.stall()[2].all()
    assert polar.status[0, -1] == "beyond stall"
    short = polar_from_arrays(ALPHA[:15], stalling(ALPHA[:15]), 0.01 + 0 * ALPHA[:15])
    assert not short.stall()[2].all()
    assert short.stall_alpha_deg(1e6) == 4.0


def test_extension_is_continuous_bounded_and_marked():
    """PUBLISHED: NASA TM-82944 (from memory): drag 1.11 + 0.018 AR and no lift at 90 degrees."""
    longer = extended(given_polar(), aspect_ratio=6.0)
    alpha = np.linspace(-90, 90, 721)
    found = longer.at(alpha, 1e6)
    np.testing.assert_array_equal(found.inside, (alpha >= -10) & (alpha <= 20))
    assert np.all(np.abs(found.cl) <= 1.2 + 1e-9)
    assert found.cd.max() <= 1.11 + 0.018 * 6 + 1e-9
    assert found.cd[-1] == pytest.approx(1.218)
    assert abs(found.cl[-1]) < 1e-12
    assert np.max(np.abs(np.diff(found.cl))) < 0.06
    assert longer.at(20.0, 1e6).cl == pytest.approx(given_polar().at(20.0, 1e6).cl)


@pytest.mark.parametrize(
    ("arrays", "complaint"),
    [
        (([0, 0, 1], [0, 0, 1], [0, 0, 0]), "increase"),
        (([0, 1, 2], [0, 1], [0, 0, 0]), "shape"),
        (([0], [0], [0]), "at least two"),
        (([0, np.nan, 2], [0, 1, 2], [0, 0, 0]), "finite"),
    ],
)
def test_arrays_that_make_no_polar_are_refused(arrays, complaint):
    with pytest.raises(RangeError, match=complaint):
        polar_from_arrays(*arrays)


def symmetric_section(thickness=0.12, points=81):
    """The four-digit thickness form (Jacobs, Ward & Pinkerton, NACA TR 460, 1933), closed tail."""
    x = 0.5 * (1 - np.cos(np.linspace(0, np.pi, points)))
    y = 5 * thickness * (0.2969 * np.sqrt(x) - 0.126 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1036 * x**4)
    upper = np.column_stack([x, y])[::-1]
    return Section("symmetric", np.vstack([upper, np.column_stack([x, -y])[1:]]))


def test_surrogate_gives_a_symmetric_section_a_lift_slope_near_the_measured_one():
    """PUBLISHED: Abbott & von Doenhoff, section 0012 at Re 6e6: 0.106 to 0.110 per degree (from memory);
    the surrogate is held to 8 %, being a second opinion."""
    polar = surrogate_polar(Question(symmetric_section(), [6e6], [-4.0, 0.0, 4.0], surface="smooth"))
    assert polar.cl[0, 1] == pytest.approx(0.0, abs=0.01)
    assert (polar.cl[0, 2] - polar.cl[0, 0]) / 8 == pytest.approx(0.108, rel=0.08)
    assert np.all(polar.cl_low < polar.cl)
    assert np.all(polar.cd_low < polar.cd)


def test_surrogate_says_where_it_does_not_trust_itself():
    polar = surrogate_polar(Question(symmetric_section(), [2e4], np.arange(-30.0, 31.0, 5.0)))
    assert polar.status[0, 0] == LOW_CONFIDENCE
    assert np.all((polar.confidence < 0.8) == (polar.status == LOW_CONFIDENCE))


def test_a_trip_brings_transition_forward():
    free = surrogate_polar(Question(symmetric_section(), [1e6], [0.0, 2.0], surface="smooth"))
    dirty = surrogate_polar(Question(symmetric_section(), [1e6], [0.0, 2.0], surface="dirty"))
    assert np.all(dirty.transition_upper < 0.1)
    assert np.all(free.transition_upper > 0.3)
    assert np.all(dirty.cd > free.cd)


@pytest.mark.parametrize(
    ("facts", "complaint"),
    [
        ({"surface": "shiny"}, "surface"),
        ({"trip_x": 2.0}, "trip"),
        ({"height_chord": 0.5}, "ground"),
    ],
)
def test_surrogate_refuses_what_it_cannot_know(facts, complaint):
    with pytest.raises(RangeError, match=complaint):
        surrogate_polar(Question(symmetric_section(), [1e6], [0.0], **facts))


def test_a_reynolds_number_without_data_is_left_out_and_none_at_all_is_refused():
    cl = np.stack([stalling(ALPHA), np.full(ALPHA.size, np.nan)])
    polar = polar_from_arrays(ALPHA, cl, 0.01 + 0 * cl, reynolds=[1e5, 1e6])
    assert extended(polar).at(5.0, 1e6).cl == pytest.approx(0.5)
    assert polar.stall_alpha_deg(1e6) == 12.0
    assert np.isnan(polar.at(5.0, 1e6).cl)
    empty = polar_from_arrays(ALPHA, np.nan * ALPHA, 0.01 + 0 * ALPHA)
    why = "no Reynolds number has two converged points .most often: not converged"
    with pytest.raises(RangeError, match=why):
        extended(empty)


def test_a_dip_is_no_stall_a_fall_by_a_tenth_is():
    """EXACT: lift that falls by 4 % of the greatest before it comes to be higher, and by 10 %."""
    alpha = np.arange(0.0, 15.0, 3.0)
    dip, fall = (np.array([0.0, 0.8, low, 1.2, 0.9]) for low in (0.752, 0.68))
    assert first_peak(alpha, dip) == (9.0, 1.2, True)
    assert first_peak(alpha, fall) == (3.0, 0.8, True)
