"""Panels and boundary layer of one section solved together, and the march over angles."""

from wingtool.section.coupled.flow import flow_at, point, prepare, solve_flow, wake_drag
from wingtool.section.coupled.march import Row, differ, plausible, sweep, sweeps
from wingtool.section.coupled.polar import columns, coupled_polar, coupled_polars, missing_rows
