"""Panels against exact potential flows. The cases' origin stands at the head of each file in tests/data/."""

from functools import cache, partial
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from wingtool.errors import RangeError
from wingtool.geometry import find_section, repanel
from wingtool.panels import (
    edge_response,
    free_air,
    place,
    solve,
    surface_response,
    velocity_at,
    wake_lines,
)
from wingtool.panels.flow import _crest, forces
from wingtool.panels.kernels import source_stream, source_velocity, vortex_stream, vortex_velocity
from wingtool.panels.system import vortex_rows

DATA = Path(__file__).parent / "data"
# EXACT: Karman-Trefftz map, heads of exact_kt_symmetric.csv and exact_kt_cambered.csv; 0, 4, 8 degrees
KT = {
    "symmetric": ([0.0, 0.49121473, 0.98003631], [0.0, -0.00715666, -0.01417402]),
    "cambered": ([1.13981830, 1.62092903, 2.09414274], [-0.26874083, -0.27901910, -0.28947242]),
}
# EXACT: head of exact_two_element_A.csv; cl, cm of main and flap at 0, 4, 8 degrees
TWO_CL = [[2.1507067, 0.30849041], [2.687618, 0.30783968], [3.2149252, 0.30219934]]
TWO_CM = [[-0.42337246, -0.26179203], [-0.44316281, -0.26890898], [-0.46111783, -0.27294513]]
# EXACT: head of exact_ground_joukowski.csv; height, cl, cm, 2 Gamma / (U c), signs of the turned-over section
GROUND = [
    (0.08, -9.3373096, 1.5679385, -4.6683565),
    (0.10, -7.2248667, 1.2076302, -4.0408167),
    (0.15, -4.6907215, 0.7763180, -3.1192854),
    (0.20, -3.5706247, 0.5865214, -2.6197793),
    (0.30, -2.5826190, 0.4187748, -2.1055754),
    (0.50, -1.9293173, 0.3075801, -1.7143322),
    (1.00, -1.5616528, 0.2448295, -1.4760619),
    (2.00, -1.4315591, 0.2229903, -1.3928359),
]


@cache
def table(name):
    """Rows of a data file: text in the first column if it is not a number, floats else."""
    lines = [line.strip() for line in (DATA / name).read_text().splitlines() if not line.startswith("#")][1:]
    return [[cell if cell[:1].isalpha() else float(cell) for cell in line.split(",")] for line in lines]


def outlines(name):
    groups = {}
    for key, x, y, *_ in table(name):
        groups.setdefault(key, []).append((x, y))
    return {key: np.array(points) for key, points in groups.items()}


