"""Potential flow about sections: influence kernels, one factorisation for all angles, ground by image."""

from wingtool.panels.bluff import bluff_flow
from wingtool.panels.flow import InviscidFlow, as_nodes, circulation, forces, free_air, place, solve
from wingtool.panels.response import (
    EdgeResponse,
    edge_response,
    part_of_response,
    surface_response,
    velocity_at,
    wake_lines,
)
from wingtool.panels.system import PanelSystem
from wingtool.panels.tab import EDGE, FRONT_DRAG, tab_mode
