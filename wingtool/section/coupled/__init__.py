"""Panels and boundary layer of one section solved together, and the march over angles."""

from wingtool.section.coupled.flow import Flow, Point, Prepared, flow_at, point, prepare, solve_flow
from wingtool.section.coupled.march import Sweep, differ, plausible, sweep
from wingtool.section.coupled.polar import columns, coupled_polar

__all__ = [
    "Flow",
    "Point",
    "Prepared",
    "Sweep",
    "columns",
    "coupled_polar",
    "differ",
    "flow_at",
    "plausible",
    "point",
    "prepare",
    "solve_flow",
    "sweep",
]
