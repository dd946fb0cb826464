"""Numbers as people read them: two or three significant figures, both unit systems, with their band."""

import math

from wingtool.units import M_S_PER_KM_H, M_S_PER_MPH, NEWTON_PER_KGF, NEWTON_PER_LBF


def figures(value: float) -> str:
    """Two significant figures, three where the first is 1; a dash where there is no number.

    Examples
    --------
    >>> figures(454.0), figures(102.3), figures(0.0234), figures(-7.0), figures(float("nan"))
    ('450', '102', '0.023', '−7.0', '–')
    """
    if not math.isfinite(value):
        return "–"
    if value == 0.0:
        return "0"
    leading = f"{abs(value):.6e}"[0]
    digits = 3 if leading == "1" else 2
    rounded = float(f"{value:.{digits}g}")
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(rounded))))
    return f"{rounded:.{decimals}f}".replace("-", "−")


def between(low: float, high: float) -> str:
    """A band in words."""
    return f"{figures(low)} to {figures(high)}"


def force(newton: float) -> str:
    """A force in N, kgf and lbf."""
    kgf, lbf = newton / NEWTON_PER_KGF, newton / NEWTON_PER_LBF
    return f"{figures(newton)} N ({figures(kgf)} kgf, {figures(lbf)} lbf)"


def speed(m_s: float) -> str:
    """A speed in km/h and mph."""
    return f"{m_s / M_S_PER_KM_H:.0f} km/h ({m_s / M_S_PER_MPH:.0f} mph)"


def degrees(value: float) -> str:
    """An angle to half a degree or better.

    Examples
    --------
    >>> degrees(4.0), degrees(6.5), degrees(-0.04), degrees(float("nan"))
    ('4°', '6.5°', '0°', '–')
    """
    return "–" if not math.isfinite(value) else _to(value, 1).removesuffix(".0") + "°"


def seconds(value: float) -> str:
    """A difference of lap times to a hundredth: no stop-watch and no driver repeats better.

    Examples
    --------
    >>> seconds(0.0026), seconds(-0.0102), seconds(0.78), seconds(float("nan"))
    ('0.00', '−0.01', '0.78', '–')
    """
    return "–" if not math.isfinite(value) else _to(value, 2)


def _to(value: float, decimals: int) -> str:
    """A number to so many decimals; what rounds to zero has no sign."""
    return f"{round(value, decimals) + 0.0:.{decimals}f}".replace("-", "−")


def length(metre: float) -> str:
    """A length in mm and inches."""
    return f"{metre * 1000:.0f} mm ({metre / 0.0254:.1f} in)"


def sentence(text: str) -> str:
    """A text with a capital and a full stop.

    Examples
    --------
    >>> sentence("costs 3 km/h")
    'Costs 3 km/h.'
    """
    text = text.strip()
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")
