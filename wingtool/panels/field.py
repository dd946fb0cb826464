"""Velocity around solved sections, for streamlines and pictures."""

import numpy as np

from wingtool.panels.flow import InviscidFlow
from wingtool.panels.response import velocity
from wingtool.panels.system import PanelSystem


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


def _frame(flow: InviscidFlow, alpha_index: int) -> tuple[PanelSystem, complex, float]:
    """The system, the factor that turns points into its frame, and the stream's angle there [deg]."""
    alpha_deg = float(flow.alpha_deg[alpha_index])
    if flow.ground_height is None:
        return flow.systems[0], 1.0, alpha_deg
    return flow.systems[alpha_index], complex(np.exp(-1j * np.radians(alpha_deg))), 0.0


def _complex(points: np.ndarray) -> np.ndarray:
    points = np.asarray(points, dtype=float)
    return points[:, 0] + 1j * points[:, 1]
