"""Numbers as people read them: two or three significant figures, both unit systems, with their band."""

import math
from collections.abc import Callable, Iterable
from typing import Any

from wingtool.units import (
    M_S_PER_KM_H,
    M_S_PER_MPH,
    METRE_PER_INCH,
    METRIC,
    NEWTON_PER_KGF,
    NEWTON_PER_LBF,
    WATT_PER_HP,
    DisplayUnits,
    rounded_up,
)


def figures(value: float, fewest: int = 2) -> str:
    """Two significant figures, three where the first is 1; a dash where there is no number.

    Examples
    --------
    >>> figures(454.0), figures(102.3), figures(0.0234), figures(-7.0), figures(float("nan"))
    ('450', '102', '0.023', '−7.0', '–')
    >>> figures(454.2, 3)
    '454'
    """
    if not math.isfinite(value):
        return "–"
    if value == 0.0:
        return "0"
    leading = f"{abs(value):.6e}"[0]
    digits = max(3 if leading == "1" else 2, fewest)
    rounded = float(f"{value:.{digits}g}")
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(rounded))))
    return f"{rounded:.{decimals}f}".replace("-", "−")


def column(values: Iterable[float], scale: float = 1.0) -> list[str]:
    """Numbers below one another, over `scale`: three figures where two would repeat the row above.

    Examples
    --------
    >>> column([61.0, 84.2, 84.4]), column([51.0, 84.0])
    (['61.0', '84.2', '84.4'], ['51', '84'])
    """
    numbers = [value / scale for value in values]
    texts = [figures(number) for number in numbers]
    above = zip(texts, texts[1:], numbers, numbers[1:], strict=False)
    repeats = any(text == other and one != two for text, other, one, two in above if text != "–")
    return [figures(number, 3) for number in numbers] if repeats else texts


def between(low: float, high: float) -> str:
    """A band in words."""
    return f"{figures(low)} to {figures(high)}"


def force(newton: float, units: DisplayUnits = METRIC) -> str:
    """A force in the study's own unit and, in brackets, the others.

    Examples
    --------
    >>> force(444.8), force(444.8, DisplayUnits(force="lbf"))
    ('440 N (45 kgf, 100 lbf)', '100 lbf (440 N)')
    """
    metric, pounds = f"{figures(newton)} N", f"{figures(newton / NEWTON_PER_LBF)} lbf"
    if units.force == "lbf":
        return f"{pounds} ({metric})"
    return f"{metric} ({figures(newton / NEWTON_PER_KGF)} kgf, {pounds})"


def force_scale(units: DisplayUnits = METRIC) -> float:
    """Newton in the study's own unit of force."""
    return NEWTON_PER_LBF if units.force == "lbf" else 1.0


def speed_scale(units: DisplayUnits = METRIC) -> float:
    """Metres a second in the study's own unit of speed."""
    return M_S_PER_MPH if units.speed == "mph" else M_S_PER_KM_H


def force_band(low: float, high: float, units: DisplayUnits = METRIC) -> str:
    """The band of a force in the study's own unit."""
    scale = force_scale(units)
    return f"{between(low / scale, high / scale)} {units.force}"


def own_force(newton: float, units: DisplayUnits = METRIC) -> str:
    """A force in the study's own unit alone."""
    return f"{figures(newton / force_scale(units))} {units.force}"


def own_speed(m_s: float, units: DisplayUnits = METRIC) -> str:
    """A speed in the study's own unit alone."""
    return f"{m_s / speed_scale(units):.0f} {units.speed}"


def speed(m_s: float, units: DisplayUnits = METRIC) -> str:
    """A speed in the study's own unit and, in brackets, the other."""
    other = DisplayUnits(speed="km/h" if units.speed == "mph" else "mph")
    return f"{own_speed(m_s, units)} ({own_speed(m_s, other)})"


def degrees(value: float) -> str:
    """An angle to half a degree or better.

    Examples
    --------
    >>> degrees(4.0), degrees(6.5), degrees(-0.04), degrees(float("nan"))
    ('4°', '6.5°', '0°', '–')
    """
    return "–" if not math.isfinite(value) else _to(value, 1).removesuffix(".0") + "°"


def tenths(value: float) -> str:
    """An angle to a tenth of a degree, which is finer than a gauge reads; a dash where there is none.

    Examples
    --------
    >>> tenths(9.32), tenths(-0.04), tenths(float("nan"))
    ('9.3', '0.0', '–')
    """
    return "–" if not math.isfinite(value) else _to(value, 1)


