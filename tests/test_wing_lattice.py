"""The lattice against exact and converged linear theory, and its folding into strips.

Figures: tests/data/*.csv, each with its source and status in its header.
"""

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from wingtool.section import polar_from_arrays
from wingtool.wing import Endplate, Plane, Wing, solve_wing
from wingtool.wing.ground import influences
from wingtool.wing.lattice.condense import condense
from wingtool.wing.lattice.surfaces import plate_surfaces, wing_surface
from wingtool.wing.newton import Cases, solve_cases
from wingtool.wing.planes import lay_out
from wingtool.wing.span_data import span_data

DATA = Path(__file__).parent / "data"


def table(name: str) -> list[dict[str, str]]:
    with open(DATA / f"{name}.csv") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def flat_wing(wing: Wing, ground_m=np.inf):
    """Lift slope [1/rad] and span efficiency of the bare lattice."""
    surface, strips = wing_surface(wing)
    condensed = condense([surface, *plate_surfaces(wing)], strips.quarter, ground_m)
    circulation = np.linalg.solve(condensed.incidence, np.ones(len(strips.chord_m)))
    lift = 4 * circulation @ strips.width_m / wing.area_m2
    drag = circulation @ condensed.induced_form() @ circulation / wing.area_m2
    return lift, lift**2 / (np.pi * wing.aspect_ratio * drag)


@pytest.mark.parametrize("row", table("vlm_flat_plate"), ids=lambda row: "-".join(list(row.values())[:4]))
def test_flat_plate_wings(row):
    """TWIN: lift slope and efficiency of another lattice, planar 0.5 %, with plates or ground 1 %."""
    aspect, height, ground = (float(row[k]) for k in ("AR", "endplate_h_over_b", "ground_h_over_b"))
    plate = Endplate(height * aspect) if height else None
    slope, efficiency = flat_wing(Wing(aspect, 1.0, endplate=plate), ground * aspect)
    near = 0.005 if row["case"] == "planar" else 0.01
    assert slope == pytest.approx(float(row["CLa_per_rad"]), rel=near)
    assert efficiency == pytest.approx(float(row["e"]), rel=near)


@pytest.mark.parametrize("spans", [4.0, 6.0, 8.0])
def test_no_plated_wing_beats_the_best_loading(spans):
    """EXACT: the least induced drag of that outline bounds it; a rectangle with even plates comes within 3 %.

    Plates on one side as long as the chord are too short for their height (twice as long: 98 %).
    """
    for row in table("endplate_trefftz_efficiency")[:4]:
        height = float(row["h_over_b"]) * spans
        for above, column in ((0.5, "sym"), (1.0, "all_on_one_side"), (0.25, "75pct_below")):
            plate = Endplate(height, above_m=above * height)
            _, efficiency = flat_wing(Wing(spans, 1.0, endplate=plate))
            bound = float(row[f"e_endplate_{column}"])
            assert (0.97 if above == 0.5 else 0.95) * bound < efficiency < 1.001 * bound


def wake(wing: Wing, ground_m=np.inf):
    surface, strips = wing_surface(wing)
    return condense([surface, *plate_surfaces(wing)], strips.quarter, ground_m), strips


@pytest.mark.parametrize("row", table("endplate_trefftz_efficiency"), ids=lambda row: row["h_over_b"])
def test_best_loading_behind_a_plated_wing(row):
    """EXACT: Munk's condition (normal wash = w cos of the slope) solved on the same wake strips, 0.5 %."""
    height = float(row["h_over_b"])
    for above, column in ((0.5, "sym"), (1.0, "all_on_one_side"), (0.25, "75pct_below")):
        condensed, _ = wake(Wing(1.0, 0.2, rows=2, endplate=Endplate(height, above_m=above * height)))
        lean = condensed.wake_lift_width / condensed.wake_width
        load = np.linalg.solve(-condensed.wake_wash, lean)
        efficiency = 2 * load @ condensed.wake_lift_width / (np.pi / 4)
        assert efficiency == pytest.approx(float(row[f"e_endplate_{column}"]), rel=0.005)


@pytest.mark.parametrize("row", table("ground_sigma"), ids=lambda row: row["h_over_b"])
def test_ground_lowers_the_induced_drag_of_an_elliptic_load(row):
    """EXACT: Prandtl's mutual induced drag of an elliptic load and its image, 0.5 %; best loading 0.5 %."""
    wing = Wing(1.0, 0.2, rows=2, strips=80)
    free, strips = wake(wing)
    near, _ = wake(wing, float(row["h_over_b"]))
    load = np.sqrt(1 - strips.span_fraction**2)
    ratio = load @ near.induced_form() @ load / (load @ free.induced_form() @ load)
    assert ratio == pytest.approx(float(row["one_minus_sigma"]), rel=0.005)
    best = np.linalg.solve(-near.wake_wash, np.ones(len(load)))
    assert 2 * best @ near.wake_width / (np.pi / 4) == pytest.approx(
        float(row["e_optimum_loading"]), rel=0.005
    )


