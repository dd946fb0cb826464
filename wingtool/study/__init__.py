"""A study file read, checked and run; one function for each command."""

from typing import TYPE_CHECKING

from wingtool.lazy import front_door

if TYPE_CHECKING:
    from wingtool.study.advice import (
        OVERSTEER_POINTS,
        RAISE_BY_DEG,
        SOUND,
        STALL_MARGIN_DEG,
        UNKNOWN_ROOF_DEG,
        Advice,
        advise,
        end_deg,
        kept_margin_deg,
        least_left,
        off_for_roof_deg,
    )
    from wingtool.study.begin.questions import TEMPLATES as BEGIN_TEMPLATES
    from wingtool.study.begin.questions import (
        UnusualAnswer,
        answers_text,
        checked_answer,
        default_of,
        doubtful_answers,
        questions_of,
    )
    from wingtool.study.begin.write import (
        answers_given,
        answers_in,
        changed_text,
        check_answers,
        study_text,
        usual_taken,
        write_study,
    )
    from wingtool.study.car.lap import LapAnswer
    from wingtool.study.car.parts import INSTALLED_DRAG, INSTALLED_ORIGIN, drag_measured_on_car
    from wingtool.study.car.result import CarResult, car_result
    from wingtool.study.cautions import BESIDE_FORCES, CAUTIONS
    from wingtool.study.choose.choose_section import Choice, choose_section
    from wingtool.study.choose.design import Design
    from wingtool.study.choose.filters import filters_for
    from wingtool.study.choose.finalists import Finalist
    from wingtool.study.choose.terms import request_from_flags
    from wingtool.study.choose.tolerances import Tolerances, tolerances
    from wingtool.study.compare import (
        OTHER_CIRCUIT,
        Comparison,
        compare_studies,
        speed_from_text,
        target_from_text,
    )
    from wingtool.study.lessons.lesson import Lesson
    from wingtool.study.lessons.topics import LESSONS, run_lessons
    from wingtool.study.page_loads import axle_areas, axle_loads_at, wing_loads_at
    from wingtool.study.precompute import compute_ahead
    from wingtool.study.result import StudyResult
    from wingtool.study.schema.body_shapes import body_outline_m
    from wingtool.study.schema.read import bundled_study, checked_study, key_lines, read_study, study_schema
    from wingtool.study.section.inspect import Inspection, inspect_section, write_coordinates
    from wingtool.study.section.match import MatchResult, match_section
    from wingtool.study.section.parallel import sweep_grid
    from wingtool.study.section.sweep import (
        DEFAULT_METHOD,
        angles_asked,
        outside_band,
        second_polar,
        sweep_section,
    )
    from wingtool.study.trace.along import MeasuredSpan, measure_span
    from wingtool.study.trace.measure import TraceRequest, length_mm
    from wingtool.study.trace.rank import Ranking, TracedAnswer
    from wingtool.study.trace.run import TraceResult, trace_wing
    from wingtool.study.trace.update import ForceReading, Update, check_trace, force_reading
    from wingtool.study.trust.cases import REMARKS
    from wingtool.study.trust.check import Check
    from wingtool.study.trust.record import (
        LEFT_OUT,
        QUANTITIES,
        WING_REYNOLDS,
        RecordTable,
        mean_and_rms,
        regimes,
        shape_groups,
    )
    from wingtool.study.trust.record import METHODS as RECORD_METHODS
    from wingtool.study.trust.run import Trust, run_trust
    from wingtool.study.verify.correction import write_corrected
    from wingtool.study.verify.verification import Verification, verify_study
    from wingtool.study.whole_study import (
        of_sections,
        roof_band_deg,
        run_study,
        section_unknown,
        wing_at_asked_angles,
    )
    from wingtool.study.wing.finite_wing import wing_of_study
    from wingtool.study.wing.gauge import top_face
    from wingtool.study.wing.positions import WingPlaces
    from wingtool.study.wing.tabs import TabChoice

__getattr__ = front_door(__name__)
