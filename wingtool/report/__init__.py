"""Results as tables, pictures, pages and lessons."""

from typing import TYPE_CHECKING

from wingtool.lazy import front_door

if TYPE_CHECKING:
    from wingtool.files import writable_folder
    from wingtool.report.answer import answer_lines, full_lines
    from wingtool.report.checks.compare import comparison_lines, comparison_table
    from wingtool.report.checks.record import record_screen
    from wingtool.report.checks.sheets import SHEETS, sheet_lines
    from wingtool.report.checks.trust import trust_lines, trust_table, write_trust
    from wingtool.report.checks.verify import verify_lines, verify_table, write_verification
    from wingtool.report.choose.folder import write_choice, write_tolerances
    from wingtool.report.choose.text import (
        Sheet,
        choice_sheet,
        choice_table,
        tolerance_sheet,
        tolerance_table,
    )
    from wingtool.report.formats.table_files import check_table_path, write_folder, write_table
    from wingtool.report.inspect.write import inspection_lines, write_inspection, write_template
    from wingtool.report.lessons.write import write_lessons
    from wingtool.report.page.write import write_page
    from wingtool.report.plots.figure import plot
    from wingtool.report.plots.study import write_plots
    from wingtool.report.run_folder import check_folder, claim, settle
    from wingtool.report.tables.section import second_words, section_table
    from wingtool.report.tables.study import study_tables, write_tables, write_wing_sheet
    from wingtool.report.tables.table import NAMES, table_of
    from wingtool.report.tables.wing import wing_rows, wing_table
    from wingtool.report.trace.click import write_click_page
    from wingtool.report.trace.pictures import write_refusal_picture
    from wingtool.report.trace.sheets import write_sheet
    from wingtool.report.trace.span import span_files, span_lines, write_span
    from wingtool.report.trace.text import (
        match_lines,
        trace_files,
        trace_lines,
        update_lines,
        write_trace,
        write_update,
    )

__getattr__ = front_door(__name__)
