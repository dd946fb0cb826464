"""Velocity and stream function around solved sections, for streamlines and pictures."""

import numpy as np

from wingtool.panels.flow import InviscidFlow
from wingtool.panels.kernels import TWO_PI, vortex_stream
from wingtool.panels.response import velocity
from wingtool.panels.system import CloseTail, PanelSystem, mirrored, tail_speed


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
    system, turn, stream_deg = _frame(flow, alpha_index)
    w = velocity(system, _complex(points) * turn, flow.gamma[alpha_index], stream_deg)
    back = w.conj() / turn
    return np.column_stack([back.real, back.imag])


def stream_at(flow: InviscidFlow, points: np.ndarray, alpha_index: int = 0) -> np.ndarray:
    """Stream function at points (p, 2), shape (p,): its contours are streamlines.

    The flow out of a blunt tail makes it jump along the tail's bisector downstream, by the tail gap.
    """
    system, turn, stream_deg = _frame(flow, alpha_index)
    at = _complex(points) * turn
    psi = (at * np.exp(-1j * np.radians(stream_deg))).imag
    for own, (nodes, tail) in enumerate(zip(system.elements, system.closing, strict=True)):
        speed = flow.gamma[alpha_index, system.first[own] : system.first[own + 1]]
        psi += _element_stream(at, nodes, tail, speed)
        if np.isfinite(system.ceiling):
            psi -= _element_stream(mirrored(at, system.ceiling), nodes, tail, speed)
    return psi


def _element_stream(at: np.ndarray, nodes: np.ndarray, tail: CloseTail, speed: np.ndarray) -> np.ndarray:
    psi = vortex_stream(at, nodes) @ speed
    if tail.start != tail.end:
        gap = np.array([tail.start, tail.end])
        out = np.angle((at - gap.mean()) / -tail.bisector)
        psi += tail_speed(speed) * tail.vortex * vortex_stream(at, gap).sum(axis=1)
        psi += tail_speed(speed) * tail.source * abs(gap[1] - gap[0]) * out / TWO_PI
    return psi


def _frame(flow: InviscidFlow, alpha_index: int) -> tuple[PanelSystem, complex, float]:
    """The system, the factor that turns points into its frame, and the stream's angle there [deg]."""
    alpha_deg = float(flow.alpha_deg[alpha_index])
    if flow.ground_height is None:
        return flow.systems[0], 1.0, alpha_deg
    return flow.systems[alpha_index], complex(np.exp(-1j * np.radians(alpha_deg))), 0.0


def _complex(points: np.ndarray) -> np.ndarray:
    points = np.asarray(points, dtype=float)
    return points[:, 0] + 1j * points[:, 1]
