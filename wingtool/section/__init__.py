"""Section coefficients: panels and boundary layer solved together, polars, the learned surrogate."""

from typing import TYPE_CHECKING

from wingtool.lazy import front_door
from wingtool.section.cache import cached_rows, read_row, row_key, write_row
from wingtool.section.curves import bilinear, circulation_at, stall_between
from wingtool.section.extension import ExtendedPolar, extended
from wingtool.section.methods import (
    DEFAULT_METHOD,
    METHODS,
    SOLVED,
    TAB_REACH_DEG,
    missing_rows,
    polar,
    polars,
)
from wingtool.section.polar import (
    BEYOND_STALL,
    CONVERGED,
    LOW_CONFIDENCE,
    NOT_CONVERGED,
    TWO_SOLUTIONS,
    Question,
    SectionPolar,
    polar_from_arrays,
)
from wingtool.section.surface import SURFACES, surface_state, trip_of
from wingtool.section.surrogate.shapes import surrogate_shapes

if TYPE_CHECKING:
    from wingtool.section.figures import DRAG_AT_CL, FIGURES, LIFT_AT_DEG, CurveFigures, curve_figures
    from wingtool.section.inviscid import inviscid_polar
    from wingtool.section.multi import Flap, elements_polar, place_elements
    from wingtool.section.record import record_fit, thickness_camber, with_record
    from wingtool.section.roof import RoofFlow, roof_flow
    from wingtool.section.surrogate.polar import surrogate_polar
    from wingtool.section.tab import TAB_LIFT_BAND, with_tab

__getattr__ = front_door(__name__)
