"""Four- and five-digit sections from their published equations."""

import re

import numpy as np

from wingtool.errors import RangeError
from wingtool.geometry.shape import Section

# Half-thickness polynomial, NACA TR 460 (1933) equation for y_t, and TR 824 (1945): powers 1/2, 1, 2, 3, 4.
THICKNESS = np.array([0.2969, -0.1260, -0.3516, 0.2843, -0.1015])

# Mean lines by second and third digit (0 simple, 1 reflexed), designed for a lift of 0.3: m, k1 and k2/k1.
# NACA TR 537, 1935, and TR 610, 1937, values from memory; m, k1 of 210 to 250 as in TM 4741, from memory.
MEAN_LINES = {
    "10": (0.0580, 361.400, 0.0),
    "20": (0.1260, 51.640, 0.0),
    "30": (0.2025, 15.957, 0.0),
    "40": (0.2900, 6.643, 0.0),
    "50": (0.3910, 3.230, 0.0),
    "21": (0.1300, 51.990, 0.000764),
    "31": (0.2170, 15.793, 0.00677),
    "41": (0.3180, 6.520, 0.0303),
    "51": (0.4410, 3.191, 0.1355),
}


def _digits(designation: str, count: int) -> str:
    text = re.sub(r"^naca|[\s_-]", "", designation.strip().lower())
    if len(text) != count or not text.isascii() or not text.isdigit():
        raise RangeError(
            f"section {designation!r} does not have {count} digits; write for example "
            f"{'2412' if count == 4 else '23012'}"
        )
    if int(text[-2:]) == 0:
        raise RangeError(f"section {designation!r} has no thickness; its last two digits must be 01 to 99")
    return text


def _stations(points: int) -> np.ndarray:
    if points < 10:
        raise RangeError(f"{points} points are too few for an outline; use 10 or more")
    return 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, points // 2 + 1)))


def half_thickness(x, thickness: float) -> np.ndarray:
    """Half thickness y_t at stations x of a section with the given thickness (all over chord).

    NACA TR 460 (1933); the nose radius is 1.1019 thickness^2, the tail is blunt.
    """
    c, x = THICKNESS, np.asarray(x, dtype=float)
    return 5.0 * thickness * (c[0] * np.sqrt(x) + x * (c[1] + x * (c[2] + x * (c[3] + x * c[4]))))


def four_digit_line(x, camber: float, where: float) -> tuple[np.ndarray, np.ndarray]:
    """Mean line and its slope at stations x: two parabolas that meet at the highest point (TR 460)."""
    if camber == 0.0:
        return np.zeros_like(x), np.zeros_like(x)
    scale = camber / np.where(x < where, where, 1.0 - where) ** 2
    rear = np.where(x < where, 0.0, 1.0 - 2.0 * where)
    return scale * (rear + 2.0 * where * x - x**2), 2.0 * scale * (where - x)


def five_digit_line(x, lift_digit: int, form: str) -> tuple[np.ndarray, np.ndarray]:
    """Mean line and slope at stations x, `form` a key of `MEAN_LINES`: cubics ahead of m and behind (TR 537).

    That of a simple line is straight behind m: its k2 is zero.
    """
    m, k1, ratio = MEAN_LINES[form]
    k = k1 / 6.0 * lift_digit / 2.0
    cubic = np.where(x < m, 1.0, ratio)
    tilt = ratio * (1.0 - m) ** 3 + m**3
    return k * (cubic * (x - m) ** 3 - tilt * x + m**3), k * (3.0 * cubic * (x - m) ** 2 - tilt)


def _outline(x, half, line, slope) -> np.ndarray:
    angle = np.arctan(slope)
    upper = np.stack([x - half * np.sin(angle), line + half * np.cos(angle)], axis=1)
    lower = np.stack([x + half * np.sin(angle), line - half * np.cos(angle)], axis=1)
    return np.concatenate([upper[::-1], lower[1:]])


def four_digit(designation: str, points: int = 160) -> Section:
    """Section of the four-digit family.

    Parameters
    ----------
    designation : str
        Camber [per cent], its place [tenths of the chord], thickness [two digits, per cent]; spaces, hyphens
        and the family's name in front are passed over.
    points : int
        Panels round the outline, cosine-spaced stations on the chord; the loop has ``points + 1`` points.

    Raises
    ------
    RangeError
        Not four digits, no thickness, or camber without a place.

    References
    ----------
    Jacobs, Ward, Pinkerton, NACA TR 460, 1933.

    Examples
    --------
    >>> section = four_digit("4412")
    >>> section.xy.shape, round(float(section.xy[0, 1] - section.xy[-1, 1]), 5)
    ((161, 2), 0.0025)
    """
    digits = _digits(designation, 4)
    camber, where = int(digits[0]) / 100.0, int(digits[1]) / 10.0
    if camber and not where:
        raise RangeError(f"section {designation!r} has camber but no place; its second digit must be 1 to 9")
    x = _stations(points)
    line, slope = four_digit_line(x, camber, where)
    half = half_thickness(x, int(digits[2:]) / 100.0)
    return Section(digits, _outline(x, half, line, slope), "four-digit formula, NACA TR 460 (1933)")


def five_digit(designation: str, points: int = 160) -> Section:
    """Section of the five-digit family, simple or reflexed mean line.

    Parameters
    ----------
    designation : str
        Design lift [3/20 of the first digit], place of the highest camber [second digit, twentieths],
        0 simple or 1 reflexed, thickness [two digits, per cent].
    points : int
        As for `four_digit`.

    Raises
    ------
    RangeError
        Not five digits, no thickness, or a mean line that was not published.

    References
    ----------
    Jacobs, Pinkerton, Greenberg, NACA TR 537, 1935, and TR 610, 1937 (mean-line constants from memory).

    Examples
    --------
    >>> five_digit("23012").xy.shape
    (161, 2)
    """
    digits = _digits(designation, 5)
    lift, form = int(digits[0]), digits[1:3]
    if not lift or form not in MEAN_LINES:
        raise RangeError(
            f"section {designation!r}: its mean line was not published; the first digit is 1 to 9 "
            "and the next two are 10 to 50, or 21, 31, 41, 51 for a reflexed line"
        )
    x = _stations(points)
    line, slope = five_digit_line(x, lift, form)
    half = half_thickness(x, int(digits[3:]) / 100.0)
    return Section(digits, _outline(x, half, line, slope), "five-digit formula, NACA TR 537 (1935)")
