"""Boundary layer of a section's surface and wake, from arc length and edge speed alone."""

from wingtool.boundary_layer.march import Layer, solve_layer

__all__ = ["Layer", "solve_layer"]
