"""Results as tables, pictures, pages and lessons."""

from wingtool.report.names import NAMES, names_as_markdown, table_of
from wingtool.report.section_table import section_table
from wingtool.report.tables import Column, Table, check_table_path, write_table, write_tables
from wingtool.report.wing_table import span_table, wing_table

__all__ = [
    "NAMES",
    "Column",
    "Table",
    "check_table_path",
    "names_as_markdown",
    "section_table",
    "span_table",
    "table_of",
    "wing_table",
    "write_table",
    "write_tables",
]