def respaced(xy, panels):
    """The exact points interpolated at cosine spacing on each side; no fit."""
    arc = np.concatenate(([0], np.cumsum(np.hypot(*np.diff(xy[:, :2], axis=0).T))))
    nose = arc[np.argmin(xy[:, 0])]
    half = (1 - np.cos(np.linspace(0, np.pi, panels // 2 + 1))) / 2
    at = np.concatenate((half * nose, nose + (arc[-1] - nose) * half[1:]))
    new = CubicSpline(arc, xy)(at)
    new[0], new[-1] = xy[0], xy[-1]
    return new


def kt(name, panels=None):
    xy = np.array(table(f"exact_kt_{name}.csv"))[:, :2]
    return xy if panels is None else respaced(xy, panels)


# ---- single sections


@pytest.mark.parametrize("name", KT)
def test_exact_single_section_at_200_panels(name):
    """EXACT: cl within 0.3 %, cm within 0.002, cd below 0.002."""
    cl, cm = KT[name]
    flow = solve([kt(name, 200)], [0.0, 4.0, 8.0])
    np.testing.assert_allclose(flow.cl[:, 0], cl, rtol=0.003, atol=1e-6)
    np.testing.assert_allclose(flow.circulation[:, 0], cl, rtol=0.003, atol=1e-6)
    np.testing.assert_allclose(flow.cm[:, 0], cm, atol=0.002)
    assert np.abs(flow.cd).max() < 0.002


@pytest.mark.parametrize("name", KT)
def test_exact_pressure_off_the_tail(name):
    """EXACT: cp within 0.02 off the last 2 % chord, 240 panels (the peak of -3 at 8 degrees needs them)."""
    rows = np.array(table(f"exact_kt_{name}.csv"))
    flow = solve([respaced(rows[:, :2], 240)], [0.0, 4.0, 8.0])
    expected = respaced(rows, 240)[:, 2:].T
    ahead = flow.elements[0][:, 0] < 0.98
    assert np.abs(flow.cp - expected)[:, ahead].max() < 0.02


def test_order_of_convergence():
    """EXACT: error of cl over three refinements falls with a slope of at least 1.8 (linear panels: 2)."""
    panels = np.array([40, 80, 160])
    cl = np.array([solve([kt("cambered", n)], [4.0]).cl[0, 0] for n in panels])
    slope = -np.polyfit(np.log(panels), np.log(np.abs(cl - KT["cambered"][0][1])), 1)[0]
    assert slope > 1.8


@pytest.mark.parametrize(("line", "alpha_l0", "cm"), [row[:3] for row in table("thin_aerofoil_theory.csv")])
def test_thin_sections_tend_to_thin_aerofoil_theory(line, alpha_l0, cm):
    """EXACT (linear theory), thin_aerofoil_theory.csv: zero-lift angle within 0.1 degree at 1 % thickness."""
    line = f"{line:.0f}" if isinstance(line, float) else line
    section = repanel(find_section(line[:-2] + "01"), 200)
    flow = solve([section.xy], [-8.0, alpha_l0, 2.0])
    zero = np.interp(0, flow.cl[:, 0], flow.alpha_deg)
    assert zero == pytest.approx(alpha_l0, abs=0.1)
    assert flow.cm[1, 0] == pytest.approx(cm, abs=0.004)


@pytest.mark.parametrize("gap", [1e-6, 9e-6, 1.1e-5, 1e-4])
def test_a_tail_that_is_nearly_sharp_acts_as_a_sharp_one(gap):
    xy = kt("cambered", 160)
    side = np.where(np.arange(len(xy)) <= 80, 0.5, -0.5)
    opened = xy + np.column_stack([np.zeros(len(xy)), side * gap * xy[:, 0].clip(0)])
    assert solve([opened], [4.0]).cl[0, 0] == pytest.approx(solve([xy], [4.0]).cl[0, 0], rel=0.001)


# ---- several sections


def test_exact_two_elements():
    """EXACT: each cl within 0.7 %, each cm within 0.005, net cd below 0.002."""
    parts = outlines("exact_two_element_A.csv")
    flow = solve([respaced(parts["main"], 200), respaced(parts["flap"], 200)], [0.0, 4.0, 8.0])
    np.testing.assert_allclose(flow.cl, TWO_CL, rtol=0.007)
    np.testing.assert_allclose(flow.cm, TWO_CM, atol=0.005)
    assert np.abs(flow.cd.sum(axis=1)).max() < 0.002


def test_williams_two_elements():
    """PUBLISHED: Williams, ARC R&M 3717 (1971): total cl 3.7386 within 1 %, split (from memory) 1.5 %."""
    parts = [np.array(table(f"williams_{part}_coords.csv")) for part in ("main", "flap")]
    cl = solve(parts, [0.0]).cl[0]
    assert cl.sum() == pytest.approx(3.7386, rel=0.01)
    np.testing.assert_allclose(cl, [2.9065, 0.8321], rtol=0.015)


# ---- ground


def turned_over(height):
    """The exact section over a wall, drawn upright, quarter chord at x = 0.25, tail first."""
    xy = outlines_by_height()[height][::-1] * [1, -1]
    nose = xy[np.argmax(np.hypot(*(xy - xy[0]).T))]
    return xy - (nose + 0.25 * (xy[0] - nose)) + [0.25, 0.0]


@cache
def outlines_by_height():
    groups = {}
    for height, x, y, _ in table("exact_ground_joukowski.csv"):
        groups.setdefault(height, []).append((x, y))
    return {height: np.array(points) for height, points in groups.items()}


@pytest.mark.parametrize(("height", "cl", "cm", "circulation"), GROUND)
def test_exact_section_over_the_ground(height, cl, cm, circulation):
    """EXACT: cl within 1 % for h/c >= 0.2, 3 % below; force by pressure is twice rho U Gamma at 0.08."""
    flow = solve([turned_over(height)], [0.0], ground_height=height)
    rel = 0.01 if height >= 0.2 else 0.03
    assert flow.cl[0, 0] == pytest.approx(-cl, rel=rel)
    assert flow.circulation[0, 0] == pytest.approx(-circulation, rel=rel)
    assert flow.cm[0, 0] == pytest.approx(-cm, rel=rel, abs=0.002)
    assert abs(flow.cd[0, 0]) < 0.002


def test_far_above_the_ground_is_free_air_at_every_angle():
    angles = np.array([-3.0, 0.0, 6.0])
    near, free = (solve([kt("cambered", 100)], angles, ground_height=h) for h in (1000.0, None))
    np.testing.assert_allclose(near.cl, free.cl, rtol=1e-3)
    np.testing.assert_allclose(near.cm, free.cm, atol=1e-3)
    np.testing.assert_allclose(near.gamma, free.gamma, atol=2e-3)


def test_no_flow_through_the_ground():
    flow = solve([kt("cambered", 100)], [3.0], ground_height=0.3)
    wall = flow.systems[0].wall_height
    along = np.linspace(-1, 3, 9) + 1j * wall
    back = along * np.exp(1j * np.radians(3.0))  # the wall as the section sees it, turned by the angle
    velocity = velocity_at(flow, np.column_stack([back.real, back.imag]))
    normal = velocity @ [-np.sin(np.radians(3.0)), np.cos(np.radians(3.0))]
    assert np.abs(normal).max() < 1e-12


def test_refuses_what_cannot_be_solved():
    xy = kt("cambered", 60)
    with pytest.raises(RangeError, match="reverse the order"):
        solve([xy[::-1]], [0.0])
    with pytest.raises(RangeError, match="not positive"):
        solve([xy], [0.0], ground_height=0.0)
    with pytest.raises(RangeError, match="repanel"):
        solve([xy[:5]], [0.0])
    with pytest.raises(RangeError, match="coincide"):
        solve([np.insert(xy, 10, xy[10], axis=0)], [0.0])


# ---- kernels

complex_numbers = st.builds(complex, st.floats(-2, 2), st.floats(-2, 2))


@given(st.lists(complex_numbers, min_size=3, max_size=5, unique=True), complex_numbers)
def test_velocity_is_the_gradient_of_the_stream_function(nodes, point):
    """EXACT: u = dpsi/dy, v = -dpsi/dx, away from the panels."""
    nodes = np.array(nodes)
    line = nodes[:-1, None] + np.diff(nodes)[:, None] * np.linspace(0, 1, 200)
    if np.abs(np.diff(nodes)).min() < 0.05 or np.abs(line - point).min() < 0.05:
        return
    step = 1e-5
    cross = point + step * np.array([1j, -1j, 1, -1])
    for stream, velocity in (
        (vortex_stream, vortex_velocity),
        (partial(source_stream, each_panel=False), partial(source_velocity, each_panel=False)),
        (source_stream, source_velocity),
    ):
        up, down, right, left = stream(cross, nodes)
        w = velocity(np.array([point]), nodes)[0]
        np.testing.assert_allclose(w, (up - down) / (2 * step) + 1j * (right - left) / (2 * step), atol=1e-6)


def test_values_on_nodes_and_panels_are_finite_and_exact():
    """EXACT: unit vorticity on 0..1 at its own ends: integral of log s = -1, over 2 pi."""
    nodes = np.array([0j, 1 + 0j])
    on = np.array([0j, 0.3 + 0j, 1 + 0j])
    np.testing.assert_allclose(vortex_stream(on, nodes).sum(axis=1)[[0, 2]], -1 / (2 * np.pi))
    assert np.isfinite(vortex_velocity(on, nodes)).all()
    # mean of both sides at 0.3: log(0.3/0.7) times strength over 2 pi, across the panel
    assert vortex_velocity(on, nodes)[1].sum() == pytest.approx(1j * np.log(0.3 / 0.7) / (2 * np.pi))
    # left side of a unit source panel: half a turn of everything ahead
    np.testing.assert_allclose(source_stream(on, nodes)[:, 0], [0.5, 0.35, 0.0], atol=1e-15)


def test_stream_function_and_velocity_around_a_section_agree():
    xy = kt("cambered", 100)
    xy[:50, 1] += 0.002 * xy[:50, 0]  # a blunt tail
    flow = solve([xy], [4.0])
    points = np.array([[-0.5, 0.3], [0.4, 0.4], [0.5, -0.3], [1.5, 0.4], [0.02, 0.3]])
    step = 1e-5
    system = flow.systems[0]

    def stream_at(points):
        at = points @ [1, 1j]
        rows = vortex_rows(at, system.elements[0], system.closing[0], np.inf)
        return (at * np.exp(-1j * np.radians(4.0))).imag + rows @ flow.gamma[0]

    du = (stream_at(points + [0, step]) - stream_at(points - [0, step])) / (2 * step)
    dv = -(stream_at(points + [step, 0]) - stream_at(points - [step, 0])) / (2 * step)
    np.testing.assert_allclose(velocity_at(flow, points), np.column_stack([du, dv]), atol=1e-5)


def test_forces_are_the_integral_of_the_pressure():
    """TWIN: speed linear along each panel, its pressure summed at 2,000 points a panel; invented speeds."""
    nodes = np.array([1.0, 0.6 + 0.1j, 0.1 + 0.12j, 0.0, 0.4 - 0.05j])
    speed = np.array([0.9, 1.2, 1.6, -0.4, -0.9])
    system = SimpleNamespace(rows=[slice(0, 5)])
    (cl,), (cd,), _ = (one[0] for one in forces([nodes], system, speed[None], [0.0]))
    t = (np.arange(2000) + 0.5) / 2000
    base = (speed[0] - speed[-1]) / 2
    ends = [*zip(speed[:-1], speed[1:], strict=True), (base, base)]
    mean = [np.mean(1 - (start + (end - start) * t) ** 2) for start, end in ends]
    force = (1j * np.array(mean) * np.diff(np.append(nodes, nodes[0]))).sum()
    assert (cl, cd) == pytest.approx((force.imag, force.real), rel=1e-6)


def test_the_highest_point_is_the_top_of_the_parabola():
    """EXACT: the parabola 0.1 - 0.2 (x - 0.31)^2 at uneven points has its top at 0.1."""
    x = np.array([0.9, 0.5, 0.36, 0.28, 0.1])
    assert _crest(x + 1j * (0.1 - 0.2 * (x - 0.31) ** 2)) == pytest.approx(0.1, abs=1e-6)


def test_the_air_inside_stands_still():
    flow = solve([kt("cambered", 200)], [4.0])
    middle = (flow.elements[0][60:90:10] + flow.elements[0][140:110:-10]) / 2
    inside = velocity_at(flow, middle)
    assert np.abs(inside).max() < 0.01


# ---- displacement


def test_edge_speed_of_a_thickened_circle():
    """EXACT: radius R to R + d: the outer flow continued to R changes by 2 sin(theta) d / R, second order."""
    errors = []
    for n in (80, 160):
        turn = np.linspace(0, 2 * np.pi, n + 1)
        circle = np.column_stack([0.5 + 0.5 * np.cos(turn), 0.5 * np.sin(turn)])
        circle[-1] = circle[0]
        system, stream_deg = place([circle], 0.0)
        gamma = free_air(system, np.array([stream_deg]))[0]
        change = surface_response(system) @ gamma
        errors.append(np.abs(change - 2 * np.sin(turn) / 0.5)[2:-2].max() / 4)
    assert errors[1] < 0.002
    assert np.log2(errors[0] / errors[1]) > 1.8


def test_edge_speed_of_a_thickened_section_and_wake():
    """TWIN: the same outline moved outward by a thin smooth layer, solved again."""
    xy = kt("cambered", 240)
    nodes = xy[:, 0] + 1j * xy[:, 1]
    layer = 2e-4 * np.sin(np.pi * xy[:, 0].clip(0, 1)) ** 2
    outward = np.gradient(nodes) / np.abs(np.gradient(nodes)) * -1j
    moved = nodes + outward * layer
    system, stream_deg = place([xy], 4.0)
    gamma = free_air(system, np.array([stream_deg]))[0]
    wakes = wake_lines(system, gamma, stream_deg)
    response = edge_response(system, surface_response(system), wakes, gamma, stream_deg)
    mass = np.concatenate([gamma * layer, np.zeros(len(wakes[0]))])
    change = (response.influence @ mass)[: len(gamma)]
    twin = solve([np.column_stack([moved.real, moved.imag])], [4.0]).gamma[0] - gamma
    # speed at the displaced outline less the normal gradient of the layer: speed * curvature * layer
    heading = np.unwrap(np.angle(np.gradient(nodes)))
    curvature = np.gradient(heading) / np.abs(np.gradient(nodes))
    middle = (xy[:, 0] > 0.15) & (xy[:, 0] < 0.85)
    expected = twin + gamma * curvature * layer
    assert np.abs(change - expected)[middle].max() < 0.05 * np.abs(expected[middle]).max()


def test_wake_follows_the_stream_and_ends_at_free_stream_speed():
    system, stream_deg = place([kt("cambered", 120)], 4.0)
    gamma = free_air(system, np.array([stream_deg]))[0]
    (line,) = wake_lines(system, gamma, stream_deg, panels=20, length=8.0)
    response = edge_response(system, surface_response(system), (line,), gamma, stream_deg)
    assert response.ue_inviscid[-1] == pytest.approx(1.0, abs=0.02)
    assert np.angle(line[-1] - line[-2], deg=True) == pytest.approx(4.0, abs=3.0)
    assert np.isfinite(response.influence).all()


def spread(line, strength, at, constant):
    """Complex velocity of a source line by quadrature of point sources (strength for each panel or node)."""
    share = (np.arange(400) + 0.5) / 400
    step = np.diff(line)
    place = line[:-1, None] + step[:, None] * share
    along = strength[:, None] if constant else strength[:-1, None] * (1 - share) + strength[1:, None] * share
    weight = along * np.abs(step)[:, None] / 400 + 0 * place
    return (weight.ravel() / (2 * np.pi * (at[:, None] - place.ravel()))).sum(axis=1)


@pytest.mark.parametrize("height", [None, 0.05])
def test_displacement_is_a_flow_with_its_sources_and_image(height):
    """EXACT: sources and answering vorticity, summed point by point with their mirror images, leave the air
    inside at rest and give the wake's change of speed."""
    system, stream_deg = place([kt("cambered", 120)], 4.0, height)
    gamma = free_air(system, np.array([stream_deg]))[0]
    (wake,) = wake_lines(system, gamma, stream_deg, panels=16)
    response = edge_response(system, surface_response(system), (wake,), gamma, stream_deg)
    nodes, count = system.nodes, system.node_count
    around = np.linspace(0, 1, count)  # of the way round
    mass = np.concatenate([0.01 * np.cos(2 * np.pi * around) * (0.5 - around), np.zeros(len(wake))])
    mass[count:] = (mass[0] - mass[count - 1]) * np.exp(-response.arc[count:])
    mass[count:] *= 1 + 0.05 * (-1) ** np.arange(len(wake))  # alternates: no part of the wake is blind to it
    change = response.influence @ mass
    on_surface = -np.diff(mass[:count]) / np.abs(np.diff(nodes))
    in_wake = np.diff(mass[count:]) / np.abs(np.diff(wake))
    sheet = np.concatenate([wake[:1], (wake[1:] + wake[:-1]) / 2, wake[-1:]])
    strength = np.concatenate([in_wake[:1], in_wake, in_wake[-1:]])

    def velocity(at):
        w = spread(nodes, on_surface, at, True) + spread(sheet, strength, at, False)
        return w + 1j * spread(nodes, change[:count], at, False)

    def with_image(at):
        mirrored = at.conj() + 2j * system.wall_height
        return velocity(at) + (velocity(mirrored).conj() if height else 0)

    inside = (nodes[30:50:5] + nodes[90:70:-5]) / 2
    scale = np.abs(change).max()
    assert np.abs(with_image(inside)).max() < 0.01 * scale
    at = np.arange(4, 13)
    along = wake[at + 1] - wake[at - 1]
    beside = 1e-4j * along  # a hair off the sheet on both sides: the mean is the speed along it
    both = (with_image(wake[at] + beside) + with_image(wake[at] - beside)) / 2
    expected = (both * along / np.abs(along)).real
    np.testing.assert_allclose(change[count + at], expected, atol=0.02 * scale)
    assert np.all(np.diff(expected)[1:] * np.diff(expected)[:-1] < 0)  # the alternating defect shows
