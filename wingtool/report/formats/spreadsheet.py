"""A table as a spreadsheet: names, units, rows, what each column means, and a chart."""

import io
import math
from datetime import datetime
from itertools import groupby
from pathlib import Path

from wingtool.files import FIRST_ZIP_DATE, write_whole
from wingtool.report.tables.table import Table

FIRST_ROW = 2  # from 0; names stand in row 0, units in row 1
# No file beside its own, which a kill would leave behind; text is text, never a formula or a link.
HOW = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}


def write_sheet(table: Table, path: Path | str) -> Path:
    """Write a `Table` as .xlsx; returns the path. The same table gives the same bytes, whatever the clock.

    A missing number is an empty cell; its row's status says why. Text is written as text, never as a formula.
    A table with a grid has a chart: downforce or lift, else the first column with numbers that is no axis,
    along the last axis, one line for each value of the axis before it.
    """
    from xlsxwriter import Workbook

    data = io.BytesIO()
    with Workbook(data, HOW) as book:
        book.set_properties({"created": datetime(*FIRST_ZIP_DATE)})
        sheet = book.add_worksheet(table.name[:31])
        names = [column.name for column in table.columns]
        _fill(sheet, [names, [column.unit for column in table.columns], *table.rows])
        for row, font in enumerate(("bold", "italic")):
            sheet.set_row(row, None, book.add_format({font: True}))
        sheet.freeze_panes(FIRST_ROW, 0)
        _meanings(book, table)
        if table.grid:
            _chart(book, sheet.name, table)
    return write_whole(path, data.getvalue())


def _fill(sheet, rows) -> None:
    for number, row in enumerate(rows):
        values = [None if isinstance(v, float) and not math.isfinite(v) else v for v in row]
        sheet.write_row(number, 0, values)


def _meanings(book, table: Table) -> None:
    """A second sheet: what each column means, its bounds, and the facts about the table."""
    sheet = book.add_worksheet("columns")
    columns = [[c.name, c.unit, c.description, c.minimum, c.maximum] for c in table.columns]
    facts = [[fact, "", str(value)] for fact, value in table.facts.items()]
    _fill(sheet, [["column", "unit", "meaning", "lowest", "highest"], *columns, *facts])
    for letter, width in (("A", 24), ("C", 90)):
        sheet.set_column(f"{letter}:{letter}", width)


def _chart(book, sheet: str, table: Table) -> None:
    names = [c.name for c in table.columns]
    numbers = {c.name for c in table.columns if c.type == "number"} - set(table.grid)
    column = next(name for name in ("downforce_n", "cl", *names) if name in numbers)
    picture = book.add_chart({"type": "scatter", "subtype": "straight_with_markers"})
    picture.set_size({"width": 900, "height": 530})
    picture.set_title({"name": column})
    picture.set_x_axis({"name": table.grid[-1]})
    picture.set_y_axis({"name": column})
    x, y = names.index(table.grid[-1]), names.index(column)
    for label, first, last in _lines(table):
        places = {"categories": [sheet, first, x, last, x], "values": [sheet, first, y, last, y]}
        picture.add_series({"name": label} | places)
    book.add_worksheet("chart").insert_chart("A1", picture)


def _lines(table: Table) -> list[tuple[str, int, int]]:
    """Label, first and last row of each run of rows that share all axes but the last."""
    outer = [table.column(axis) for axis in table.grid[:-1]]
    found = []
    for place, run in groupby(range(len(table.rows)), lambda row: [values[row] for values in outer]):
        rows = [FIRST_ROW + row for row in run]
        label = ", ".join(f"{a} {v:.4g}" for a, v in zip(table.grid, place, strict=False)) or table.name
        found.append((label, rows[0], rows[-1]))
    return found
