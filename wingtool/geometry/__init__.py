"""Section shapes: the value object, coordinate files, families by formula, measures, spacing."""

from wingtool.geometry.shape import Section

__all__ = ["Section"]
