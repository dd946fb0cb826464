"""The march over angles: what it finds does not depend on the angles asked for; both ways; the next start."""

from dataclasses import replace

import numpy as np
import pytest

from wingtool.errors import RangeError
from wingtool.geometry import collection_section, find_section
from wingtool.section import Question, polar
from wingtool.section.coupled import columns, coupled_polars, flow_at, plausible, prepare, solve_flow, sweep
from wingtool.section.coupled.equations import equations
from wingtool.section.coupled.predictor import extrapolate
from wingtool.section.coupled.stack import stacked
from wingtool.section.coupled.step import newton_change
from wingtool.section.surface import SURFACES


def coupled_polar(*ask, **kind):
    return coupled_polars([Question(*ask, **kind)])[0]


@pytest.fixture(scope="module")
def e423():
    return prepare(collection_section("e423"))


@pytest.fixture(scope="module")
def low(e423):
    return columns(sweep(e423, 2e5, SURFACES["smooth"], np.arange(-10.0, 2.5)))


def test_the_way_back_finds_the_second_solution(low):
    """E423, smooth, 2e5, -4 degrees: cl 0.685 coming from zero lift, 0.568 coming back."""
    assert low["status"][6] == "two solutions"
    assert low["cl"][6] == pytest.approx(0.685, abs=0.01)
    assert low["cl_other"][6] == pytest.approx(0.568, abs=0.01)
    assert np.isfinite(low["cl_other"]).sum() == 1


def test_the_spacing_asked_for_changes_nothing(e423, low):
    """EXACT: every second angle alone gives the same numbers and the same words."""
    coarse = columns(sweep(e423, 2e5, SURFACES["smooth"], np.arange(-10.0, 2.5, 2.0)))
    for name in ("cl", "cd", "cl_other"):
        assert coarse[name] == pytest.approx(low[name][::2], abs=1e-4, nan_ok=True)
    assert list(coarse["status"]) == list(low["status"][::2])


def test_an_angle_beyond_stall_is_told_alone():
    """EXACT: a range that starts beyond stall, or one angle there, says so."""
    prepared = prepare(find_section("4412"))
    one, some = (
        columns(sweep(prepared, 1e6, SURFACES["race"], np.array(a))) for a in ([20.0], [18.0, 20.0, 22.0])
    )
    assert list(one["status"]) == ["beyond stall"]
    assert list(some["status"]) == ["beyond stall"] * 3
    assert one["cl"][0] == pytest.approx(some["cl"][1], abs=1e-4)


def test_a_side_separated_from_the_nose_is_stalled_whatever_the_lift(low):
    """EXACT: e423 at -8 degrees and less lifts upwards still, its lower side separated from the nose on."""
    assert np.all(low["cl"][:3] > 0.1)
    assert np.all(low["separation_lower"][:3] < 0.1)
    assert list(low["status"][:3]) == ["beyond stall"] * 3


def test_the_next_start_follows_transition():
    """TWIN: the start made from 3 and 4 degrees lies nearer to the flow at 5 than the flow at 4 does, and
    saves steps. Transition moves by more than a cell a degree there."""
    prepared, surface = prepare(find_section("2412")), SURFACES["smooth"]
    flows = [flow_at(prepared, alpha, 1e6, surface) for alpha in (3.0, 4.0, 5.0)]
    first = solve_flow(flows[0])
    second = solve_flow(flows[1], first.state)
    plain = solve_flow(flows[2], second.state)
    start = extrapolate(first, second, 1.0)
    assert np.abs(plain.state.transition - second.state.transition).max() > 1.0
    assert np.all(
        np.abs(start.transition - plain.state.transition)
        < 0.5 * np.abs(second.state.transition - plain.state.transition)
    )
    errors = [np.abs(state.theta / plain.state.theta - 1).mean() for state in (start, second.state)]
    assert errors[0] < 0.8 * errors[1]
    assert solve_flow(flows[2], start).steps < plain.steps