def seconds(value: float) -> str:
    """A difference of lap times to a hundredth: no stop-watch and no driver repeats better.

    Examples
    --------
    >>> seconds(0.0026), seconds(-0.0102), seconds(0.78), seconds(float("nan"))
    ('0.00', '−0.01', '0.78', '–')
    """
    return "–" if not math.isfinite(value) else _to(value, 2)


def signed(value: float, shown: Callable[[float], str] = seconds) -> str:
    """A change with its sign, as seconds or as shown otherwise.

    Examples
    --------
    >>> signed(0.194), signed(-0.4), signed(0.001), signed(97.0, figures)
    ('+0.19', '−0.40', '0.00', '+97')
    """
    text = shown(value)
    return text if not value > 0.0 or float(text) == 0.0 else f"+{text}"


def both_ends_of(found: Any, shown: Callable[[float], str]) -> str:
    """Low and high end of an estimate; empty where they are no further apart than its last digit shown."""
    decimals = len(shown(found.value).partition(".")[2])
    if found.high - found.low <= 1.001 * 10.0**-decimals:
        return ""
    return f"{shown(found.low)} to {shown(found.high)}"


def change_band(found: Any, shown: Callable[[float], str] = seconds) -> str:
    """Both ends of the band of a change; empty where no wider than its last digit.

    Examples
    --------
    >>> from types import SimpleNamespace as Found
    >>> change_band(Found(value=0.2, low=-0.1, high=0.5)), change_band(Found(value=0.2, low=0.19, high=0.2))
    ('−0.10 to +0.50', '')
    """
    return both_ends_of(found, lambda end: signed(end, shown))


def _to(value: float, decimals: int) -> str:
    """A number to so many decimals; what rounds to zero has no sign."""
    return f"{round(value, decimals) + 0.0:.{decimals}f}".replace("-", "−")


def moment(newton_metre: float, units: DisplayUnits = METRIC) -> str:
    """A moment to bear in newton metres, rounded up; for a study in lbf first in lbf ft.

    Examples
    --------
    >>> moment(135.6), moment(135.6, DisplayUnits(force="lbf"))
    ('136 N m', '101 lbf ft (136 N m)')
    """
    metric = f"{rounded_up(newton_metre)} N m"
    foot_pounds = newton_metre / (NEWTON_PER_LBF * 12.0 * METRE_PER_INCH)
    return f"{rounded_up(foot_pounds)} lbf ft ({metric})" if units.force == "lbf" else metric


def power_unit(units: DisplayUnits = METRIC) -> tuple[str, float]:
    """The unit of power in the study's own system, and its watts."""
    return ("hp", WATT_PER_HP) if units.speed == "mph" else ("kW", 1e3)


def own_length(metre: float, units: DisplayUnits = METRIC) -> str:
    """A length in the study's own unit alone."""
    return f"{_to(metre / METRE_PER_INCH, 1)} in" if units.length == "in" else f"{_to(metre * 1000, 0)} mm"


def plan_unit(units: DisplayUnits = METRIC) -> tuple[str, float]:
    """The unit of lengths on the car that pictures show in the study's own system, and its metres."""
    return ("in", METRE_PER_INCH) if units.length == "in" else ("m", 1.0)


def distance_unit(units: DisplayUnits = METRIC) -> tuple[str, float]:
    """The unit of distances on the ground in the study's own system, and its metres."""
    return ("ft", 12.0 * METRE_PER_INCH) if units.length == "in" else ("m", 1.0)


def own_distance(metre: float, units: DisplayUnits = METRIC) -> str:
    """A distance on the ground, a straight's length or a corner's radius.

    Examples
    --------
    >>> own_distance(600.0), own_distance(600.0, DisplayUnits(length="in"))
    ('600 m', '1970 ft')
    """
    unit, scale = distance_unit(units)
    return f"{float(f'{metre / scale:.3g}'):.0f} {unit}"


def length(metre: float, units: DisplayUnits = METRIC) -> str:
    """A length in the study's own unit and, in brackets, the other."""
    other = DisplayUnits(length="mm" if units.length == "in" else "in")
    return f"{own_length(metre, units)} ({own_length(metre, other)})"


def sentence(text: str) -> str:
    """A text with a capital and a full stop.

    Examples
    --------
    >>> sentence("costs 3 km/h")
    'Costs 3 km/h.'
    """
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")
