"""Quantities with units: text in, SI floats out. The only door to pint, which reads all but the usual."""

import math
import re
from dataclasses import dataclass
from functools import lru_cache

from wingtool.constants import GRAVITY_M_S2
from wingtool.errors import UnitError, shown

KG_PER_LB = 0.45359237
NEWTON_PER_LBF = KG_PER_LB * GRAVITY_M_S2
NEWTON_PER_KGF = GRAVITY_M_S2
METRE_PER_INCH = 0.0254
MM_PER_INCH = 1000 * METRE_PER_INCH
METRE_PER_FOOT = 12 * METRE_PER_INCH
M_S_PER_KM_H = 1 / 3.6
M_S_PER_MPH = 0.44704
WATT_PER_HP = 745.6998715822702  # 550 ft lbf/s

# The units that studies are written in: factor to SI, of the number plus the offset of its scale.
USUAL: dict[str, dict[str, float]] = {
    "length": {"m": 1.0, "cm": 0.01, "mm": 0.001, "km": 1000.0, "in": METRE_PER_INCH, "ft": METRE_PER_FOOT},
    "speed": {"m/s": 1.0, "km/h": M_S_PER_KM_H, "mph": M_S_PER_MPH},
    "mass": {"kg": 1.0, "g": 0.001, "lb": KG_PER_LB},
    "force": {"N": 1.0, "kgf": NEWTON_PER_KGF, "lbf": NEWTON_PER_LBF},
    "pressure": {"Pa": 1.0, "hPa": 100.0, "mbar": 100.0},
    "temperature": {"K": 1.0, "degC": 1.0, "degF": 1 / 1.8},
    "power": {"W": 1.0, "kW": 1000.0, "hp": WATT_PER_HP},
    "area": {"m^2": 1.0, "cm^2": 1e-4, "ft^2": METRE_PER_FOOT**2},
    "time": {"s": 1.0, "min": 60.0},
    "stiffness": {"N/m": 1.0, "N/mm": 1000.0, "lbf/in": NEWTON_PER_LBF / METRE_PER_INCH},
}
OFFSET = {"degC": 273.15, "degF": 459.67}

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


@dataclass(frozen=True)
class DisplayUnits:
    """Units that a study speaks in, which its answers show first."""

    speed: str = "km/h"  # or mph
    length: str = "mm"  # or in
    force: str = "N"  # or lbf


METRIC = DisplayUnits()


def rounded_up(value: float, digits: int = 3) -> str:
    """A load to so many figures, never shown smaller than it is.

    Examples
    --------
    >>> rounded_up(941.0, 2), rounded_up(101.0, 2), rounded_up(94.0, 2), rounded_up(28.31), rounded_up(-134.2)
    ('950', '110', '94', '28.4', '−135')
    """
    if value == 0.0 or not math.isfinite(value):
        return "0" if value == 0.0 else "–"
    step = 10.0 ** (math.floor(math.log10(abs(value))) + 1 - digits)
    shown = math.copysign(math.ceil(round(abs(value) / step, 6)) * step, value)
    return f"{shown:.{max(0, -math.floor(math.log10(step) + 0.5))}f}".replace("-", "−")


# A number, perhaps with a decimal comma or as inches are read off a tape ("9 7/8"), and then the unit.
_SIZE = r"(?:\d+\s+\d+/[1-9]\d*|\d+/[1-9]\d*|(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?)"
_MARK = "[\"'\u2033\u2032\u201d\u2019]"  # inches and feet, as typed, as printed, and as a phone makes them
_AMOUNT = re.compile(rf"(?P<number>[+-]?{_SIZE})\s*(?P<unit>[^\W\d_][^+,]*|°[CF]|{_MARK})")
_TWO = re.compile(
    rf"(?P<sign>[+-]?)(?P<whole>\d+)\s*(?P<large>[^\W\d_]+|{_MARK})"
    rf"\s*(?P<rest>{_SIZE})\s*(?P<small>[^\W\d_]+|{_MARK})"
)
_MAKE_ONE = {("ft", "in"): 12.0, ("lb", "oz"): 16.0, ("m", "cm"): 100.0, ("min", "s"): 60.0}
_BARE = re.compile(r"[+-]?[\d.,]+([eE][+-]?\d+)?")
_HUGE_POWER = re.compile(r"(\^|\*\*)\s*(-?\d{2}|[^\s\d-]|[^*^/]*(\^|\*\*))")  # pint would compute it
LONGEST = 60  # characters of a quantity
_EITHER = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")  # 1,100: a decimal comma, or thousands?
_SPELLINGS = {
    **dict.fromkeys(('"', "\u2033", "\u201d", "inch", "inches"), "in"),
    **dict.fromkeys(("'", "\u2032", "\u2019", "foot", "feet"), "ft"),
    **dict.fromkeys(("lbs", "pound", "pounds"), "lb"),
    **dict.fromkeys(("ounce", "ounces"), "oz"),
    "PS": "metric_horsepower",
    "bhp": "hp",
    "whp": "hp",
    "°C": "degC",
    "°F": "degF",
}


