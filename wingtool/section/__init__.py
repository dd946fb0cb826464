"""Section coefficients: panels and boundary layer solved together, polars, the learned surrogate."""

from wingtool.section.polar import SectionPolar

__all__ = ["SectionPolar"]
