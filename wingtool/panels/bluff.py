"""A bluff body over the ground: the same panels, no Kutta condition, the flow under the body given.

A body that leaves no lift-making tail has no Kutta condition to fix its circulation. Over the ground the
stream function inside the body, counted from the ground, is the flow that passes underneath: given that, the
flow is unique (first-kind equation of Katz & Plotkin, Low-Speed Aerodynamics, 2nd ed., 2001, chapter 11.5.2,
with the image in the ground).
"""

from dataclasses import dataclass

import numpy as np

from wingtool.errors import RangeError
from wingtool.panels.kernels import vortex_stream, vortex_velocity


@dataclass(frozen=True, eq=False)
class BluffFlow:
    """Flow of unit speed along x over a body above the ground y = 0.

    Parameters
    ----------
    nodes : complex ndarray, shape (n + 1,)
        Closed outline; the last node repeats the first.
    gamma : ndarray, shape (n + 1,)
        Clockwise vorticity at the nodes: surface speed, along +x over the top.
    """

    nodes: np.ndarray
    gamma: np.ndarray

    def velocity(self, points: np.ndarray) -> np.ndarray:
        """Velocity, shape (p, 2), at points (p, 2) above the ground."""
        at = points[:, 0] + 1j * points[:, 1]
        w = 1 + vortex_velocity(at, self.nodes) @ self.gamma
        w = w + (vortex_velocity(at.conj(), self.nodes) @ self.gamma).conj()
        return np.column_stack([w.real, -w.imag])


def bluff_flow(outline: np.ndarray, flow_under: np.ndarray | float) -> tuple[BluffFlow, ...]:
    """Flow over one body for one or several amounts of flow underneath; one factorisation for all.

    Parameters
    ----------
    outline : ndarray, shape (n, 2)
        Closed outline above the ground, either direction, first point not repeated, any unit of length L.
    flow_under : float or ndarray, shape (k,)
        Volume flow between ground and body over the stream's speed [L].

    Raises
    ------
    RangeError
        The outline touches or crosses the ground, or has fewer than 8 points.

    Examples
    --------
    A half circle of radius 1 that all but lies on the ground, nothing passing underneath: twice the stream's
    speed on top, 1 + 1/4 at height 2.

    >>> turn = np.linspace(0, np.pi, 101)
    >>> half = np.column_stack([np.cos(turn), np.sin(turn) + 1e-4])
    >>> base = np.column_stack([np.linspace(-1, 1, 102)[1:-1], np.full(100, 1e-4)])
    >>> (flow,) = bluff_flow(np.vstack([half, base]), 0.0)
    >>> [round(float(v), 2) for v in flow.velocity(np.array([[0.0, 2.0]]))[0]]
    [1.25, 0.0]
    """
    outline = np.asarray(outline, dtype=float)
    if outline.ndim != 2 or len(outline) < 8 or not np.isfinite(outline).all():
        raise RangeError("body outline: need 8 or more finite points")
    if outline[:, 1].min() <= 0:
        raise RangeError("body outline touches the ground; heights are above the ground, in the same unit")
    nodes = outline[:, 0] + 1j * outline[:, 1]
    closed = np.append(nodes, nodes[0])
    rows = vortex_stream(nodes, closed) - vortex_stream(nodes.conj(), closed)
    rows[:, 0] += rows[:, -1]
    under = np.atleast_1d(np.asarray(flow_under, dtype=float))
    gamma = np.linalg.solve(rows[:, :-1], under - nodes.imag[:, None])
    return tuple(BluffFlow(closed, np.append(column, column[0])) for column in gamma.T)
