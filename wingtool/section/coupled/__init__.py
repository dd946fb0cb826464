"""Panels and boundary layer of one section solved together, and the march over angles."""

from typing import TYPE_CHECKING

from wingtool.lazy import front_door

if TYPE_CHECKING:
    from wingtool.section.coupled.flow import flow_at, point, prepare, solve_flow, wake_drag
    from wingtool.section.coupled.march import Row, differ, plausible, sweep, sweeps
    from wingtool.section.coupled.polar import columns, coupled_polars, missing_rows

__getattr__ = front_door(__name__)
