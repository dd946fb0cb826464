"""A study file read, checked and run; one function for each command."""

from wingtool.study.advice import Advice, Force, advise, three_of
from wingtool.study.ahead import compute_ahead
from wingtool.study.bundled import bundled_study
from wingtool.study.car import CarResult, car_result
from wingtool.study.car_lap import LapAnswer
from wingtool.study.cautions import BESIDE_FORCES
from wingtool.study.compare import Comparison, compare_studies, speed_from_text
from wingtool.study.correction import Correction, write_corrected
from wingtool.study.inspect import Inspection, inspect_section, write_coordinates
from wingtool.study.lesson import Lesson, lesson_topics, lessons
from wingtool.study.match import MatchResult, match_section
from wingtool.study.parallel import Progress, SweepGrid, sweep_grid
from wingtool.study.read import checked_study, read_study, study_schema
from wingtool.study.result import StudyResult
from wingtool.study.run import of_sections, run_study
from wingtool.study.second import apart, second_polar
from wingtool.study.sweep import DEFAULT_METHOD, section_of, sweep_section
from wingtool.study.tab_choice import TabChoice, tab_choice
from wingtool.study.trace import TraceRequest, TraceResult, length_mm, trace_wing
from wingtool.study.trace_study import TracedAnswer
from wingtool.study.trace_update import ForceReading, Update, check_trace, force_reading
from wingtool.study.trust import Check, Trust, run_trust
from wingtool.study.verify import Verification, verify_study
from wingtool.study.wing import wing_of_study
from wingtool.study.wing_place import WingPlaces, wing_places

__all__ = [
    "Advice",
    "TabChoice",
    "WingPlaces",
    "BESIDE_FORCES",
    "of_sections",
    "tab_choice",
    "wing_places",
    "CarResult",
    "Check",
    "Trust",
    "run_trust",
    "Comparison",
    "Correction",
    "compare_studies",
    "speed_from_text",
    "car_result",
    "DEFAULT_METHOD",
    "apart",
    "Force",
    "ForceReading",
    "MatchResult",
    "TraceRequest",
    "TracedAnswer",
    "TraceResult",
    "Update",
    "check_trace",
    "force_reading",
    "length_mm",
    "match_section",
    "trace_wing",
    "LapAnswer",
    "Inspection",
    "Lesson",
    "lesson_topics",
    "lessons",
    "Progress",
    "StudyResult",
    "Verification",
    "SweepGrid",
    "advise",
    "bundled_study",
    "checked_study",
    "compute_ahead",
    "inspect_section",
    "read_study",
    "run_study",
    "section_of",
    "study_schema",
    "sweep_grid",
    "second_polar",
    "sweep_section",
    "three_of",
    "verify_study",
    "wing_of_study",
    "write_corrected",
    "write_coordinates",
]
