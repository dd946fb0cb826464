"""How the edge speed on sections and wakes answers to displacement: the outer flow of a coupled solver.

A boundary layer pushes the outer flow away by its displacement thickness d. With the signed mass defect
``M = gamma d`` on the surface (gamma the signed surface speed) and ``m = U d`` in the wake, that is a source
sheet of strength ``sigma = dm/ds`` (Lighthill, J. Fluid Mech. 4, 1958). Between two nodes of the surface it
is constant, ``(M_j - M_(j+1)) / ds``; this holds on both sides of the nose and across the stagnation point,
so the matrix does not know where that point is. In the wake ``(m_(k+1) - m_k) / ds`` is the strength in the
middle of a panel and runs linearly between these places.

The stations are all surface nodes (N, element by element, as in `PanelSystem.nodes`), then all wake nodes,
element by element. Inside a section the flow stands still, so the edge speed on the surface is the node
vorticity itself. The first wake node takes the speed at the tail, the last that of the node before: free, it
would feed back on itself.

Use: `place` once for a section (free air) or once an angle (ground); `surface_response` once for each system;
`wake_lines` and `edge_response` for each angle or whenever the wake is moved. The edge speed is then
``ue_inviscid + influence @ mass``. Forces from a coupled gamma: `wingtool.panels.forces`.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.panels.flow import InviscidFlow
from wingtool.panels.kernels import arc_length, source_stream, source_velocity
from wingtool.panels.system import PanelSystem, following, mirrored, velocity_rows

WAKE_PASSES = 6


@dataclass(frozen=True, eq=False)
class EdgeResponse:
    """Edge speed on S = N + wake stations: ``ue_inviscid + influence @ mass``.

    Parameters
    ----------
    arc : ndarray, shape (S,)
        Arc length from the first node of each element over the upper side; in a wake, from the tail.
    slices : tuple of (slice, slice)
        For each element its surface and its wake stations.
    ue_inviscid : ndarray, shape (S,)
        Edge speed without displacement: signed on the surface (positive over the upper side towards the
        tail, negative along the lower side), positive downstream in the wake.
    influence : ndarray, shape (S, S)
        Change of edge speed for unit mass defect at each station, signed as the speed is.
    """

    arc: np.ndarray
    slices: tuple[tuple[slice, slice], ...]
    ue_inviscid: np.ndarray
    influence: np.ndarray


def surface_response(system: PanelSystem) -> np.ndarray:
    """Change of node vorticity, shape (N, N), for unit signed mass defect at each node."""
    stream = np.zeros((system.node_count, system.node_count))
    parts = list(zip(system.elements, system.rows, strict=True))
    for points, rows in parts:
        for line, columns in parts:
            panels = _source_rows(points, line, system.wall_height)
            stream[rows, columns] = -_differences(panels, line)
    return system.solve(-stream)


def wake_lines(
    system: PanelSystem,
    gamma: np.ndarray,
    alpha_deg: float,
    panels: int = 24,
    length: float | tuple[float, ...] = 1.0,
) -> tuple[np.ndarray, ...]:
    """Wake of each element: the streamline that leaves its tail.

    Parameters
    ----------
    gamma : ndarray, shape (N,)
        Node vorticity of this stream (inviscid is near enough).
    alpha_deg : float
        Angle of the stream in the frame of the system [deg].
    panels : int
        Number of wake panels; the line has one node more. The first is as long as the last on the upper side.
    length : float, or one for each element
        Length of the wake [chord].

    Returns
    -------
    tuple of complex ndarray, each shape (panels + 1,)
    """
    stream = np.exp(1j * np.radians(alpha_deg))
    lines = []
    lengths = length if isinstance(length, tuple) else (length,) * len(system.elements)
    for nodes, tail, reach in zip(system.elements, system.closing, lengths, strict=True):
        steps = _growing(abs(nodes[1] - nodes[0]), reach, panels)
        turn = np.linspace(0, 1, panels) ** 0.25
        heading = tail.bisector * (1 - turn) + stream * turn
        for _ in range(WAKE_PASSES):
            path = np.cumsum(steps * heading / abs(heading))
            line = (nodes[0] + nodes[-1]) / 2 + np.concatenate(([0], path))
            heading = velocity(system, (line[1:] + line[:-1]) / 2, gamma, alpha_deg).conj()
            heading[0] = tail.bisector
        lines.append(line)
    return tuple(lines)


def velocity(system: PanelSystem, points: np.ndarray, gamma: np.ndarray, alpha_deg: float) -> np.ndarray:
    """Complex velocity ``u - i v`` at complex points, in the frame of the system, stream speed 1.

    Parameters
    ----------
    points : complex ndarray, shape (p,)
    gamma : ndarray, shape (N,)
    alpha_deg : float
        Angle of the stream in the frame of the system [deg].
    """
    total = np.full(len(points), np.exp(-1j * np.radians(alpha_deg)))
    for rows, nodes, tail in zip(system.rows, system.elements, system.closing, strict=True):
        total = total + velocity_rows(points, nodes, tail, system.wall_height) @ gamma[rows]
    return total


def velocity_at(flow: InviscidFlow, points: np.ndarray, alpha_index: int = 0) -> np.ndarray:
    """Velocity at points in the frame in which the sections were given, stream speed 1.

    Parameters
    ----------
    points : ndarray, shape (p, 2)
    alpha_index : int
        Which of the flow's angles.

    Returns
    -------
    ndarray, shape (p, 2)
        On a panel the mean of both sides; inside a section near zero.
    """
    stream_deg, turn = float(flow.alpha_deg[alpha_index]), 1.0 + 0.0j
    system = flow.systems[0]
    if flow.ground_height is not None:  # the sections stand turned under a stream along x
        system, turn, stream_deg = flow.systems[alpha_index], np.exp(-1j * np.radians(stream_deg)), 0.0
    x, y = np.asarray(points, dtype=float).T
    back = velocity(system, (x + 1j * y) * turn, flow.gamma[alpha_index], stream_deg).conj() / turn
    return np.column_stack([back.real, back.imag])


def edge_response(
    system: PanelSystem,
    surface: np.ndarray,
    wakes: tuple[np.ndarray, ...],
    gamma: np.ndarray,
    alpha_deg: float,
) -> EdgeResponse:
    """Edge speed and its response to the mass defect, on the surface and on given wakes.

    Parameters
    ----------
    system : PanelSystem
    surface : ndarray, shape (N, N)
        From `surface_response`.
    wakes : tuple of complex ndarray
        One line for each element, from its tail.
    gamma : ndarray, shape (N,)
        Inviscid node vorticity of this stream.
    alpha_deg : float
        Angle of the stream in the frame of the system [deg].
    """
    rows, count = system.rows, system.node_count
    wake_rows = following(count, wakes)
    slices = tuple(zip(rows, wake_rows, strict=True))
    total = wake_rows[-1].stop
    influence = np.zeros((total, total))
    influence[:count, :count] = surface
    stream = np.zeros((count, total - count))
    sheets = [wake_sheet(line) for line in wakes]
    for points, own in zip(system.elements, rows, strict=True):
        for (sheet, strengths), columns in zip(sheets, following(0, wakes), strict=True):
            # reversed, so that the cut of the sources runs downstream, away from the section
            at_nodes = _source_rows(points, sheet[::-1], system.wall_height, each_panel=False)[:, ::-1]
            stream[own, columns] = at_nodes @ strengths
    influence[:count, count:] = system.solve(-stream)
    ue_inviscid = np.concatenate([gamma, np.zeros(total - count)])
    on_surface = influence[:count]
    for index, part in enumerate(wake_rows):
        in_wake = _wake_speed(system, wakes[index], sheets, gamma, on_surface, slices, alpha_deg)
        first, last = rows[index].start, rows[index].stop - 1
        each = zip((ue_inviscid, influence), in_wake, (gamma, on_surface), strict=True)
        for speed, inside, surface_speed in each:
            speed[part.start] = (surface_speed[first] - surface_speed[last]) / 2
            speed[part.start + 1 : part.stop - 1] = inside
            speed[part.stop - 1] = inside[-1]
    return EdgeResponse(
        arc=np.concatenate([arc_length(line) for line in (*system.elements, *wakes)]),
        slices=slices,
        ue_inviscid=ue_inviscid,
        influence=influence,
    )


def part_of_response(response: EdgeResponse, element: int, mass: np.ndarray, length: float) -> EdgeResponse:
    """The response of one element alone, the displacement of the others being given.

    Parameters
    ----------
    response : EdgeResponse
        Of all elements.
    element : int
    mass : ndarray, shape (S,)
        Mass defect at all stations; that of the element itself is not used.
    length : float
        Unit of length of the answer, the element's own chord for example: its arc lengths and mass defects
        are over this length.
    """
    surface, wake = response.slices[element]
    own = np.r_[surface, wake]
    others = mass.copy()
    others[own] = 0.0
    count = surface.stop - surface.start
    return EdgeResponse(
        arc=response.arc[own] / length,
        slices=((slice(0, count), slice(count, len(own))),),
        ue_inviscid=response.ue_inviscid[own] + response.influence[own] @ others,
        influence=response.influence[np.ix_(own, own)] * length,
    )


def wake_sheet(line: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Source sheet of a wake: its nodes (W + 1,), and its strength there for unit mass defects (W + 1, W).

    The sheet's nodes are the ends and the middles of the wake's panels, where the strength is the slope of
    the mass defect; between them it runs linearly. So it is continuous at the wake's own nodes and the speed
    can be taken there. (Taken in the middle of panels and averaged it would be blind to a defect that
    alternates from node to node.)
    """
    step = np.abs(np.diff(line))
    slopes = np.zeros((len(step), len(line)))
    row = np.arange(len(step))
    slopes[row, row], slopes[row, row + 1] = -1 / step, 1 / step
    nodes = np.concatenate([line[:1], (line[1:] + line[:-1]) / 2, line[-1:]])
    return nodes, np.concatenate([slopes[:1], slopes, slopes[-1:]])


