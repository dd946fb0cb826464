"""Boundary layer of a section's surface and wake, from arc length and edge speed alone."""

from wingtool.boundary_layer.amplification import critical_amplification
from wingtool.boundary_layer.cells import (
    Stations,
    laminar_terms,
    partly_turbulent,
    surface_balance,
    turbulent_terms,
    wall_friction,
)
from wingtool.boundary_layer.dual import Dual
from wingtool.boundary_layer.laminar import STAGNATION_H, STAGNATION_THETA
from wingtool.boundary_layer.transition import (
    amplification_rate,
    intermittency,
    starting_shear,
)
