"""Where to lay the angle gauge on the real wing, and how that lies to the chord line."""

from dataclasses import dataclass

import numpy as np

from wingtool.geometry import polyline
from wingtool.tracing.curve import ORDER, SHAPE
from wingtool.tracing.kulfan import loop_matrix

POINTS = 101
SHORTEST = 0.25  # of the chord: on less a straightedge rocks


@dataclass(frozen=True, eq=False)
class Datum:
    """A line on the wing that a gauge can lie on.

    Parameters
    ----------
    name : str
        ``lower`` or ``upper`` (a straightedge on that side), or ``template`` (the chord line marked on a
        template cut from the printed outline).
    angle_deg : float
        The line's angle to the chord line [deg], positive tail down: chord angle = gauge angle - this.
    row : ndarray, shape (SHAPE,)
        Derivative of the angle [deg] by the shape parameters.
    contacts : tuple (x, x)
        Where the straightedge touches, over the chord.
    text : str
        What to tell the person.
    """

    name: str
    angle_deg: float
    row: np.ndarray
    contacts: tuple[float, float]
    text: str


def _straightedge(shape: np.ndarray, covariance: np.ndarray, name: str) -> Datum | None:
    x, matrix = loop_matrix(ORDER, POINTS)
    rows = slice(POINTS - 1, None) if name == "lower" else slice(POINTS - 1, None, -1)
    x, matrix = x[rows], matrix[rows]
    y = matrix @ shape * (1.0 if name == "lower" else -1.0)
    first, last = polyline.rest_line(np.column_stack([x, y]))
    length = x[last] - x[first]
    if length < SHORTEST:
        return None
    row = -np.degrees((matrix[last] - matrix[first]) / length)
    angle = float(row @ shape)
    error = float(np.sqrt(row @ covariance @ row))
    face = {"lower": "top", "upper": "underside"}[name]
    text = (
        f"a straightedge on the {name} side as drawn (on the car the {face}) touches at {x[first]:.0%} and "
        f"{x[last]:.0%} of the chord; the chord angle is what the gauge shows on it "
        f"{'minus' if angle >= 0 else 'plus'} {abs(angle):.1f} deg (+-{2 * error:.1f})"
    )
    return Datum(name, angle, row, (float(x[first]), float(x[last])), text)


def find_datums(shape: np.ndarray, covariance: np.ndarray) -> tuple[Datum, ...]:
    """Straightedge lines, longest first, then the template's chord line, which is always there."""
    found = [_straightedge(shape, covariance, name) for name in ("lower", "upper")]
    lines = [datum for datum in found if datum is not None]
    lines.sort(key=lambda datum: datum.contacts[0] - datum.contacts[1])
    template = Datum(
        "template",
        0.0,
        np.zeros(SHAPE),
        (0.0, 1.0),
        "cut a template from the printed outline, mark its chord line (nose to middle of the tail), and lay "
        "the gauge on that",
    )
    return (*lines, template)
