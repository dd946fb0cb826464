"""Several elements: how they are placed, and the limit up to which their flow stays attached."""

import numpy as np
import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from wingtool.errors import RangeError
from wingtool.geometry import four_digit, repanel
from wingtool.panels import solve
from wingtool.section import LOW_CONFIDENCE, Flap, Question, elements_polar, place_elements, polar
from wingtool.section.multi.head import entrainment_shape, separation, shape_of
from wingtool.section.multi.inviscid import attached_to, inviscid_elements_polar
from wingtool.study import read_study
from wingtool.study.wing.finite_wing import wing_of_study

MAIN = four_digit("4412")


def nearest(point, loop):
    """Distance from a point to a finely divided outline."""
    share = np.linspace(0, 1, 60)[:, None, None]
    fine = (loop[:-1] + share * np.diff(loop, axis=0)).reshape(-1, 2)
    return np.hypot(*(fine - point).T).min()


@settings(max_examples=15, deadline=None)
@given(st.floats(0.15, 0.5), st.floats(5.0, 40.0), st.floats(0.01, 0.04), st.floats(0.0, 0.03))
def test_gap_overlap_and_angle_are_those_asked_for(chord, angle_deg, gap, overlap):
    flap = Flap(MAIN, chord, angle_deg, gap, overlap)
    try:
        main, behind = place_elements(MAIN, [flap], panels=100)
    except RangeError:  # some slots cannot be had, and are refused
        reject()
    tail = (main[0] + main[-1]) / 2
    assert nearest(tail, behind) == pytest.approx(gap, abs=2e-4)
    assert tail[0] - behind[:, 0].min() == pytest.approx(overlap, abs=1e-9)
    assert behind[:, 1].mean() < tail[1]
    end, nose = (behind[0] + behind[-1]) / 2, behind[50]
    assert np.degrees(np.arctan2(nose[1] - end[1], end[0] - nose[0])) == pytest.approx(angle_deg, abs=1.5)


def test_two_elements_lift_more_than_one():
    alpha = np.array([0.0, 4.0])
    flaps = [Flap(MAIN, 0.3, 20.0, 0.02, 0.01)]
    both = inviscid_elements_polar(Question(MAIN, [5e5, 1e6], alpha), flaps)
    alone = solve([repanel(MAIN, 160).xy], alpha).cl[:, 0]
    assert both.cl.shape == (2, 2)
    assert (both.cl[0] > 1.5 * alone).all()
    assert (both.cm < -0.1).all()
    assert (both.cd[1] < both.cd[0]).all()
    assert (both.cl_low < both.cl).all()
    assert "inviscid" in both.notes[0]


def test_a_steep_flap_counts_as_stalled():
    alpha = np.array([0.0, 4.0])
    shallow, steep = (
        inviscid_elements_polar(Question(MAIN, 1e6, alpha), [Flap(MAIN, 0.3, angle, 0.02, 0.01)])
        for angle in (15.0, 60.0)
    )
    assert (shallow.status == LOW_CONFIDENCE).all()
    assert np.isnan(steep.cl).all()
    assert "past the stall limit" in steep.status[0, 0]


@pytest.mark.slow
def test_near_the_ground_two_elements_press_harder():
    flaps = [Flap(MAIN, 0.3, 15.0, 0.02, 0.01)]
    asked = [Question(MAIN, 1e6, [-2.0, 0.0, 2.0], height_chord=h) for h in (np.inf, 0.3)]
    free, near = (elements_polar(question, flaps) for question in asked)
    assert near.method == free.method == "coupled"
    assert (near.cl > 1.1 * free.cl).all()
    assert (near.cl > 1.02 * near.circulation).all()


@pytest.mark.parametrize(
    ("flap", "message"),
    [
        (Flap(MAIN, 3.0, 10.0, 0.02, 0.0), r"element\[1\].chord is 300 % of the main chord, outside 0"),
        (Flap(MAIN, 0.3, 10.0, 0.02, -0.1), r"element\[1\].overlap is -10 % .* needs -2 to 3\d %: change"),
    ],
)
def test_refuses_slots_that_cannot_be(flap, message):
    with pytest.raises(RangeError, match=message):
        place_elements(MAIN, [flap])


# ---- how far the flow stays attached


