"""The linear system of a set of sections: assembled and factored once, used for any right-hand side.

Constant inner stream function (Katz & Plotkin, Low-Speed Aerodynamics, 2nd ed., 2001, chapter 11.5): the
unknowns are the vorticity at each node, which is the surface speed, and one inner stream-function value for
each section. At each node the stream function of everything equals that value; the Kutta condition lets the
flow leave the tail with equal speed on both sides.

A wall above the sections at height `wall_height` is the ground under the same sections turned over.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from wingtool.errors import RangeError
from wingtool.panels.kernels import source_stream, source_velocity, vortex_stream, vortex_velocity

# A tail gap below this share of the chord is sharp: both its nodes give one equation.
SHARP_GAP = 1e-5


@dataclass(frozen=True, eq=False)
class PanelSystem:
    """Sections as placed, and their factored system.

    Parameters
    ----------
    elements : tuple of complex ndarray
        Nodes of each section as x + i y: tail, upper side, nose, lower side, tail.
    wall_height : float
        Height of the wall above them; inf in free air.
    rows : tuple of slice
        Each section's nodes among all N.
    closing : tuple of CloseTail
        The closing panel of each section.
    factors : tuple
        LU factors of the (N + elements) square matrix, for scipy.linalg.lu_solve.
    """

    elements: tuple[np.ndarray, ...]
    wall_height: float
    rows: tuple[slice, ...]
    closing: tuple["CloseTail", ...]
    factors: Any

    @property
    def node_count(self) -> int:
        """Number N of nodes in all sections."""
        return self.rows[-1].stop

    @property
    def nodes(self) -> np.ndarray:
        """All nodes, complex, shape (N,)."""
        return np.concatenate(self.elements)

    def solve(self, right: np.ndarray, tails: np.ndarray | float = 0.0) -> np.ndarray:
        """Node vorticity, shape (N, k), for outer stream functions at the nodes.

        Parameters
        ----------
        right : ndarray, shape (N, k)
            Stream function of everything that is not the sections' own vorticity, at each node, as it
            must be cancelled (that is, its negative).
        tails : ndarray, shape (elements, k), or float
            Sum of the vorticity of both tail nodes; 0 is the Kutta condition.
        """
        from scipy.linalg import lu_solve

        full = np.zeros((self.node_count + len(self.elements), right.shape[1]))
        full[: self.node_count], full[self.node_count :] = right, tails
        full[[own.stop - 1 for own, tail in zip(self.rows, self.closing, strict=True) if tail.sharp]] = 0
        return lu_solve(self.factors, full, check_finite=False)[: self.node_count]

    def circulatory(self) -> np.ndarray:
        """Node vorticity of circulation about each section without a stream, shape (N, elements).

        Column e has speed 1 round the tail of section e, that is, unit sum of both tail nodes, and a Kutta
        condition at the others. Any multiple of it can be added to a flow to put another condition at a tail.
        """
        count = len(self.elements)
        return self.solve(np.zeros((self.node_count, count)), np.eye(count))


@dataclass(frozen=True)
class CloseTail:
    """The panel that closes a tail from the last node to the first.

    The flow leaves along the bisector of both sides with the tail's speed. Inside it stands still: the jump
    across the closing panel is that speed, split into a vortex part along the panel and a source part across
    it. Where both nodes coincide there is no panel.

    Parameters
    ----------
    start, end : complex
        Last and first node of the section.
    bisector : complex
        Unit vector in which the flow leaves.
    vortex, source : float
        Strength of the panel for unit speed at the tail.
    sharp : bool
        Both tail nodes give the same equation.
    """

    start: complex
    end: complex
    bisector: complex
    vortex: float
    source: float
    sharp: bool


def close_tail(nodes: np.ndarray) -> CloseTail:
    """The closing panel of one section."""
    gap = nodes[0] - nodes[-1]
    out = _unit(nodes[0] - nodes[1]) + _unit(nodes[-1] - nodes[-2])
    bisector = complex(_unit(out))
    sharp = bool(abs(gap) <= SHARP_GAP * np.ptp(nodes.real))
    turned = bisector * np.conj(_unit(gap)) if gap else 0j
    return CloseTail(
        complex(nodes[-1]), complex(nodes[0]), bisector, -float(turned.real), -float(turned.imag), sharp
    )


def _unit(z: complex) -> complex:
    return z / abs(z)


def tail_speed(gamma: np.ndarray) -> np.ndarray:
    """Speed with which the flow leaves one section's tail, from its node vorticity (axis 0)."""
    return (gamma[0] - gamma[-1]) / 2


