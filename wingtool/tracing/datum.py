"""Where to lay the angle gauge on the real wing, and how that lies to the chord line."""

from dataclasses import dataclass

import numpy as np

from wingtool.files import words_beside
from wingtool.geometry import kulfan, polyline
from wingtool.tracing.fit.curve import ORDER

WORDS = words_beside(__file__, "datum")
POINTS = 101
SHORTEST = 0.25  # of the chord: on less a straightedge rocks


@dataclass(frozen=True, eq=False)
class Datum:
    """A line on the wing that a gauge can lie on.

    Parameters
    ----------
    text : str
        What to tell the person.
    angle_deg : float
        The line's angle to the chord line [deg], positive tail down: chord angle = gauge angle - this.
    contacts : tuple (x, x)
        Where the straightedge touches, over the chord.
    error_deg : float
        Standard deviation of the angle [deg].
    """

    text: str
    angle_deg: float = 0.0
    contacts: tuple[float, float] = (0.0, 0.0)
    error_deg: float = 0.0


def _straightedge(shape: np.ndarray, covariance: np.ndarray, name: str) -> Datum:
    x, matrix = kulfan.loop_matrix(ORDER, POINTS)
    rows = slice(POINTS - 1, None) if name == "lower" else slice(POINTS - 1, None, -1)
    x, matrix = x[rows], matrix[rows]
    y = matrix @ shape * (1.0 if name == "lower" else -1.0)
    first, last = polyline.rest_line(np.column_stack([x, y]))
    row = -np.degrees((matrix[last] - matrix[first]) / max(x[last] - x[first], 1e-3))
    angle, error = float(row @ shape), float(np.sqrt(row @ covariance @ row))
    face, sign = {"lower": "top", "upper": "underside"}[name], "minus" if angle >= 0 else "plus"
    contacts = float(x[first]), float(x[last])
    text = WORDS["straightedge"].format(name, face, *contacts, sign, abs(angle), 2 * error)
    return Datum(text, angle, contacts, error)


def top_datum(shape: np.ndarray, covariance: np.ndarray) -> Datum:
    """The line of a straightedge on the lower side as drawn, which is the top on the car."""
    return _straightedge(shape, covariance, "lower")


def find_datum(shape: np.ndarray, covariance: np.ndarray) -> Datum:
    """The longest line of a straightedge on either side; where both are round, a template's chord line."""
    sides = [_straightedge(shape, covariance, name) for name in ("lower", "upper")]
    longest = max(sides, key=lambda datum: datum.contacts[1] - datum.contacts[0])
    if longest.contacts[1] - longest.contacts[0] >= SHORTEST:
        return longest
    return Datum(WORDS["template"])
