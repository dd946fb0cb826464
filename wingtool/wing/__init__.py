"""The finite wing: planform, endplates, lattice with ground image, roof inflow, coupling to section data."""

from wingtool.wing.ground import lowest_offset
from wingtool.wing.planes import Plane
from wingtool.wing.planform import INFLOW_COLUMNS, Endplate, Mount, RoofInflow, Station, Wing
from wingtool.wing.result import Force, WingPolar
from wingtool.wing.solve import solve_planes, solve_wing
from wingtool.wing.span_data import StationPolars
