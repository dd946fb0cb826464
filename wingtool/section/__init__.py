"""Section coefficients: panels and boundary layer solved together, polars, the learned surrogate."""

from wingtool.section.entry import DEFAULT_METHOD, METHODS, polar
from wingtool.section.polar import SectionPolar

__all__ = ["DEFAULT_METHOD", "METHODS", "polar", "SectionPolar"]