def _wake_speed(system, line, sheets, gamma, influence, slices, alpha_deg) -> tuple[np.ndarray, np.ndarray]:
    """Speed along one wake at its inner nodes, and its response to all mass defects."""
    heading = np.diff(line) / np.abs(np.diff(line))
    along = (heading[1:] + heading[:-1]) / np.abs(heading[1:] + heading[:-1])
    at = line[1:-1]
    ue_inviscid = (np.exp(-1j * np.radians(alpha_deg)) * along).real
    response = np.zeros((len(at), influence.shape[1]))
    each = zip(system.elements, system.closing, slices, sheets, strict=True)
    for nodes, tail, (here, wake_here), (sheet, strengths) in each:
        vortices = (velocity_rows(at, nodes, tail, system.wall_height) * along[:, None]).real
        ue_inviscid = ue_inviscid + vortices @ gamma[here]
        response += vortices @ influence[here]
        response[:, here] -= _differences(_source_speed(at, along, nodes, system.wall_height), nodes)
        of_sheet = _source_speed(at, along, sheet, system.wall_height, each_panel=False)
        response[:, wake_here] += of_sheet @ strengths
    return ue_inviscid, response


def _source_rows(points: np.ndarray, line: np.ndarray, wall_height: float, each_panel: bool = True):
    """Stream function at the nodes of one section for unit sources, as `source_stream`, and their image."""
    panels = source_stream(points, line, each_panel)
    if np.isfinite(wall_height):
        panels -= source_stream(mirrored(points, wall_height), line, each_panel)
    return panels


def _source_speed(
    points: np.ndarray, along: np.ndarray, line: np.ndarray, wall_height: float, each_panel: bool = True
) -> np.ndarray:
    """Speed along given directions for unit sources, as `source_velocity`, and their image."""
    panels = source_velocity(points, line, each_panel)
    if np.isfinite(wall_height):
        panels = panels + source_velocity(mirrored(points, wall_height), line, each_panel).conj()
    return (panels * along[:, None]).real


def _differences(panels: np.ndarray, line: np.ndarray) -> np.ndarray:
    """Response to panel strengths as response to node values whose slope along the line is the strength."""
    per_length = panels / np.abs(np.diff(line))
    return np.pad(per_length, ((0, 0), (1, 0))) - np.pad(per_length, ((0, 0), (0, 1)))


def _growing(first: float, length: float, panels: int) -> np.ndarray:
    """Steps in geometric growth from `first` that add up to `length`; equal steps if that needs no growth."""
    if first * panels >= length:
        return np.full(panels, length / panels)
    from scipy.optimize import brentq

    number = np.arange(panels)
    return first * brentq(lambda growth: first * np.sum(growth**number) - length, 1.0, 10.0) ** number
