"""Quantities with units: text in, SI floats out. The only door to pint, which loads on first use."""

import math
from functools import lru_cache

from wingtool.errors import UnitError

# kind: (SI unit, two likely spellings for the error message)
KINDS = {
    "length": ("m", '"140 cm"', '"55 in"'),
    "speed": ("m/s", '"160 km/h"', '"100 mph"'),
    "mass": ("kg", '"1100 kg"', '"2400 lb"'),
    "force": ("N", '"450 N"', '"100 lbf"'),
    "pressure": ("Pa", '"1013 hPa"', '"29.9 inHg"'),
    "temperature": ("K", '"20 degC"', '"68 degF"'),
    "power": ("W", '"135 kW"', '"180 hp"'),
    "area": ("m^2", '"0.75 m^2"', '"8 ft^2"'),
    "time": ("s", '"90 s"', '"1.5 min"'),
    "stiffness": ("N/m", '"40 N/mm"', '"230 lbf/in"'),
    "bending stiffness": ("N*m^2", '"900 N*m^2"', '"310000 lbf*in^2"'),
    "acceleration": ("m/s^2", '"9.8 m/s^2"', '"1.0 g_0"'),
    "density": ("kg/m^3", '"680 kg/m^3"', '"42 lb/ft^3"'),
}


@lru_cache(maxsize=1)
def _registry():
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def quantity(text: object, kind: str, key: str) -> float:
    """SI value of a quantity written with its unit.

    Parameters
    ----------
    text : str
        For example ``"55 in"``.
    kind : str
        A key of `KINDS`.
    key : str
        Where the text stands, for the message.

    Raises
    ------
    UnitError
        No unit, an unknown unit, or a unit of another kind.

    Examples
    --------
    >>> round(quantity("55 in", "length", "span"), 4)
    1.397
    >>> quantity("55", "length", "span")
    Traceback (most recent call last):
    ...
    wingtool.errors.UnitError: span: '55' has no unit; write for example "140 cm" or "55 in"
    """
    si, first, second = KINDS[kind]
    way_out = f"write for example {first} or {second}"
    if not isinstance(text, str):
        raise UnitError(f"{key}: {text!r} has no unit; {way_out}")
    registry = _registry()
    try:
        value = registry.Quantity(text.strip())
    except Exception:  # pint raises a dozen kinds, tokenizer errors among them, for text that is no quantity
        raise UnitError(f"{key}: {text!r} is not a quantity; {way_out}") from None
    if isinstance(value, (int, float)) or value.dimensionless and str(value.units) == "dimensionless":
        raise UnitError(f"{key}: {text!r} has no unit; {way_out}")
    try:
        result = float(value.to(si).magnitude)
    except Exception:
        raise UnitError(f"{key}: {text!r} is not a {kind}; {way_out}") from None
    if not math.isfinite(result):
        raise UnitError(f"{key}: {text!r} is not a finite {kind}; {way_out}")
    return result


NEWTON_PER_LBF = 4.4482216152605  # exact: 0.45359237 kg x 9.80665 m/s^2
NEWTON_PER_KGF = 9.80665
METRE_PER_INCH = 0.0254
M_S_PER_KM_H = 1 / 3.6
M_S_PER_MPH = 0.44704
WATT_PER_HP = 745.6998715822702  # 550 ft lbf/s
