"""Section coefficients: panels and boundary layer solved together, polars, the learned surrogate."""

from wingtool.section.curves import circulation_at
from wingtool.section.entry import DEFAULT_METHOD, METHODS, polar
from wingtool.section.extension import ExtendedPolar, extended
from wingtool.section.polar import (
    BEYOND_STALL,
    CONVERGED,
    LOW_CONFIDENCE,
    NOT_CONVERGED,
    TWO_SOLUTIONS,
    SectionPolar,
    polar_from_arrays,
)
from wingtool.section.surrogate import surrogate_polar

__all__ = [
    "circulation_at",
    "DEFAULT_METHOD",
    "METHODS",
    "polar",
    "SectionPolar",
    "ExtendedPolar",
    "extended",
    "polar_from_arrays",
    "surrogate_polar",
    "BEYOND_STALL",
    "CONVERGED",
    "LOW_CONFIDENCE",
    "NOT_CONVERGED",
    "TWO_SOLUTIONS",
]
