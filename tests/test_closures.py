"""Closures and small formulas of section data at points worked from their sources, each by itself."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from wingtool.air import Air
from wingtool.boundary_layer import Dual, Stations, turbulent_terms
from wingtool.boundary_layer.amplification import critical_re_theta_decades
from wingtool.boundary_layer.cells import turbulent_balance
from wingtool.boundary_layer.turbulent import (
    energy_shape,
    equilibrium_shear,
    layer_thickness,
    skin_friction,
    slip,
)
from wingtool.geometry import four_digit
from wingtool.section import extended, polar_from_arrays, roof_flow
from wingtool.section.coupled import wake_drag
from wingtool.section.extension import beyond_stall
from wingtool.section.multi.head import _rates, shape_of
from wingtool.section.multi.inviscid import friction_drag
from wingtool.section.roof import ellipsoid_relief
from wingtool.section.surface import SURFACES
from wingtool.section.tab import CD_BAND, plate_layer, tab_effect, tip_speed


def dual(*values):
    return [Dual(np.array([value]), np.zeros((1, 1))) for value in values]


def value(found):
    return float(found.value[0])


def stations(theta, shape, shear, speed=1.0):
    columns = np.broadcast_arrays(theta, shape * theta, shear, speed, 0.0)
    return Stations(*(np.atleast_1d(np.array(column, dtype=float)) for column in columns))


@pytest.mark.parametrize(
    ("shape", "re_theta", "friction"),
    [(1.4, 1e3, 4.275835e-3), (1.4, 1e4, 2.286892e-3), (2.4, 1e4, 3.773851e-4), (4.0, 1e4, -1.432253e-4)],
)
def test_turbulent_friction(shape, re_theta, friction):
    """PUBLISHED: Swafford, AIAA J. 21(6), 1983 (formula from memory), worked apart; cf/2 is returned."""
    assert 2 * value(skin_friction(*dual(shape, re_theta))) == pytest.approx(friction, rel=1e-5)


def test_friction_of_a_terms_station():
    """EXACT: the momentum equation takes u^2 cf/2, here with u = 1.1."""
    terms = turbulent_terms(stations(1e-3 / 1.1, 1.4, 0.05, 1.1), 1e-6).common
    assert value(terms.friction) == pytest.approx(1.21 * 4.275835e-3 / 2, rel=1e-5)


@pytest.mark.parametrize(
    ("shape", "re_theta", "h_star"), [(1.4, 1e3, 1.756719), (1.4, 1e4, 1.740260), (4.0, 1e4, 1.545180)]
)
def test_turbulent_energy_shape(shape, re_theta, h_star):
    """PUBLISHED: Drela & Giles, AIAA J. 25(10), 1987 (formula from memory), worked apart."""
    assert value(energy_shape(*dual(shape, re_theta))) == pytest.approx(h_star, rel=1e-6)


@pytest.mark.parametrize(
    ("shape", "re_theta", "inner", "shear", "thickness"),
    [(1.4, 1e3, 0.5437464, 0.03670216, 8.85), (2.0, 1e4, 0.2641208, 0.06354397, 6.87)],
)
def test_outer_layer(shape, re_theta, inner, shear, thickness):
    """PUBLISHED: slip speed, equilibrium shear stress (G-beta locus) and thickness, 3.15 + 1.72/(H - 1) + H
    over theta: Drela & Giles (1987), from memory, worked apart."""
    one, re = dual(shape, re_theta)
    h_star = energy_shape(one, re)
    found = slip(h_star, one)
    assert value(found) == pytest.approx(inner, rel=1e-5)
    assert value(equilibrium_shear(h_star, one, found)) == pytest.approx(shear, rel=1e-5)
    assert value(layer_thickness(*dual(1.0, shape, shape))) == pytest.approx(thickness, rel=1e-9)


def test_lag_of_the_shear():
    """TWIN: where H and theta stay, delta s'/s = 4.2/2 (s_eq - s) (Green, Weeks & Brooman, R&M 3791, 1973)
    by scipy's integrator: the cells' equation is satisfied to the second order of its step."""
    theta, steps, end = 1e-3, np.linspace(0.0, 0.02, 41), 0.03670216
    lag = solve_ivp(
        lambda _, s: 2.1 * (end - s) * s / (8.85 * theta), (0.0, 0.02), [0.06], t_eval=steps, rtol=1e-10
    )
    at = stations(np.full(41, theta), 1.4, lag.y[0])
    terms = turbulent_terms(at, 1e-6)
    near, far = terms.take(np.arange(40)), terms.take(np.arange(1, 41))
    balance = turbulent_balance(near, far, np.diff(steps))
    change = 8.85 * theta * np.diff(np.log(lag.y[0]))
    assert np.abs(balance.residual[2]).max() < 2e-3 * np.abs(change).max()


def test_dissipation_of_a_wake():
    """EXACT: two layers back to back dissipate 4 C_tau (1 - U_s) over the edge speed, without friction.
    H* of the wake at H = 1.4: 1.505 + 0.165 x 1.6^1.6/1.4 = 1.755017; U_s = H*/2 (4/H - 1)/3."""
    terms = turbulent_terms(stations(1e-3, 1.4, 0.05, 1.1), 1e-6, np.array([True])).common
    h_star = 1.505 + 0.165 * 1.6**1.6 / 1.4
    inner = h_star / 2 * (4 / 1.4 - 1) / 3
    assert value(terms.h_star) == pytest.approx(h_star, rel=1e-9)
    assert value(terms.dissipation) == pytest.approx(1.1 * 4 * 0.05**2 * (1 - inner), rel=1e-9)
    assert value(terms.friction) == 0.0


def test_drag_from_the_end_of_a_wake():
    """TWIN: the wake's momentum equation d ln(theta) = -(H + 2) d ln(u) by quadrature to u = 1, with H - 1
    falling as ln(1/u) does (Squire & Young, R&M 1838, 1938)."""
    theta, shape, speed = 2e-3, 1.6, 0.9
    log_speed = np.log(speed)
    grown, _ = quad(lambda x: 3 + (shape - 1) * x / log_speed, log_speed, 0.0)
    drag = wake_drag(theta, shape * theta, speed)
    assert drag == pytest.approx(2 * theta * np.exp(-grown), rel=1e-9)


def test_roughness_of_a_dirty_nose():
    """PUBLISHED: NACA standard roughness: grains of 0.011 in on a chord of 24 in (TR 824, 1945)."""
    assert SURFACES["dirty"].roughness_theta == pytest.approx(0.011 / 24, rel=0.01)
    assert SURFACES["smooth"].roughness_theta == SURFACES["race"].roughness_theta == 0.0


def test_drag_of_a_tab():
    """EXACT: Kirchhoff's wall, pi/(2 + pi/2) = 0.8798 over its height, half of it at the nose; the suction of
    the base goes with the upper side's speed one height ahead, (1 + 0.5292/2)^2 - 1 = 0.5992."""
    effect = tab_effect(four_digit("0012"), 0.01, [1e6], [0.0])
    low, high = (part * effect.cd for part in CD_BAND)
    assert effect.cd / low == pytest.approx(1 + 0.5992 / (0.8798 / 2), rel=1e-3)
    assert high - effect.cd == pytest.approx(low, rel=1e-9)
    assert np.all(tip_speed(0.01, *plate_layer([1e6])) < 1.0)