@pytest.mark.parametrize("row", table("biplane_sigma_prandtl"), ids=lambda row: row["gap_over_b"])
def test_two_equal_planes_disturb_each_other(row):
    """EXACT: Prandtl's biplane factor for two elliptic loads (computed column), 1 %."""
    wing = Wing(1.0, 0.2, rows=2, strips=80)
    gap = float(row["gap_over_b"])
    low, strips = wing_surface(wing)
    high, _ = wing_surface(wing, (0.0, gap))
    both = [low, replace(high, plane=1)]
    condensed = condense(both, np.concatenate([strips.quarter, strips.quarter + [0, 0, gap]]))
    form = condensed.induced_form()
    n = len(strips.y_m)
    load = np.sqrt(1 - strips.span_fraction**2)
    own, mutual = load @ form[:n, :n] @ load, load @ form[:n, n:] @ load
    assert mutual / own == pytest.approx(float(row["sigma_computed"]), rel=0.01)


def test_swept_wing_of_the_textbook_example():
    """PUBLISHED: Bertin & Smith, Aerodynamics for Engineers, example 7.2: 45 degrees, AR 5, 4 by 1; 0.3 %."""

    def even(strips):
        edges = np.linspace(0.0, 1.0, strips + 1)
        return edges, (edges[1:] + edges[:-1]) / 2

    wing = Wing(5.0, 1.0, sweep_deg=45.0, strips=8, rows=1)
    surface, strips = wing_surface(wing, spacing=even)
    condensed = condense([surface], strips.quarter)
    load = np.linalg.solve(condensed.incidence, np.ones(4))
    printed = {row["quantity"]: float(row["value"]) for row in table("bertin_smith_swept")}
    expected = [printed[f"Gamma{i}"] for i in (1, 2, 3, 4)]
    np.testing.assert_allclose(load / (4 * np.pi * 5.0), expected, atol=0.00005)
    assert 4 * load @ strips.width_m / 5.0 == pytest.approx(printed["CLa_per_rad"], rel=0.003)


@pytest.mark.parametrize(("plate", "least"), [(None, 1.9), (Endplate(1.0), 1.5)])
def test_lift_slope_converges_as_panels_shrink(plate, least):
    """EXACT: halving panels both ways: second order flat; corners with plates cost half an order."""
    slopes = [flat_wing(Wing(6.0, 1.0, strips=5 * 2**i, rows=2**i, endplate=plate))[0] for i in (2, 3, 4, 5)]
    steps = np.abs(np.diff(slopes))
    assert np.log2(steps[-2] / steps[-1]) > least


def line_limit(half_strips: int) -> tuple[np.ndarray, Wing]:
    """K of the lifting line of unit span: the lattice's own matrix as its chord goes to nothing, one row."""
    thin = Wing(1.0, 0.01, strips=2 * half_strips, rows=1)
    surface, strips = wing_surface(thin)
    scaled = replace(
        surface,
        nodes=surface.nodes * [1e-3, 1, 1],
        control=surface.control * [1e-3, 1, 1],
    )
    chord = 0.01e-3
    condensed = condense([scaled], strips.quarter)
    return condensed.incidence - np.eye(half_strips) / (np.pi * chord), strips


def line_cases(polar, chord, alpha_deg, own, strips) -> Cases:
    n, s = len(alpha_deg), len(strips.y_m)
    theta = np.broadcast_to(np.radians(alpha_deg)[:, None], (n, s))
    ones = np.ones((n, s))
    data = span_data(polar, strips.span_fraction, np.full(s, np.inf), 6.0)
    zero = np.zeros((1, s, s))
    flat = zero[0]
    return Cases(
        theta, ones, 1e6 * ones, own[None], zero, chord, ones[0], ones[0], flat, 9 * ones, 0 * chord, data
    )


def line_answer(polar, chord, alpha_deg, half_strips=80):
    """CL and induced drag coefficient of a lifting line of unit span."""
    own, strips = line_limit(half_strips)
    circulation, done = solve_cases(
        line_cases(polar, chord(strips.span_fraction), alpha_deg, own, strips),
        np.full((len(alpha_deg), half_strips), 1e-3) * np.sqrt(1 - strips.span_fraction**2),
    )
    assert done.all()
    area = (
        2
        * np.trapezoid(
            chord(np.sin(np.linspace(0, np.pi / 2, 4001))), np.sin(np.linspace(0, np.pi / 2, 4001))
        )
        / 2
    )
    condensed, _ = wake(Wing(1.0, 0.1, rows=1, strips=2 * half_strips))
    lift = 4 * circulation @ strips.width_m / area
    drag = np.einsum("ns,st,nt->n", circulation, condensed.induced_form(), circulation) / area
    return lift, drag


ALPHA = np.arange(-40.0, 41.0, 0.5)


def straight_section():
    return polar_from_arrays(ALPHA, 2 * np.pi * np.radians(ALPHA), 0 * ALPHA)


