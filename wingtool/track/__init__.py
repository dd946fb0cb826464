"""Logs and circuits read; the lap estimated; an estimate held against a log."""

from typing import TYPE_CHECKING

from wingtool.lazy import front_door
from wingtool.track.circuit import Circuit, Segment, circuit_from_segments
from wingtool.track.compare import FLAT_S, BestAngle, LapDifference, best_angle, lap_difference
from wingtool.track.lap import Lap, lap, laps
from wingtool.track.oil import OIL_CAUTION, Sustained, SustainedCorner, corner_holds, oil_warning, sustained

if TYPE_CHECKING:
    from wingtool.track.coast import CoastTest, coast_down, coasts_of
    from wingtool.track.evidence import (
        CONSISTENT,
        NOT_CONSISTENT,
        TOO_NOISY,
        Evidence,
        change_with_drift,
        judged,
        more_units,
        student_t,
    )
    from wingtool.track.log import Log, circuit_from_log, distance_m, lateral_m_s2, smooth, stretches
    from wingtool.track.reading import read_log
    from wingtool.track.runs import TestRun, runs_of
    from wingtool.track.steady import (
        BARE_LIFT,
        bare_lift_test,
        cell_test,
        corner_test,
        steady_units,
        suspension_test,
    )

__getattr__ = front_door(__name__)