def test_friction_of_a_plate_element():
    """PUBLISHED: Prandtl's 0.074 Re^(-1/5) on both sides, 0.009338 at 1e6 (Schlichting)."""
    plate = np.array([[1.0, 0.0], [0.5, 0.0], [0.0, 0.0], [0.5, 0.0], [1.0, 0.0]])
    flow = SimpleNamespace(elements=(plate,), gamma=np.ones((1, 5)), alpha_deg=np.zeros(1))
    assert friction_drag(flow, np.array([1e6]))[0, 0] == pytest.approx(0.009338, rel=1e-3)


def test_friction_of_the_quick_limit():
    """PUBLISHED: Ludwieg & Tillmann, NACA TM 1285 (1950), memory: cf 0.004343 at H 1.4 and Re_theta 1000;
    on a plate d theta/ds = cf/2 (von Karman)."""
    entrainment = np.array([brentq(lambda one: shape_of(np.array([one]))[0] - 1.4, 5.4, 9.0)])
    growth, _ = _rates(np.array([1e-3]), entrainment, 1.0, 0.0, 1e6)
    assert 2 * growth[0] == pytest.approx(0.004343, rel=1e-3)


def test_moment_far_beyond_stall():
    """EXACT: a plate normal to the stream bears its force at mid-chord, a quarter behind the point of the
    moment: at 90 degrees cm = -1.29/4 for aspect ratio 10; half-way there the mean of both ends."""
    join = np.array([1.2, 0.05, -0.05, 1.2])
    cm = beyond_stall(np.array([15.0, 52.5, 90.0]), 15.0, join, 10.0)[:, 2]
    assert cm == pytest.approx([-0.05, (-0.05 - 1.29 / 4) / 2, -1.29 / 4])


