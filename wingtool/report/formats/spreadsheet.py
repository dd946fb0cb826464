"""A table as a spreadsheet: names, units, rows, what each column means, and a chart."""

import io
import math
from datetime import datetime
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

    def write(self, path, name=None, *_args, **_kinds):  # type: ignore[override]
        self.writestr(str(name or path).lstrip("/"), Path(path).read_bytes())


def write_sheet(table: Table, path: Path | str, chart: str | None = None) -> Path:
    """Write a `Table` as .xlsx; returns the path.

    A missing number is an empty cell; its row's status says why. Text is written as text, never as a formula.

    Parameters
    ----------
    chart : str, optional
        Column to draw along the last axis of the grid, one line for each value of the axis before it; without
        it the first column with numbers that is no axis. A table without a grid has no chart.
    """
    from openpyxl import Workbook
    from openpyxl.styles import Font
    from openpyxl.writer.excel import ExcelWriter

    book = Workbook()
    sheet = book.active
    sheet.title = table.name[:31]
    names = [column.name for column in table.columns]
    _append(sheet, names)
    _append(sheet, [column.unit or "" for column in table.columns])
    for row in table.rows:
        _append(sheet, row)
    for number in (1, 2):
        for cell in sheet[number]:
            cell.font = Font(bold=number == 1, italic=number == 2)
    sheet.freeze_panes = sheet.cell(FIRST_ROW, 1)
    _meanings(book, table)
    if table.grid:
        _chart(book, sheet, table, chart or _first_value(table))
    book.properties.created = book.properties.modified = datetime(*FIRST_ZIP_DATE)
    data = io.BytesIO()
    with _Undated(data, "w", ZIP_DEFLATED) as archive:
        ExcelWriter(book, archive).save()
    return write_whole(path, data.getvalue())


def _append(sheet, values) -> None:
    row = sheet.max_row + (sheet.max_row > 1 or sheet.cell(1, 1).value is not None)
    for k, value in enumerate(values, 1):
        if value is None or isinstance(value, float) and not math.isfinite(value):
            continue
        text = isinstance(value, str)
        cell = sheet.cell(row, k, str(value) if text else float(value))
        if text:
            cell.data_type = "s"


def _meanings(book, table: Table) -> None:
    sheet = book.create_sheet("columns")
    _append(sheet, ["column", "unit", "meaning", "lowest", "highest"])
    for c in table.columns:
        _append(sheet, [c.name, c.unit or "", c.description or "", c.minimum, c.maximum])
    for fact, value in table.facts.items():
        _append(sheet, [fact, "", str(value)])
    for letter, width in (("A", 24), ("C", 90)):
        sheet.column_dimensions[letter].width = width


def _first_value(table: Table) -> str:
    named = {c.name for c in table.columns if c.type == "number"} - set(table.grid)
    favourites = [name for name in ("downforce_n", "cl") if name in named]
    return [*favourites, *(c.name for c in table.columns if c.name in named)][0]


def _chart(book, sheet, table: Table, column: str) -> None:
    from openpyxl.chart import Reference, ScatterChart, Series

    names = [c.name for c in table.columns]
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
    outer = list(zip(*(table.column(axis) for axis in table.grid[:-1]), strict=True))
    outer = outer or [()] * len(table.rows)
    found: list[tuple[str, int, int]] = []
    for number, place in enumerate(outer, FIRST_ROW):
        label = ", ".join(f"{a} {v:.4g}" for a, v in zip(table.grid, place, strict=False)) or table.name
        first = found.pop()[1] if found and found[-1][0] == label else number
        found.append((label, first, number))
    return found