def test_head_shapes_are_inverse_to_each_other():
    """TWIN: H to H1 and back, within the scatter of the two published fits."""
    shape = np.array([1.25, 1.4, 1.8, 2.2, 2.4])
    np.testing.assert_allclose(shape_of(entrainment_shape(shape)), shape, rtol=0.02)


def test_separation_under_a_linear_fall_of_speed():
    """PUBLISHED (order): Stratford 1959: flow at Re 1e6 on the run before separates once cp = 1 - u^2 passes
    0.35 to 0.6, later for a slower fall."""
    arc = np.concatenate([np.linspace(0, 1, 201), np.linspace(1.005, 2.0, 200)])
    at = []
    for fall in (0.5, 0.9):
        speed = np.where(arc < 1, 1 - fall * (1 - arc), np.where(arc < 1.95, 1.0, -0.1))
        left = separation(speed[None], arc, 1e6)[0]
        at.append(1 - (1 - fall * (1 - left)) ** 2)
    assert 0.35 < at[1] < 0.65
    assert 0.35 < at[0] < 0.65


def test_limit_of_the_0012_beside_its_stall():
    """PUBLISHED: Ladson, NASA TM 4074, 1988 tripped, Re 6e6: lift peaks at 17 degrees."""
    alpha = np.arange(10.0, 22.0, 0.5)
    flow = solve([repanel(four_digit("0012"), 160).xy], alpha)
    limit = alpha[np.argmax(attached_to(flow, 6e6)[:, 0] < 0.8)]
    assert limit == pytest.approx(17.0, abs=2.0)


def test_one_element_alone_gives_the_coupled_polar_of_the_section():
    """TWIN: the coupled polar of one section, which marches the same equations on its own."""
    alpha = np.array([0.0, 4.0, 8.0])
    alone = elements_polar(Question(MAIN, 1e6, alpha), [])
    twin = polar(MAIN, 1e6, alpha, method="coupled")
    np.testing.assert_allclose(alone.cl, twin.cl, rtol=0.01)
    np.testing.assert_allclose(alone.cd, twin.cd, rtol=0.03)
    np.testing.assert_allclose(alone.cm, twin.cm, atol=0.003)


@pytest.mark.slow
def test_layers_take_lift_and_the_status_says_where_it_ends():
    """The layers cost lift, drag rises towards stall; past the last solution there is a reason."""
    alpha = np.arange(0.0, 15.0, 2.0)
    flaps = [Flap(MAIN, 0.3, 20.0, 0.02, 0.01)]
    layered = elements_polar(Question(MAIN, 1e6, alpha), flaps)
    outlines = place_elements(MAIN, flaps)
    free = solve(outlines, alpha).cl.sum(axis=1)
    known = np.isfinite(layered.cl[0])
    assert known[:4].all()
    share = layered.cl[0, :4] / free[:4]
    assert ((share > 0.75) & (share < 0.97)).all()
    assert (np.diff(layered.cd[0, known]) > 0).all()
    assert layered.stall()[1] < 3.2
    assert all("not converged: " in word for word in layered.status[0, ~known])


def test_two_coupled_elements_settle_on_each_other():
    found = elements_polar(Question(MAIN, 1e6, [2.0, 4.0, 6.0]), [Flap(MAIN, 0.3, 10.0, 0.02, 0.01)])
    assert found.method == "coupled"
    assert (np.diff(found.cl[0]) > 0.15).all()
    assert (found.cd > 0.01).all()
    assert (found.cm < -0.2).all()


@pytest.mark.slow
def test_a_study_with_a_second_element_becomes_a_wing(tmp_path):
    path = tmp_path / "study.toml"
    path.write_text(
        '[wing]\nsection = "4412"\nspan = "1.4 m"\nchord = "20 cm"\nheight = "1.3 m"\n'
        '[[wing.element]]\nsection = "4412"\nchord = "6 cm"\nangle_deg = 20\ngap = "4 mm"\noverlap = "2 mm"\n'
        '[sweep]\nangles = "-4:4:4"\nspeeds = ["120 km/h"]\n'
    )
    wing = wing_of_study(read_study(path))
    assert np.isfinite(wing.CL).all()
    assert (np.diff(wing.CL[0]) > 0).all()
    assert wing.polars[0].method == "coupled"
