"""Density and viscosity of air.

Standard atmosphere after ISO 2533:1975; viscosity by Sutherland's law with that standard's constants.
"""

from dataclasses import dataclass

from wingtool.constants import (
    GAS_CONSTANT_AIR_J_KG_K,
    GRAVITY_M_S2,
    LAPSE_RATE_K_M,
    SEA_LEVEL_PRESSURE_PA,
    SEA_LEVEL_TEMPERATURE_K,
)
from wingtool.errors import RangeError


@dataclass(frozen=True)
class Air:
    """Dry air at one temperature and pressure.

    Parameters
    ----------
    temperature_k : float
        Temperature [K].
    pressure_pa : float
        Absolute pressure [Pa].
    """

    temperature_k: float = SEA_LEVEL_TEMPERATURE_K
    pressure_pa: float = SEA_LEVEL_PRESSURE_PA

    def __post_init__(self) -> None:
        if not 200.0 <= self.temperature_k <= 340.0:
            kelvin = f"{self.temperature_k:.6g} K"
            raise RangeError(f"air temperature {kelvin} is outside 200 to 340 K; check its unit")
        if not 3e4 <= self.pressure_pa <= 1.2e5:
            pascal = f"{self.pressure_pa:.6g} Pa"
            raise RangeError(f"air pressure {pascal} is outside 30 to 120 kPa; check its unit")

    @property
    def density_kg_m3(self) -> float:
        """Density [kg/m^3], ideal gas."""
        return self.pressure_pa / (GAS_CONSTANT_AIR_J_KG_K * self.temperature_k)

    @property
    def viscosity_pa_s(self) -> float:
        """Dynamic viscosity [Pa s], Sutherland's law, ISO 2533:1975 equation (22)."""
        return 1.458e-6 * self.temperature_k**1.5 / (self.temperature_k + 110.4)

    def dynamic_pressure_pa(self, speed_m_s):
        """Dynamic pressure [Pa] at a speed [m/s], scalar or array."""
        return 0.5 * self.density_kg_m3 * speed_m_s**2

    def reynolds(self, speed_m_s, length_m):
        """Reynolds number at a speed [m/s] and length [m], scalar or array."""
        return self.density_kg_m3 * speed_m_s * length_m / self.viscosity_pa_s


def standard_air(
    altitude_m: float = 0.0, temperature_k: float | None = None, pressure_pa: float | None = None
) -> Air:
    """Air of the standard atmosphere, with what was measured in place of what the standard says.

    Parameters
    ----------
    altitude_m : float
        Height above sea level [m], -500 to 11 000.
    temperature_k, pressure_pa : float, optional
        Measured temperature [K] and absolute pressure [Pa].

    Raises
    ------
    RangeError
        Outside the range of the standard's lowest layer.

    Examples
    --------
    ISO 2533:1975, table at 1000 m: 281.65 K, 89 874.6 Pa, 1.11164 kg/m^3.

    >>> air = standard_air(1000.0)
    >>> round(air.temperature_k, 2), round(air.density_kg_m3, 3)
    (281.65, 1.112)
    """
    if not -500.0 <= altitude_m <= 11000.0:
        raise RangeError(f"altitude {altitude_m:.6g} m is outside -500 to 11000 m; check its unit")
    standard_k = SEA_LEVEL_TEMPERATURE_K - LAPSE_RATE_K_M * altitude_m
    exponent = GRAVITY_M_S2 / (LAPSE_RATE_K_M * GAS_CONSTANT_AIR_J_KG_K)
    standard_pa = SEA_LEVEL_PRESSURE_PA * (standard_k / SEA_LEVEL_TEMPERATURE_K) ** exponent
    return Air(
        temperature_k=standard_k if temperature_k is None else temperature_k,
        pressure_pa=standard_pa if pressure_pa is None else pressure_pa,
    )
