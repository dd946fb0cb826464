"""Velocity around solved sections, for streamlines and pictures."""

import numpy as np

from wingtool.panels.flow import InviscidFlow
from wingtool.panels.response import velocity


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
