"""Inviscid flow about sections at any number of angles: surface speed, pressure, forces.

Signs are those of the sections as drawn, lifting upwards, near the ground as well: there the flow is solved
as a mirror image, with the ground as a wall above the upper side, at the stated clearance from the highest
point. So cl stays positive when the turned-over section presses down.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wingtool.errors import RangeError
from wingtool.panels.system import PanelSystem, factored, tail_speed

QUARTER_CHORD = 0.25
LEAST_PANEL = 1e-9


@dataclass(frozen=True, eq=False)
class InviscidFlow:
    """Potential flow about sections on a common chord of 1 in a stream of speed 1.

    Parameters
    ----------
    elements : tuple of ndarray, each shape (n_i, 2)
        Outlines as given.
    alpha_deg : ndarray, shape (m,)
        Angles of attack [deg].
    ground_height : float or None
        Lowest point of the turned-over sections above the ground, over the chord.
    gamma : ndarray, shape (m, N)
        Surface speed at the nodes of all sections, positive from nose to tail over the upper side, negative
        from nose to tail along the lower side.
    cp : ndarray, shape (m, N)
        Pressure coefficient.
    cl, cd, cm : ndarray, shape (m, elements)
        From surface pressure; cm about x = 0.25, nose-up positive. In free air the cd of all elements
        together is the error of the method.
    circulation : ndarray, shape (m, elements)
        2 Gamma / (U c). Near the ground it is not cl.
    systems : tuple of PanelSystem
        One in free air; one for each angle near the ground.
    """

    elements: tuple[np.ndarray, ...]
    alpha_deg: np.ndarray
    ground_height: float | None
    gamma: np.ndarray
    cp: np.ndarray
    cl: np.ndarray
    cd: np.ndarray
    cm: np.ndarray
    circulation: np.ndarray
    systems: tuple[PanelSystem, ...]


def solve(
    elements: Sequence[np.ndarray], alpha_deg: np.ndarray | float, ground_height: float | None = None
) -> InviscidFlow:
    """Solve the potential flow about one or several sections.

    In free air all angles share one factorisation: the answer is linear in the cosine and sine of the angle.
    Near the ground the section turns against the ground and is lifted to keep the clearance of its lowest
    point, so each angle is a geometry, and a factorisation, of its own.

    Parameters
    ----------
    elements : sequence of ndarray, each shape (n_i, 2)
        Outlines in one frame, lifting up, unit common chord: tail, upper side, nose, lower side, tail.
    alpha_deg : ndarray, shape (m,), or float
        Angles of attack [deg], any order.
    ground_height : float, optional
        Lowest point of the sections turned over and set at the angle, above the ground, over the chord.

    Raises
    ------
    RangeError
        Degenerate outline or a clearance that is not positive.

    Examples
    --------
    A circle of diameter 1 with the Kutta condition at its rearmost point has cl = 4 pi sin(alpha).

    >>> turn = np.linspace(0, 2 * np.pi, 201)
    >>> circle = np.column_stack([0.5 + 0.5 * np.cos(turn), 0.5 * np.sin(turn)])
    >>> flow = solve([circle], [5.0])
    >>> round(float(flow.cl[0, 0] / (4 * np.pi * np.sin(np.radians(5.0)))), 3)
    1.0
    """
    outlines = tuple(np.asarray(element, dtype=float) for element in elements)
    placed = as_nodes(outlines)
    alpha_deg = np.atleast_1d(np.asarray(alpha_deg, dtype=float))
    if ground_height is None:
        systems: tuple[PanelSystem, ...] = (factored(placed),)
        gamma = free_air(systems[0], alpha_deg)
    else:
        systems = tuple(place(outlines, angle, ground_height)[0] for angle in alpha_deg)
        gamma = np.concatenate([free_air(system, np.zeros(1)) for system in systems])
    cl, cd, cm = forces(placed, systems[0], gamma, alpha_deg)
    return InviscidFlow(
        elements=outlines,
        alpha_deg=alpha_deg,
        ground_height=ground_height,
        gamma=gamma,
        cp=1 - gamma**2,
        cl=cl,
        cd=cd,
        cm=cm,
        circulation=circulation(systems[0], gamma),
        systems=systems,
    )


def place(
    elements: Sequence[np.ndarray], alpha_deg: float, ground_height: float | None = None
) -> tuple[PanelSystem, float]:
    """Sections in the frame in which they are solved, their factored system, and the stream's angle there.

    In free air the frame is that of the section and the system serves every angle. Near the ground the
    section is turned, the stream is along x (angle 0) and the system serves this angle only. `forces` takes
    the outlines as drawn and the angle of attack in both cases: node vorticity is the same in both frames.

    Parameters
    ----------
    elements : sequence of ndarray, each shape (n_i, 2)
    alpha_deg : float
        Angle of attack [deg].
    ground_height : float, optional
        As in `solve`.

    Returns
    -------
    system : PanelSystem
    stream_deg : float
        Angle of the stream in the frame of the system [deg].
    """
    placed = as_nodes(elements)
    if ground_height is None:
        return factored(placed), alpha_deg
    if not ground_height > 0:
        raise RangeError(f"ground height {ground_height:.6g} chord is not positive; raise the wing")
    turn = np.exp(-1j * np.radians(alpha_deg))
    turned = tuple(nodes * turn for nodes in placed)
    return factored(turned, max(_crest(nodes) for nodes in turned) + ground_height), 0.0


def as_nodes(outlines: Sequence[np.ndarray]) -> tuple[np.ndarray, ...]:
    """Outlines (n, 2) as complex nodes.

    Raises
    ------
    RangeError
        Fewer than 8 points, not finite, stored clockwise, or neighbours that coincide.
    """
    placed = []
    for outline in outlines:
        if outline.ndim != 2 or outline.shape[1] != 2 or len(outline) < 8 or not np.isfinite(outline).all():
            raise RangeError(f"outline {outline.shape}: need 8 or more finite points x, y; repanel it")
        nodes = outline[:, 0] + 1j * outline[:, 1]
        if (nodes.conj() * np.roll(nodes, -1)).imag.sum() <= 0:
            raise RangeError("the outline runs along the lower side first; reverse the order of its points")
        if np.abs(np.diff(nodes)).min() < LEAST_PANEL:
            raise RangeError("neighbouring points of the outline coincide; repanel it")
        placed.append(nodes)
    return tuple(placed)


def free_air(system: PanelSystem, alpha_deg: np.ndarray) -> np.ndarray:
    """Node vorticity (m, N) for streams at these angles [deg]."""
    nodes = system.nodes
    gamma = system.solve(np.column_stack([-nodes.imag, nodes.real]))
    turn = np.radians(alpha_deg)
    both = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return both @ gamma.T


def _crest(nodes: np.ndarray) -> float:
    """Highest point of the outline: top of the parabola through the highest node and its neighbours."""
    top = int(np.argmax(nodes.imag))
    if not 0 < top < len(nodes) - 1:
        return float(nodes[top].imag)
    before, here, after = nodes[top - 1 : top + 2]
    left, right = abs(here - before), abs(after - here)
    rise, fall = (here - before).imag / left, (after - here).imag / right
    curve = (fall - rise) / (left + right)
    slope = (rise * right + fall * left) / (left + right)
    return float(here.imag) if curve >= 0 else float(here.imag - slope**2 / (4 * curve))


def forces(
    elements: tuple[np.ndarray, ...], system: PanelSystem, gamma: np.ndarray, alpha_deg: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """cl, cd and cm, each shape (m, elements), from the pressure on the panels.

    The speed runs linearly along a panel and the pressure as its square: both integrals below are exact. On
    the base of a blunt tail the pressure is that of the tail's speed.
    """
    wind = np.exp(-1j * np.radians(alpha_deg))
    parts = []
    for nodes, own in zip(elements, system.rows, strict=True):
        speed = gamma[:, own].T
        base = tail_speed(speed)
        line = np.append(nodes, nodes[0])
        start = np.vstack([speed[:-1], base])
        end = np.vstack([speed[1:], base])
        step = np.diff(line)[:, None]
        mean = 1 - (start**2 + start * end + end**2) / 3
        late = 0.5 - (start**2 + 2 * start * end + 3 * end**2) / 12
        force = (1j * mean * step).sum(axis=0) * wind
        arm = (line[:-1, None] - QUARTER_CHORD).conj()
        turning = (step * (arm * mean + step.conj() * late)).real.sum(axis=0)
        parts.append((2 * force.imag / 2, 2 * force.real / 2, -turning))
    cl, cd, cm = (np.stack(part, axis=1) for part in zip(*parts, strict=True))
    return cl, cd, cm


def circulation(system: PanelSystem, gamma: np.ndarray) -> np.ndarray:
    """2 Gamma / (U c) of each element, shape (m, elements), the closing panel included."""
    parts = []
    for nodes, tail, own in zip(system.elements, system.closing, system.rows, strict=True):
        speed = gamma[:, own].T
        along = (np.abs(np.diff(nodes))[:, None] * (speed[1:] + speed[:-1]) / 2).sum(axis=0)
        parts.append(2 * (along + tail.vortex * abs(tail.end - tail.start) * tail_speed(speed)))
    return np.stack(parts, axis=1)
