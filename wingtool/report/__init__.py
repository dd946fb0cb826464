"""Results as tables, pictures, pages and lessons."""

from wingtool.report.answer import answer_lines
from wingtool.report.lesson import write_lessons
from wingtool.report.names import NAMES, names_as_markdown, table_of
from wingtool.report.page import write_page
from wingtool.report.plots import write_plots
from wingtool.report.section_table import section_table
from wingtool.report.study_tables import study_tables, write_tables
from wingtool.report.tables import Column, Table, check_table_path, write_folder, write_table
from wingtool.report.wing_table import span_table, wing_table

__all__ = [
    "NAMES",
    "Column",
    "Table",
    "answer_lines",
    "check_table_path",
    "names_as_markdown",
    "section_table",
    "span_table",
    "study_tables",
    "table_of",
    "wing_table",
    "write_folder",
    "write_lessons",
    "write_page",
    "write_plots",
    "write_table",
    "write_tables",
]