_BY_KIND = {
    "temperature": {"C": "degC", "c": "degC", "F": "degF"},
    "speed": dict.fromkeys(("kmh", "kph", "km/hr", "kmph"), "km/h"),
}


def _amount(number: str) -> float:
    if "/" in number:
        *whole, part = number.split()
        top, bottom = part.lstrip("+-").split("/")
        size = abs(float(whole[0])) if whole else 0.0
        return math.copysign(size + int(top) / int(bottom), -1.0 if number.startswith("-") else 1.0)
    return float(number.replace(",", "."))


def _pieces(text: str) -> list[tuple[str, str]]:
    """Number and unit; twice where a tape or a scale shows two, 4 ft 7 in; nothing for other text."""
    two = _TWO.fullmatch(text)
    if two:
        large, small = (_SPELLINGS.get(two[name], two[name]) for name in ("large", "small"))
        if (large, small) in _MAKE_ONE:
            return [(two["sign"] + two["whole"], large), (two["sign"] + two["rest"], small)]
    one = _AMOUNT.fullmatch(text)
    return [(one["number"], one["unit"])] if one else []


def _spelled(unit: str, kind: str) -> str:
    """The unit as pint spells it: m2 is m^2; a spring's lb/in means pounds of force."""
    unit = _SPELLINGS.get(unit, unit)
    unit = _BY_KIND.get(kind, {}).get(unit.strip(), unit)
    unit = re.sub(r"\b(mm|cm|m|in|ft)([23])\b", r"\1^\2", unit).replace("²", "^2")
    return re.sub(r"^lbs?/in$", "lbf/in", unit) if kind == "stiffness" else unit


@lru_cache(maxsize=1)
def _registry():
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


def _si_value(number: float, unit: str, kind: str) -> float:
    """By `USUAL`, else by pint, whose registry takes half a second to set up."""
    factor = USUAL.get(kind, {}).get(unit)
    if factor is not None:
        return (number + OFFSET.get(unit, 0.0)) * factor
    return float(_registry().Quantity(number, unit).to(KINDS[kind][0]).magnitude)


def _a(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


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
    >>> round(quantity("9 7/8 in", "length", "chord"), 4), quantity("25,4 cm", "length", "chord")
    (0.2508, 0.254)
    >>> round(quantity("4 ft 7 1/2 in", "length", "span"), 4)
    1.4097
    >>> quantity("55", "length", "span")
    Traceback (most recent call last):
    ...
    wingtool.errors.UnitError: span: '55' has no unit; write for example "140 cm" or "55 in"
    """
    _, first, second = KINDS[kind]
    way_out = f"write for example {first} or {second}"
    if not isinstance(text, str):
        raise UnitError(f"{key}: {shown(text)} has no unit; {way_out}")
    if len(text) > LONGEST or _HUGE_POWER.search(text):
        raise UnitError(f"{key}: {text[:20]!r}... is not a number and its unit; {way_out}")
    pieces = _pieces(text.strip())
    if _BARE.fullmatch(text.strip()):
        raise UnitError(f"{key}: {text!r} has no unit; {way_out}")
    if not pieces:
        raise UnitError(f"{key}: {text!r} is not a number and its unit; {way_out}")
    for number, _ in pieces:
        if _EITHER.fullmatch(number):
            point, plain = number.replace(",", "."), number.replace(",", "")
            raise UnitError(f"{key}: {text!r} may be {point} or {plain}; write one of them")
    (_, large), (rest, small) = pieces[0], pieces[-1]
    if len(pieces) == 2 and abs(_amount(rest)) >= _MAKE_ONE[large, small]:
        rest = rest.lstrip("+-")
        raise UnitError(f"{key}: {text!r} has {rest} {small}, which is a whole {large} or more; correct it")
    try:
        result = math.fsum(_si_value(_amount(number), _spelled(unit, kind), kind) for number, unit in pieces)
    except Exception:  # pint raises a dozen kinds, tokenizer errors among them, for text that is no unit
        raise UnitError(f"{key}: {text!r} is not {_a(kind)}; {way_out}") from None
    if not math.isfinite(result):
        raise UnitError(f"{key}: {text!r} is not a finite {kind}; {way_out}")
    return result
