"""Section coefficients: panels and boundary layer solved together, polars, the learned surrogate."""

from wingtool.section.entry import polar
from wingtool.section.polar import SectionPolar

__all__ = ["polar", "SectionPolar"]
