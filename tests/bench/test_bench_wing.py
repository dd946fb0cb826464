"""The wing beside the free library's lifting line and lattice, in one run, as ratios."""

from time import perf_counter, process_time

import numpy as np
import pytest

from wingtool.section import polar_from_arrays
from wingtool.wing import Endplate, Wing, solve_wing
from wingtool.wing.lattice.condense import condense
from wingtool.wing.lattice.surfaces import wing_surface

pytestmark = [pytest.mark.bench, pytest.mark.filterwarnings("ignore::FutureWarning")]
ANGLES = np.linspace(-5.0, 20.0, 41)


def best(call, repeats, clock=perf_counter):
    times = []
    for _ in range(repeats):
        start = clock()
        call()
        times.append(clock() - start)
    return min(times)


def section():
    alpha = np.arange(-15.0, 26.0)
    cl = np.where(alpha < 12, 0.108 * (alpha + 4), 0.108 * 16 - 0.04 * (alpha - 12))
    return polar_from_arrays(alpha, cl, 0.01 + 0.0001 * alpha**2, -0.08 + 0 * alpha)


def library_wing(span, chord, name):
    import aerosandbox

    outline = aerosandbox.Airfoil(name)
    ends = [aerosandbox.WingXSec(xyz_le=[0, y, 0], chord=chord, airfoil=outline) for y in (0.0, span / 2)]
    return aerosandbox.Airplane(wings=[aerosandbox.Wing(symmetric=True, xsecs=ends)], xyz_ref=[0, 0, 0])


def test_through_stall_beside_the_library_lifting_line():
    """40 strips in both; ours with plates, ground and stall, theirs plain at one angle."""
    import aerosandbox

    plated = Wing(1.4, 0.25, height_m=0.6, endplate=Endplate(0.2), strips=40)
    polar = section()
    solve_wing(plated, polar, ANGLES, [40.0])
    ours = best(lambda: solve_wing(plated, polar, ANGLES, [40.0]), 5) / ANGLES.size
    plane, point = library_wing(1.4, 0.25, "naca4412"), aerosandbox.OperatingPoint(velocity=40.0, alpha=4.0)
    theirs = best(
        lambda: aerosandbox.NonlinearLiftingLine(
            airplane=plane, op_point=point, spanwise_resolution=20, verbose=False
        ).run(),
        1,
    )
    print(f"\nnonlinear wing, 40 strips, per angle: library {theirs / ours:.0f} times ours")
    assert theirs / ours > 500


@pytest.mark.parametrize("strips", [20, 40])
def test_linear_lattice_beside_the_library_lattice(strips):
    """Equal panels, eight rows; slope against 4.214 and the planar bound of the efficiency, 1."""
    import aerosandbox

    plane, point = library_wing(6.0, 1.0, "naca0012"), aerosandbox.OperatingPoint(velocity=1.0, alpha=1.0)

    def library():
        return aerosandbox.VortexLatticeMethod(
            airplane=plane, op_point=point, spanwise_resolution=strips // 2, chordwise_resolution=8
        ).run()

    def lattice():
        wing = Wing(6.0, 1.0, strips=strips, rows=8)
        surface, place = wing_surface(wing)
        lattice = condense([surface], place.quarter)
        load = np.linalg.solve(lattice.incidence, np.ones(strips // 2))
        lift = 4 * load @ place.width_m / wing.area_m2
        return lift, lift**2 / (np.pi * 6 * (load @ lattice.induced_form() @ load) / wing.area_m2)

    found = library()
    slope, efficiency = lattice()
    theirs, ours = best(library, 5), best(lattice, 20)
    their_slope = float(found["CL"] / np.radians(1))
    their_efficiency = float(found["CL"] ** 2 / (np.pi * 6 * found["CD"]))
    print(f"\nlinear lattice, {strips} by 8: library {theirs / ours:.1f} times ours")
    print(f"slope ours {slope:.3f}, library {their_slope:.3f}, reference 4.214;", end=" ")
    print(f"efficiency ours {efficiency:.3f}, library {their_efficiency:.3f}, bound 1")
    assert theirs / ours >= 1
    assert slope == pytest.approx(4.214, rel=0.005)
    assert efficiency < 1


def test_cost_over_strips_and_speeds():
    polar = section()

    def cost(strips, speeds):
        wing = Wing(1.4, 0.25, height_m=0.6, endplate=Endplate(0.2), strips=strips)
        solve_wing(wing, polar, ANGLES, speeds)
        return best(lambda: solve_wing(wing, polar, ANGLES, speeds), 5, process_time)

    seconds = {strips: cost(strips, [40.0]) for strips in (40, 80, 160)}
    order = np.log2(seconds[160] / seconds[40]) / 2
    table = cost(40, np.linspace(20.0, 75.0, 12))
    print(f"\n41 angles: cost goes with strips to the power {order:.2f} from 40 to 160")
    print(f"41 angles by 12 speeds cost {table / seconds[40]:.1f} times one speed; {table / 2.0:.3f} of 2 s")
    assert order <= 2.0
    assert table < 12 * seconds[40]
