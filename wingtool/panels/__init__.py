"""Potential flow about sections: influence kernels, one factorisation for all angles, ground by image."""

from wingtool.panels.flow import InviscidFlow, solve

__all__ = ["InviscidFlow", "solve"]
