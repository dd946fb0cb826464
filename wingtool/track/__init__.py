"""Logs and circuits read; the lap estimated; an estimate held against a log."""

from wingtool.track.circuit import Circuit, Segment, circuit_from_lap, circuit_from_segments
from wingtool.track.compare import BestAngle, LapDifference, PartGain, best_angle, lap_difference
from wingtool.track.lap import Lap, lap
from wingtool.track.oil import OIL_CAUTION, CornerHold, Sustained, corner_holds, oil_warning, sustained

__all__ = [
    "OIL_CAUTION",
    "BestAngle",
    "Circuit",
    "CornerHold",
    "Lap",
    "LapDifference",
    "PartGain",
    "Segment",
    "Sustained",
    "best_angle",
    "circuit_from_lap",
    "circuit_from_segments",
    "corner_holds",
    "lap",
    "lap_difference",
    "oil_warning",
    "sustained",
]
