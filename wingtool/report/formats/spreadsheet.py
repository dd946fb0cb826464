"""A table as a spreadsheet: names, units, rows, what each column means, and a chart."""

import io
import math
from datetime import datetime
from itertools import groupby
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from wingtool.files import FIRST_ZIP_DATE, write_whole
from wingtool.report.tables.table import Table

FIRST_ROW = 3  # names stand in row 1, units in row 2


class _Undated(ZipFile):
    """An archive without the time of writing: the same table, the same bytes, whatever the clock says."""

    def writestr(self, name, data, *args, **kinds):  # type: ignore[override]
        if not isinstance(name, ZipInfo):
            name = ZipInfo(name, FIRST_ZIP_DATE)
            name.compress_type = self.compression
        super().writestr(name, data, *args, **kinds)


def write_sheet(table: Table, path: Path | str) -> Path:
    """Write a `Table` as .xlsx; returns the path.

    A missing number is an empty cell; its row's status says why. Text is written as text, never as a formula.
    A table with a grid has a chart: downforce or lift, else the first column with numbers that is no axis,
    along the last axis, one line for each value of the axis before it.
    """
    from openpyxl import Workbook
    from openpyxl.styles import Font

    book = Workbook()
    sheet = book.active
    sheet.title = table.name[:31]
    names = [column.name for column in table.columns]
    _fill(sheet, [names, [column.unit or "" for column in table.columns], *table.rows])
    for number in (1, 2):
        for cell in sheet[number]:
            cell.font = Font(bold=number == 1, italic=number == 2)
    sheet.freeze_panes = sheet.cell(FIRST_ROW, 1)
    _meanings(book, table)
    if table.grid:
        _chart(book, sheet, table)
    book.properties.created = book.properties.modified = datetime(*FIRST_ZIP_DATE)
    data = io.BytesIO()
    with _Undated(data, "w", ZIP_DEFLATED) as archive:
        _in_memory(book, archive).save()
    return write_whole(path, data.getvalue())


def _in_memory(book, archive: ZipFile):
    """openpyxl's writer without its temporary file for each sheet, which a kill would leave behind."""
    from openpyxl.drawing.spreadsheet_drawing import SpreadsheetDrawing
    from openpyxl.worksheet._writer import WorksheetWriter
    from openpyxl.writer.excel import ExcelWriter

    class InMemory(ExcelWriter):
        def write_worksheet(self, sheet) -> None:
            sheet._drawing = SpreadsheetDrawing()
            sheet._drawing.charts = sheet._charts
            writer = WorksheetWriter(sheet, io.BytesIO())
            writer.write()
            sheet._rels = writer._rels
            archive.writestr(sheet.path[1:], writer.out.getvalue())
            self.manifest.append(sheet)

    return InMemory(book, archive)


def _fill(sheet, rows) -> None:
    for row in rows:
        sheet.append([None if isinstance(v, float) and not math.isfinite(v) else v for v in row])
    for row in sheet.iter_rows():
        for cell in row:
            if isinstance(cell.value, str):
                cell.data_type = "s"


def _meanings(book, table: Table) -> None:
    sheet = book.create_sheet("columns")
    columns = [[c.name, c.unit or "", c.description or "", c.minimum, c.maximum] for c in table.columns]
    facts = [[fact, "", str(value)] for fact, value in table.facts.items()]
    _fill(sheet, [["column", "unit", "meaning", "lowest", "highest"], *columns, *facts])
    for letter, width in (("A", 24), ("C", 90)):
        sheet.column_dimensions[letter].width = width


def _chart(book, sheet, table: Table) -> None:
    from openpyxl.chart import Reference, ScatterChart, Series

    names = [c.name for c in table.columns]
    numbers = {c.name for c in table.columns if c.type == "number"} - set(table.grid)
    column = next(name for name in ("downforce_n", "cl", *names) if name in numbers)
    picture = ScatterChart()
    picture.style, picture.width, picture.height = 13, 24, 14
    picture.title = column
    picture.x_axis.title, picture.y_axis.title = table.grid[-1], column
    picture.x_axis.delete = picture.y_axis.delete = False
    x, y = names.index(table.grid[-1]) + 1, names.index(column) + 1
    for label, first, last in _lines(table):
        along = Reference(sheet, min_col=x, min_row=first, max_row=last)
        line = Series(Reference(sheet, min_col=y, min_row=first, max_row=last), along, title=label)
        picture.series.append(line)
    book.create_sheet("chart").add_chart(picture, "A1")


def _lines(table: Table) -> list[tuple[str, int, int]]:
    """(label, first row, last row) of each run of rows in which only the last axis changes."""
    outer = [table.column(axis) for axis in table.grid[:-1]]
    found = []
    for place, run in groupby(range(len(table.rows)), lambda row: [values[row] for values in outer]):
        rows = [FIRST_ROW + row for row in run]
        label = ", ".join(f"{a} {v:.4g}" for a, v in zip(table.grid, place, strict=False)) or table.name
        found.append((label, rows[0], rows[-1]))
    return found
