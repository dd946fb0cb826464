"""Air and constants against the standard atmosphere's tables."""

import pytest

from wingtool.air import Air, standard_air
from wingtool.units import quantity


@pytest.mark.parametrize(
    ("altitude_m", "density_kg_m3", "viscosity_pa_s"),
    [(0.0, 1.2250, 1.7894e-5), (1000.0, 1.1117, 1.7579e-5), (5000.0, 0.73612, 1.6282e-5)],
)
def test_the_standard_atmosphere(altitude_m, density_kg_m3, viscosity_pa_s):
    """PUBLISHED: ISO 2533:1975, tables at 0, 1000 and 5000 m (from memory)."""
    air = standard_air(altitude_m)
    assert air.density_kg_m3 == pytest.approx(density_kg_m3, rel=2e-4)
    assert air.viscosity_pa_s == pytest.approx(viscosity_pa_s, rel=2e-4)


def test_viscosity_of_hot_air():
    """PUBLISHED: Sutherland's law as tabulated for dry air, 1.911e-5 Pa s at 40 degC (from memory), 0.5 %."""
    assert Air(313.15).viscosity_pa_s == pytest.approx(1.911e-5, rel=5e-3)


def test_dynamic_pressure_and_reynolds_number():
    """EXACT: by hand at sea level, 40 m/s and 0.25 m: 1.225 x 1600 / 2 and 1.225 x 40 x 0.25 / 1.7894e-5."""
    air = standard_air()
    assert air.dynamic_pressure_pa(40.0) == pytest.approx(980.0, rel=1e-4)
    assert air.reynolds(40.0, 0.25) == pytest.approx(684_600, rel=3e-4)


def test_pounds_and_ounces():
    """EXACT: 16 ounces of 28.349523125 g make a pound."""
    assert quantity("2 lb 8 oz", "mass", "mass") == pytest.approx(2.5 * 0.45359237, rel=1e-12)
