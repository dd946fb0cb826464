"""Potential flow about sections: influence kernels, one factorisation for all angles, ground by image."""

from wingtool.panels.bluff import BluffFlow, bluff_flow
from wingtool.panels.field import stream_at, velocity_at
from wingtool.panels.flow import InviscidFlow, as_nodes, circulation, forces, free_air, place, solve
from wingtool.panels.response import (
    EdgeResponse,
    edge_response,
    part_of_response,
    surface_response,
    velocity,
    wake_lines,
)
from wingtool.panels.system import PanelSystem, factored
from wingtool.panels.tab import EDGE, FRONT_DRAG, tab_mode

__all__ = [
    "BluffFlow",
    "EDGE",
    "FRONT_DRAG",
    "EdgeResponse",
    "InviscidFlow",
    "PanelSystem",
    "as_nodes",
    "bluff_flow",
    "circulation",
    "edge_response",
    "factored",
    "forces",
    "free_air",
    "part_of_response",
    "place",
    "solve",
    "stream_at",
    "surface_response",
    "tab_mode",
    "velocity",
    "velocity_at",
    "wake_lines",
]