def test_steepest_fall_behind_stall():
    """EXACT: from 1.2 at 15 degrees to 0.9 at 17.5 and 0.8 at 20: 0.12 a degree, 6.875 a radian."""
    alpha = [0.0, 5.0, 10.0, 15.0, 17.5, 20.0]
    cl = [0.0, 0.5, 1.0, 1.2, 0.9, 0.8]
    found = extended(polar_from_arrays(alpha, cl, [0.01, 0.01, 0.02, 0.03, 0.1, 0.2])).steepest_fall()
    assert found == pytest.approx(0.12 * 180 / np.pi, rel=1e-6)


@pytest.mark.parametrize(("kelvin", "micro_pa_s"), [(216.65, 14.216), (288.15, 17.894), (320.0, 19.391)])
def test_viscosity_of_air(kelvin, micro_pa_s):
    """PUBLISHED: U.S. Standard Atmosphere, 1976 (memory) at 11 km and sea level; 320 K worked by hand."""
    assert 1e6 * Air(kelvin).viscosity_pa_s == pytest.approx(micro_pa_s, rel=2e-4)


def slope_backed(angle_deg):
    """A car whose roof falls straight for 0.5 m at an angle, then ends."""
    fall = 0.5 * np.tan(np.radians(angle_deg))
    return np.array(
        [(0, 0.4), (0.2, 0.2), (3.5, 0.2), (3.5, 1.4 - fall), (3.0, 1.4), (1.5, 1.4), (0.8, 1.0), (0.1, 0.8)]
    )


@pytest.mark.parametrize(("angle_deg", "leaves_at"), [(20.0, 3.5), (28.0, 3.5), (33.0, 3.0)])
def test_where_the_flow_leaves_a_roof(angle_deg, leaves_at):
    """PUBLISHED: attached up to 30 degrees (Ahmed, Ramm & Faltin, SAE 840300, 1984; from memory)."""
    body, place = slope_backed(angle_deg), np.array([[0.3, 1.7]])  # behind where the flow leaves, if not said
    assert roof_flow(body, place).angle_deg == roof_flow(body, place, roof_edge_m=(leaves_at, 1.4)).angle_deg


def test_relief_is_the_geometric_mean():
    """EXACT: nominal relief stands between an ellipsoid's and plane flow's as their geometric mean."""
    disturbance = {}
    for width_m in (1.7, 1e5):  # the wide one is plane flow, relief 1
        flow = roof_flow(slope_backed(20.0), np.array([[0.3, 1.7]]), width_m)
        disturbance[width_m] = flow.speed_ratio[0] * np.exp(-1j * np.radians(flow.angle_deg[0])) - 1.0
    relief = disturbance[1.7] / disturbance[1e5]
    assert relief == pytest.approx(np.sqrt(ellipsoid_relief(3.5, 1.7, 1.4)), rel=1e-6)


def test_waves_begin_to_grow_in_a_blasius_layer():
    """PUBLISHED: critical Reynolds number 520 on the displacement thickness (Jordinson, J. Fluid Mech. 43,
    1970, from memory), 201 on the momentum thickness; the envelope's fit lies within a third."""
    shape = Dual(np.array([2.591]), np.zeros((1, 1)))
    assert 10 ** critical_re_theta_decades(shape).value[0] == pytest.approx(520 / 2.591, rel=0.33)