def test_elliptic_wing_as_a_lifting_line():
    """EXACT: CLa = a0 / (1 + a0 / (pi AR)) and CDi = CL^2 / (pi AR), 0.2 %."""
    lift, drag = line_answer(straight_section(), lambda f: 4 / (np.pi * 6) * np.sqrt(1 - f**2), [0.0, 5.0])
    slope = (lift[1] - lift[0]) / np.radians(5)
    assert slope == pytest.approx(2 * np.pi / (1 + 2 / 6), rel=0.002)
    assert drag[1] == pytest.approx(lift[1] ** 2 / (np.pi * 6), rel=0.002)


@pytest.mark.parametrize("row", table("glauert_rect_converged"), ids=lambda row: row["AR"])
def test_rectangle_as_a_lifting_line(row):
    """EXACT: converged Fourier series of the lifting line: CLa 0.3 %, tau 0.005, delta 0.002."""
    aspect = float(row["AR"])
    lift, drag = line_answer(straight_section(), lambda f: np.full_like(f, 1 / aspect), [5.0])
    slope = lift[0] / np.radians(5)
    assert slope == pytest.approx(float(row["CLa_per_rad"]), rel=0.003)
    tau = (1 / slope - 1 / (2 * np.pi)) * np.pi * aspect - 1
    assert tau == pytest.approx(float(row["tau"]), abs=0.005)
    assert drag[0] * np.pi * aspect / lift[0] ** 2 - 1 == pytest.approx(float(row["delta"]), abs=0.002)


@pytest.mark.parametrize("row", table("glauert_table_published"), ids=lambda row: row["A_over_a0"])
def test_rectangle_against_the_printed_table(row):
    """PUBLISHED: Glauert (1926), four terms, from memory, 4 to 7 % low in delta: 0.007."""
    aspect = float(row["AR_for_a0_2pi"])
    lift, drag = line_answer(straight_section(), lambda f: np.full_like(f, 1 / aspect), [5.0])
    delta = drag[0] * np.pi * aspect / lift[0] ** 2 - 1
    assert delta == pytest.approx(float(row["delta_memory"]), abs=0.007)


def test_sections_that_bend_over_on_a_lifting_line():
    """EXACT: the elliptic wing is the root of CL = cl(alpha - CL / (pi AR)), 0.3 %; rectangle 0.5 %."""
    rows = table("nonlinear_ll_check")
    alpha = [float(row["alpha_deg"]) for row in rows]
    fine = np.arange(-40.0, 41.0, 0.25)
    polar = polar_from_arrays(fine, 1.5 * np.tanh(2 * np.pi * np.radians(fine + 3) / 1.5), 0 * fine)
    lift, _ = line_answer(polar, lambda f: 4 / (np.pi * 6) * np.sqrt(1 - f**2), alpha)
    np.testing.assert_allclose(lift, [float(row["CL_ell_AR6"]) for row in rows], rtol=0.003)
    lift, drag = line_answer(polar, lambda f: np.full_like(f, 1 / 6), alpha)
    np.testing.assert_allclose(lift, [float(row["CL_rect_AR6"]) for row in rows], rtol=0.005)
    np.testing.assert_allclose(drag, [float(row["CDi_rect_AR6"]) for row in rows], rtol=0.01)


@pytest.mark.parametrize("sweep_deg", [0.0, 30.0])
def test_a_flat_section_gives_the_lattice_back(sweep_deg):
    """EXACT: with cl = 2 pi alpha the coupled wing is the bare lattice, plates and sweep and all."""
    wing = Wing(5.0, 1.0, sweep_deg=sweep_deg, endplate=Endplate(0.5))
    slope, efficiency = flat_wing(wing)
    found = solve_wing(wing, straight_section(), [1.0], [30.0])
    assert found.CL[0, 0] == pytest.approx(slope * np.radians(1), rel=1e-3)
    assert found.CL[0, 0] ** 2 / (np.pi * 5 * found.CD_induced[0, 0]) == pytest.approx(efficiency, rel=1e-3)


def test_sweep_of_an_endless_wing():
    """EXACT: simple sweep theory away from centre and tips: slope 2 pi cos(sweep) along the stream."""
    layout = lay_out((Plane(Wing(20.0, 0.2, sweep_deg=30.0, strips=120), straight_section()),))
    own = influences(layout, np.zeros(1)).induced_angle[0]
    condensed = condense(layout.surfaces, layout.strips.quarter)
    load = np.linalg.solve(condensed.incidence, np.ones(60))
    middle = load[25] / 0.2
    assert 2 * middle == pytest.approx(2 * np.pi * np.cos(np.radians(30)), rel=0.03)
    assert abs((own @ load)[25]) < 0.03


def test_second_derivative_along_the_span():
    """EXACT: cos(pi y) is level at centre and tip, y = 1; its second derivative is -pi^2 cos(pi y)."""
    polar = polar_from_arrays([-10.0, 10.0], [-1.0, 1.0], [0.01, 0.01])
    layout = lay_out((Plane(Wing(2.0, 0.25, strips=200), polar),))
    wave = np.cos(np.pi * layout.strips.y_m)
    np.testing.assert_allclose((layout.d2dy2 @ wave)[:-1], -(np.pi**2) * wave[:-1], atol=0.02 * np.pi**2)
