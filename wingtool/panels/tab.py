"""A thin plate across the tail on the lower side (a trailing-edge tab), by free-streamline theory. No fit.

Seen from close by, the section is a long plate whose end carries a wall of height h on the lower side. The
flow leaves the tail on the upper side and the tip of the wall on the lower; between both free streamlines
the air is at the pressure of the stream. Kirchhoff's hodograph solves this flow: over the upper side the
speed stays U, along the lower side

    u = U sqrt((t - 1) / (t + 1)),  t = sqrt(W / (c U)),  h = c (2 + pi/2),

with W the potential from the tip (Milne-Thomson, Theoretical Hydrodynamics, chapter on free streamlines:
half of a plate across a stream; its drag coefficient 2 pi / (4 + pi) = 0.88 follows). Some heights away,
``u = U (1 - E sqrt(h/s))`` at distance s ahead of the tail, with ``E = 1 / sqrt(2 + pi/2)`` = 0.529.

Seen from far away this difference between both sides is the mark of circulation that the Kutta condition of
the plain tail does not allow: on a flat plate ``2 (cl/4 pi) / sqrt(s)``. So the tab adds that multiple of the
circulatory flow of `PanelSystem.circulatory` which carries the same circulation in the last two tab heights.
On a flat plate ``delta cl = 2 pi E sqrt(h/c)`` = 3.32 sqrt(h/c); the wall as a flap of 90 degrees, with the
flow held to its back, would give 4 pi sqrt(h/c) in the linear theory of a flap hinged at the tail.

Limits: h much smaller than the chord; the inner flow is that of a straight tail.
"""

import numpy as np

from wingtool.errors import RangeError
from wingtool.panels.kernels import arc_length
from wingtool.panels.system import PanelSystem

EDGE = float(1 / np.sqrt(2 + np.pi / 2))
MATCH = 2.0  # tab heights ahead of the tail where both flows are matched; 1 or 3 change delta cl by 1 %
FRONT_DRAG = float(np.pi * EDGE**2)  # drag of the wall alone over h, against the pressure behind it
HIGHEST = 0.06


def tab_mode(system: PanelSystem, tab_chord: float) -> tuple[np.ndarray, np.ndarray]:
    """The flow that a tab adds to a single section for unit speed at its tail, and how that speed is read.

    Parameters
    ----------
    tab_chord : float
        Height of the tab over the common chord, 0 to 0.06.

    Returns
    -------
    mode : ndarray, shape (N,)
        Added node vorticity for unit tail speed. In the last tab height ahead of the tail, where the air in
        front of the tab stands nearly still, it is held at its value one height ahead.
    reading : ndarray, shape (N,)
        ``reading @ gamma`` is the mean speed of both sides two tab heights ahead of the tail.

    Raises
    ------
    RangeError
        A height outside the range.
    """
    if not 0 < tab_chord <= HIGHEST:
        raise RangeError(f"tab of {100 * tab_chord:.3g} % chord: choose 0 to {100 * HIGHEST:.0f} %")
    arc = arc_length(system.nodes)
    sides = ((arc, slice(None)), ((arc[-1] - arc)[::-1], slice(None, None, -1)))
    mode, reading = system.circulatory()[:, 0], np.zeros(system.node_count)
    carried = 0.0
    for sign, (ahead, order) in zip((0.5, -0.5), sides, strict=True):
        weights = _weights(ahead, MATCH * tab_chord)
        reading[order] += sign * weights
        carried += _integral(ahead, mode[order], MATCH * tab_chord)
    mode = mode * (2 * EDGE * np.sqrt(MATCH) * tab_chord / carried)
    for ahead, order in sides:
        line = mode[order]
        line[ahead < tab_chord] = _weights(ahead, tab_chord) @ line
    return mode, reading


def _weights(ahead: np.ndarray, distance: float) -> np.ndarray:
    """Weights of linear interpolation at a distance from the tail."""
    after = int(np.clip(np.searchsorted(ahead, distance), 1, len(ahead) - 1))
    share = (distance - ahead[after - 1]) / (ahead[after] - ahead[after - 1])
    weights = np.zeros(len(ahead))
    weights[[after - 1, after]] = 1 - share, share
    return weights


def _integral(ahead: np.ndarray, values: np.ndarray, distance: float) -> float:
    """Integral of values from the tail over a distance."""
    inside = ahead < distance
    x = np.append(ahead[inside], distance)
    return float(np.trapezoid(np.interp(x, ahead, values), x))