def test_no_way_on_leads_nowhere():
    """EXACT: from two equal flows the next start is the same state."""
    found = solve_flow(flow_at(prepare(find_section("0012")), 3.0, 1e6, SURFACES["smooth"]))
    start = extrapolate(found, found, 1.0)
    for name in ("theta", "shear", "mass", "transition"):
        assert getattr(start, name) == pytest.approx(getattr(found.state, name), rel=1e-9)
    assert start.stagnation_node == found.state.stagnation_node


def test_transition_that_nothing_places():
    """EXACT: where nothing grows and nothing hangs on transition, as at the tail, a step moves it as far as
    it may go; the matrix was singular there (s1223, smooth, 1e6, from 6.2 degrees on)."""
    found = solve_flow(flow_at(prepare(find_section("0012")), 2.0, 1e6, SURFACES["race"]))
    level = stacked([found.case], [found.state])
    exact = equations(level)
    amplified = exact.amplified
    idle = replace(
        amplified,
        residual=np.array([[amplified.residual[0, 0], 2.0]]),
        d_transition=np.array([[amplified.d_transition[0, 0], 0.0]]),
        slopes=amplified.slopes * (level.side != 1),
    )
    idle = replace(exact, amplified=idle, by_transition=exact.by_transition * (level.side != 1))
    bounds, free = np.array([[[-4.0, 4.0], [-4.0, 0.0]]]), np.array([[False, True]])
    moved = newton_change(level, idle, bounds, free).transition
    assert moved[0] == pytest.approx([0.0, -4.0])


def test_a_flow_round_the_wrong_way_is_refused():
    """EXACT: the same speeds backwards are lift that no flow has."""
    flow = flow_at(prepare(find_section("4412")), 4.0, 1e6, SURFACES["race"])
    found = solve_flow(flow)
    assert plausible(flow, found)
    backwards = replace(found, edge=replace(found.edge, gamma=-found.edge.gamma))
    assert not plausible(flow, backwards)


def test_the_band_of_a_symmetrical_section_is_symmetrical():
    """EXACT: turned over, lift has the opposite sign and the band is mirrored; 0006: stall from its nose."""
    for name in ("0006", "0012"):
        table = polar(find_section(name), [1e6], np.arange(-14.0, 15.0, 2.0))
        assert table.cl_low[0] == pytest.approx(-table.cl_high[0, ::-1], abs=1e-3, nan_ok=True)
        assert list(table.status[0]) == list(table.status[0, ::-1])
    eight = list(np.arange(-14.0, 15.0, 2.0)).index(8.0)
    thin = polar(find_section("0006"), [1e6], np.arange(-14.0, 15.0, 2.0), method="coupled")
    assert thin.cl_low[0, eight] < 0.6 * thin.cl[0, eight]
    assert thin.cl_high[0, eight] < 1.1 * thin.cl[0, eight]


def test_the_band_holds_what_was_measured():
    """PUBLISHED: USAF Datcom (1978), table 4.1.1-B, from memory: 4412 at 9e6, zero lift at -3.8 degrees,
    0.105 a degree; the section whose lift is furthest off. All from -2 to 6 degrees lies in the band."""
    alpha = np.arange(-2.0, 7.0)
    table = polar(find_section("4412"), [9e6], alpha, surface="smooth")
    measured = 0.105 * (alpha + 3.8)
    assert np.all((table.cl_low[0] < measured) & (measured < table.cl_high[0]))


def test_the_band_reaches_to_the_second_solution():
    table = coupled_polar(collection_section("e423"), np.array([2e5]), np.arange(-10.0, 2.5), "smooth")
    assert table.cl_low[0, 6] <= 0.57


def test_a_tab_keeps_what_the_plain_points_say():
    """EXACT: two solutions stay two, below the stall of the lower side a point is stalled."""
    table = polar(
        collection_section("e423"), [2e5], np.arange(-10.0, 2.5), "coupled", "smooth", tab_chord=0.01
    )
    assert "two solutions" in table.status[0]
    assert table.status[0, 0] == "beyond stall"


def test_the_coupled_polar_itself_takes_no_tab():
    with pytest.raises(RangeError, match="with_tab"):
        coupled_polar(find_section("0012"), np.array([1e6]), np.array([0.0, 2.0]), tab_chord=0.02)
