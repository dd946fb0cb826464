"""Logs and circuits read; the lap estimated; an estimate held against a log."""

from wingtool.track.circuit import Circuit, Segment, circuit_from_lap, circuit_from_segments

__all__ = [
    "Circuit",
    "Segment",
    "circuit_from_lap",
    "circuit_from_segments",
]