def mirrored(points: np.ndarray, wall_height: float) -> np.ndarray:
    """Points mirrored in the wall: an image's stream function is minus the original's at the mirror point."""
    return points.conj() + 2j * wall_height


def vortex_rows(points: np.ndarray, nodes: np.ndarray, tail: CloseTail, wall_height: float) -> np.ndarray:
    """Stream function at points, shape (m, n), of one section's node vorticity, closing panel and image."""
    rows = _with_closing(vortex_stream, source_stream, points, nodes, tail)
    if np.isfinite(wall_height):
        rows -= _with_closing(vortex_stream, source_stream, mirrored(points, wall_height), nodes, tail)
    return rows


def velocity_rows(points: np.ndarray, nodes: np.ndarray, tail: CloseTail, wall_height: float) -> np.ndarray:
    """Complex velocity at points, shape (m, n), of one section's node vorticity, closing panel and image."""
    rows = _with_closing(vortex_velocity, source_velocity, points, nodes, tail)
    if np.isfinite(wall_height):
        across = mirrored(points, wall_height)
        rows += _with_closing(vortex_velocity, source_velocity, across, nodes, tail).conj()
    return rows


def _with_closing(of_vortex, of_source, points: np.ndarray, nodes: np.ndarray, tail: CloseTail) -> np.ndarray:
    """What a kernel gives for one section's node vorticity, closing panel included."""
    rows = of_vortex(points, nodes)
    if tail.start != tail.end:
        gap = np.array([tail.start, tail.end])
        for_unit_speed = tail.vortex * of_vortex(points, gap).sum(axis=1)
        for_unit_speed += tail.source * of_source(points, gap)[:, 0]
        rows[:, 0] += for_unit_speed / 2
        rows[:, -1] -= for_unit_speed / 2
    return rows


def factored(elements: tuple[np.ndarray, ...], wall_height: float = np.inf) -> PanelSystem:
    """Assemble and factor the system of sections placed in one frame.

    Parameters
    ----------
    elements : tuple of complex ndarray, each shape (n_i,)
        Nodes of each section.
    wall_height : float
        Height of a wall above them all.

    Raises
    ------
    RangeError
        The outline is degenerate, so that the system has no solution.
    """
    import warnings

    from scipy.linalg import LinAlgError, LinAlgWarning, lu_factor

    closing = tuple(close_tail(nodes) for nodes in elements)
    rows = following(0, elements)
    matrix = _matrix(elements, closing, rows, wall_height)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", LinAlgWarning)
            factors = lu_factor(matrix, overwrite_a=True, check_finite=True)
    except (LinAlgWarning, LinAlgError, ValueError):
        raise RangeError(
            "the panel system is singular: nodes coincide or the outline folds on itself; repanel the section"
        ) from None
    return PanelSystem(tuple(elements), wall_height, rows, closing, factors)


def following(start: int, lines: Sequence[np.ndarray]) -> tuple[slice, ...]:
    """The places of several lines of points that follow one another."""
    ends = start + np.cumsum([len(line) for line in lines])
    return tuple(slice(int(end) - len(line), int(end)) for end, line in zip(ends, lines, strict=True))


def _matrix(elements, closing, every_rows, wall_height) -> np.ndarray:
    count, parts = every_rows[-1].stop, list(zip(elements, closing, every_rows, strict=True))
    matrix = np.zeros((count + len(elements), count + len(elements)), order="F")
    for own, (points, tail, rows) in enumerate(parts):
        for nodes, other_tail, columns in parts:
            matrix[rows, columns] = vortex_rows(points, nodes, other_tail, wall_height)
        matrix[rows, count + own] = -1
        if tail.sharp:
            matrix[rows.stop - 1] = 0
            matrix[rows.stop - 1, rows] = _even_speed_row(points)
        matrix[count + own, [rows.start, rows.stop - 1]] = 1
    return matrix


def _even_speed_row(nodes: np.ndarray) -> np.ndarray:
    """Row for a sharp tail, where both tail nodes give one equation.

    The mean speed of both sides runs straight into the tail: it is extrapolated linearly from the next two
    nodes on each side.
    """
    row = np.zeros(len(nodes))
    for sign, order in ((1, [0, 1, 2]), (-1, [-1, -2, -3])):
        near, far = np.abs(np.diff(nodes[order]))
        row[order] += sign * np.array([1, -(near + far) / far, near / far])
    return row
