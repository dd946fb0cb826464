"""What straight panels of vorticity and of sources do at many points at once, in closed form.

Points and nodes are complex numbers ``x + i y``. A polyline of n nodes carries n - 1 panels; a strength
that runs linearly along each panel is held at the nodes. Vorticity is positive clockwise, so that on the
upper side of a section it is the speed towards the tail.

With ``F = phi + i psi`` and ``w = dF/dz = u - i v``, a clockwise vortex is ``F = i/(2 pi) log z`` and a
source ``F = 1/(2 pi) log z``; a panel is the integral of these along a straight line (Katz & Plotkin,
Low-Speed Aerodynamics, 2nd ed., 2001, chapter 10.2 and 10.3). Every logarithm of a distance is set to zero
at its own node: its factor vanishes there in the stream function, and cancels between neighbours in the
velocity.
"""

from typing import NamedTuple

import numpy as np

TWO_PI = 2 * np.pi
# A point nearer to a panel's line than this share of its distance to the nodes is on the line.
ON_LINE = 1e-13


def arc_length(line: np.ndarray) -> np.ndarray:
    """Arc length along complex points, from 0."""
    return np.concatenate(([0.0], np.cumsum(np.abs(np.diff(line)))))


class _Local(NamedTuple):
    """Points seen from each panel: x along it from its first node, y to its left."""

    x: np.ndarray
    y: np.ndarray
    length: np.ndarray
    direction: np.ndarray
    square_first: np.ndarray
    square_last: np.ndarray
    log_first: np.ndarray
    log_last: np.ndarray


def _local(points: np.ndarray, nodes: np.ndarray) -> _Local:
    step = np.diff(nodes)
    length = np.abs(step)
    direction = step / np.where(length > 0, length, 1)
    away = points[:, None] - nodes
    square = away.real**2 + away.imag**2
    log = 0.5 * np.log(np.where(square > 0, square, 1))
    seen = away[:, :-1] * direction.conj()
    x, y = seen.real, seen.imag
    y = np.where(y**2 <= ON_LINE**2 * (square[:, :-1] + square[:, 1:]), 0.0, y)
    return _Local(x, y, length, direction, square[:, :-1], square[:, 1:], log[:, :-1], log[:, 1:])


def _swept(at: _Local) -> np.ndarray:
    """Angle under which a point sees each panel, positive on its left; 0, the mean of both sides, on it."""
    across = at.x * (at.x - at.length) + at.y**2
    return np.where(at.y == 0, 0.0, np.arctan2(at.y * at.length, across))


def _to_nodes(whole: np.ndarray, last: np.ndarray) -> np.ndarray:
    """Panel integrals with weight 1 and weight s/L gathered to node strengths."""
    return np.pad(whole - last, ((0, 0), (0, 1))) + np.pad(last, ((0, 0), (1, 0)))


def vortex_stream(points: np.ndarray, nodes: np.ndarray) -> np.ndarray:
    """Stream function at points for unit vorticity at each node, falling linearly to its neighbours.

    Parameters
    ----------
    points : complex ndarray, shape (m,)
    nodes : complex ndarray, shape (n,)

    Returns
    -------
    ndarray, shape (m, n)
        Exact everywhere, the nodes themselves included.

    Examples
    --------
    Far away, a panel of length 2 and unit strength is a vortex of strength 2.

    >>> psi = vortex_stream(np.array([0 + 1000j]), np.array([-1 + 0j, 1 + 0j])).sum()
    >>> round(float(psi / (2 * np.log(1000) / (2 * np.pi))), 6)
    1.0
    """
    at = _local(points, nodes)
    whole = at.x * at.log_first - (at.x - at.length) * at.log_last - at.length + at.y * _swept(at)
    moment = 0.5 * (at.square_first * at.log_first - at.square_last * at.log_last)
    moment -= 0.25 * at.length * (2 * at.x - at.length)
    last = (at.x * whole - moment) / np.where(at.length > 0, at.length, 1)
    return _to_nodes(whole, last) / TWO_PI


def _source_angles(points: np.ndarray, nodes: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Integrals of the angle over each panel with weight 1 and s/L, and the panel lengths."""
    at = _local(points, nodes)
    angle_first = np.arctan2(at.y, at.x)
    angle_last = np.arctan2(at.y, at.x - at.length)
    whole = at.x * angle_first - (at.x - at.length) * angle_last + at.y * (at.log_first - at.log_last)
    moment = 0.5 * (at.square_first * angle_first - at.square_last * angle_last + at.y * at.length)
    last = (at.x * whole - moment) / np.where(at.length > 0, at.length, 1)
    return whole, last, at.length


def _unbroken(whole: np.ndarray, last: np.ndarray, length: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Take out the jumps of whole turns between successive points (axis 0)."""
    safe = np.where(length > 0, length, 1)
    # From a panel's own first node to its last the angle falls by half a turn: that step is no jump.
    turns = np.round(np.diff(whole / safe, axis=0) / (TWO_PI * (1 + 1e-9))).cumsum(axis=0) * TWO_PI
    whole, last = whole.copy(), last.copy()
    whole[1:] -= turns * length
    last[1:] -= turns * length / 2
    return whole, last


def source_stream(points: np.ndarray, nodes: np.ndarray, each_panel: bool = True) -> np.ndarray:
    """Stream function at successive points of a line for unit sources on panels.

    The stream function of a source has a cut. The points are taken as a line along which it is continuous,
    so that the cut lies where the line is not: for the nodes of a closed section, outside it. It is known up
    to a constant for each line, which a section's own inner value takes up. On a panel itself the value is
    that of its left side, the inside of a section that is stored tail, upper side, nose, lower side.

    Parameters
    ----------
    points : complex ndarray, shape (m,)
        In the order in which they follow each other; no step turns half way round a panel, its own excepted.
    nodes : complex ndarray, shape (n,)
    each_panel : bool
        True: constant strength on each panel. False: linear between strengths at the nodes.

    Returns
    -------
    ndarray, shape (m, n - 1) or (m, n)
    """
    whole, last = _unbroken(*_source_angles(points, nodes))
    return (whole if each_panel else _to_nodes(whole, last)) / TWO_PI


def _velocity_integrals(points: np.ndarray, nodes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    at = _local(points, nodes)
    plain = at.log_first - at.log_last - 1j * _swept(at)
    away = at.x + 1j * at.y
    last = away * plain / np.where(at.length > 0, at.length, 1) - 1
    turn = np.where(at.length > 0, at.direction.conj(), 0) / TWO_PI
    return plain * turn, last * turn


def source_velocity(points: np.ndarray, nodes: np.ndarray, each_panel: bool = True) -> np.ndarray:
    """Complex velocity ``u - i v`` at points for unit sources on panels.

    On a panel it is the mean of both sides; the sides differ by half the strength, outward.

    Parameters
    ----------
    points : complex ndarray, shape (m,)
    nodes : complex ndarray, shape (n,)
    each_panel : bool
        True: constant strength on each panel. False: linear between strengths at the nodes.

    Returns
    -------
    complex ndarray, shape (m, n - 1) or (m, n)
    """
    plain, last = _velocity_integrals(points, nodes)
    return plain if each_panel else _to_nodes(plain, last)


def vortex_velocity(points: np.ndarray, nodes: np.ndarray) -> np.ndarray:
    """Complex velocity ``u - i v`` at points for unit clockwise vorticity at each node.

    On a panel it is the mean of both sides; the sides differ by half the strength, along it.

    Returns
    -------
    complex ndarray, shape (m, n)
    """
    return 1j * source_velocity(points, nodes, each_panel=False)
