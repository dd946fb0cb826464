"""What a section measures: thickness, camber, nose, tail, area."""

from dataclasses import dataclass

import numpy as np

from wingtool.geometry import polyline
from wingtool.geometry.curve import Curve, arc_length, foremost, nose_radius, smooth_curve
from wingtool.geometry.fairing import faired
from wingtool.geometry.frame import chord_angle_deg
from wingtool.geometry.shape import Section
from wingtool.geometry.waviness import shape_warnings

STATIONS = 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, 401)))
LEAST_CAMBER_DRAWN = -0.005  # of the chord; below it a section lifts downwards as drawn
TAIL_PART = 0.05  # of the chord, over which the tail angle is fitted


@dataclass(frozen=True)
class Measures:
    """Measures of a section, all over the chord.

    Parameters
    ----------
    thickness, thickness_x : float
        Largest distance between the sides, square to the chord line, and its place.
    camber, camber_x : float
        Ordinate of the mean line where it is farthest from the chord line, with its sign, and its place.
    nose_radius : float
        Radius of curvature at the nose.
    tail_gap : float
        Thickness of a blunt tail; 0 for a sharp one.
    tail_angle_deg : float
        Angle between the sides at the tail [deg].
    area : float
        Cross-section over chord squared.
    chord_angle_deg : float
        The line from the tail to the point farthest from it, against the x axis of the coordinates [deg],
        positive with the nose up. Not zero where coordinates were published with another datum.
    warnings : tuple of str
        What would disturb the flow or this calculation.
    """

    thickness: float
    thickness_x: float
    camber: float
    camber_x: float
    nose_radius: float
    tail_gap: float
    tail_angle_deg: float
    area: float
    chord_angle_deg: float
    warnings: tuple[str, ...]


def sides(curve: Curve, stations: np.ndarray = STATIONS) -> tuple[np.ndarray, np.ndarray]:
    """Ordinates of upper and lower side at x stations from 0 to 1 (between nose and tail of the outline)."""
    t, _ = arc_length(curve)
    return polyline.sides(curve.at(t), stations)


def _peak(x: np.ndarray, y: np.ndarray) -> tuple[float, float]:
    """Place and value of the largest |y|, by a parabola through the three stations about it."""
    i = int(np.clip(np.argmax(np.abs(y)), 1, len(y) - 2))
    a, b, c = np.polyfit(x[i - 1 : i + 2] - x[i], y[i - 1 : i + 2], 2)
    if a * y[i] >= 0.0:
        return float(x[i]), float(y[i])
    shift = float(np.clip(-b / (2.0 * a), x[i - 1] - x[i], x[i + 1] - x[i]))
    return float(x[i]) + shift, float(c + shift * (b + a * shift))


def _tail_slope(side_x: np.ndarray, side_y: np.ndarray) -> float:
    """Slope of a side at the tail: parabola over its last twentieth, to forgive rounded coordinates."""
    part = side_x > side_x.max() - TAIL_PART
    a, b, _ = np.polyfit(side_x[part] - side_x.max(), side_y[part], 2)
    return float(np.degrees(np.arctan(b)))


def drawn_upside_down(section: Section) -> tuple[str, ...]:
    """The warning of `measure` that a section lifts downwards as drawn, alone; empty where it lifts upwards.

    The smooth curve, which takes most of the time, is drawn only where the points leave the answer open.
    """
    upper, lower = polyline.sides(section.xy, STATIONS)
    if np.min(upper + lower) > LEAST_CAMBER_DRAWN:  # twice the mean line: nowhere lower than half the limit
        return ()
    upper, lower = sides(smooth_curve(faired(section)))
    return _way_up(_peak(STATIONS, 0.5 * (upper + lower))[1])


def _way_up(camber: float) -> tuple[str, ...]:
    if camber > LEAST_CAMBER_DRAWN:
        return ()
    return (
        f"camber {100 * camber:.2g} %: drawn upside down? a file holds the section lifting upwards;"
        " change the sign of y",
    )


def measure(section: Section) -> Measures:
    """Measures of a section, on the smooth curve through its points.

    Examples
    --------
    NACA TR 460: 12 % thick at x 0.3, nose radius 1.1019 thickness^2, tail slopes of 8 deg each.

    >>> from wingtool.geometry.families import four_digit
    >>> m = measure(four_digit("0012"))
    >>> round(m.thickness, 3), round(m.thickness_x, 1), round(m.tail_angle_deg)
    (0.12, 0.3, 16)
    """
    xy = faired(section)
    curve = smooth_curve(xy)
    upper, lower = sides(curve)
    thickness_x, thickness = _peak(STATIONS, upper - lower)
    camber_x, camber = _peak(STATIONS, 0.5 * (upper + lower))
    return Measures(
        thickness=thickness,
        thickness_x=thickness_x,
        camber=camber,
        camber_x=camber_x if abs(camber) > 1e-5 else float("nan"),
        nose_radius=nose_radius(curve),
        tail_gap=float(np.linalg.norm(xy[0] - xy[-1])),
        tail_angle_deg=_tail_slope(STATIONS, lower) - _tail_slope(STATIONS, upper),
        area=polyline.signed_area(curve.at(arc_length(curve)[0])),
        chord_angle_deg=chord_angle_deg(foremost(curve), 0.5 * (xy[0] + xy[-1])),
        warnings=_way_up(camber) + shape_warnings(xy, curve),
    )
