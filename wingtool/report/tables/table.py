"""A table for machines: defined once, written as CSV with a data package beside it, as JSON or as netCDF.

CSV after RFC 4180 in UTF-8; the data package after the Frictionless specification (Data Package, Tabular
Data Resource, Table Schema). What did not converge is ``NaN`` in CSV, declared there as the missing value,
and null in JSON; its row stays, and `status` says why.
The name, meaning, unit and positive direction of every column stand once in `columns.csv` beside this file;
`README.md` there prints them, and tests hold both to the tables that are written.
"""

import csv
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from wingtool.errors import OutputError


@dataclass(frozen=True)
class Column:
    """One column: what it is called, what it means, in which unit, and which direction is positive."""

    name: str
    description: str
    unit: str = "1"
    positive: str = ""
    type: str = "number"
    minimum: float | None = None
    maximum: float | None = None

    @property
    def meaning(self) -> str:
        """The description with the positive direction."""
        return self.description + (f"; positive {self.positive}" if self.positive else "")


@dataclass(frozen=True, eq=False)
class Table:
    """Rows with their columns, and the facts that hold for all rows.

    Parameters
    ----------
    name : str
        Lower-case name, also that of the file in a folder.
    title : str
        What the table shows.
    columns : tuple of Column
    rows : list of tuple
        One a point; numbers, text, or nan where there is no value.
    facts : mapping
        What holds for every row: reference area, moment point, air density, version, date.
    grid : tuple of str
        Columns that number the points, slowest first, and make the rows a full grid. Empty: a plain list.
    """

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: list[tuple[Any, ...]]
    facts: Mapping[str, Any] = field(default_factory=dict)
    grid: tuple[str, ...] = ()

    def column(self, name: str) -> list[Any]:
        """The values of one column."""
        index = [column.name for column in self.columns].index(name)
        return [row[index] for row in self.rows]

    def on_grid(self) -> tuple[dict[str, np.ndarray], np.ndarray, tuple[int, ...]]:
        """Breakpoints by axis, the order of the rows with the last axis fastest, and the shape of the grid.

        Raises
        ------
        OutputError
            The rows are no full grid.
        """
        axes = {name: np.unique(self.column(name), return_inverse=True) for name in self.grid}
        shape = tuple(len(points) for points, _ in axes.values())
        flat = np.ravel_multi_index([place for _, place in axes.values()], shape) if shape else np.array([])
        if not shape or len(flat) != np.prod(shape) or len(np.unique(flat)) != len(flat):
            raise OutputError(f"table {self.name!r} is no full grid; write it as CSV instead")
        return {name: points for name, (points, _) in axes.items()}, np.argsort(flat), shape


def plain(value: Any) -> Any:
    """A Python value of numpy's or Python's own; nan where there is none, or none that is finite."""
    if value is None:
        return math.nan
    if isinstance(value, (str, bool)):
        return str(value)
    if isinstance(value, (int, np.integer)):
        return int(value)
    return float(value) if math.isfinite(value) else math.nan


def _read_columns() -> dict[str, Column]:
    text = Path(__file__).with_name("columns.csv").read_text(encoding="utf-8")
    rows: list[dict[str, Any]] = list(csv.DictReader(text.splitlines()))
    for row in rows:
        row |= {end: json.loads(row[end] or "null") for end in ("minimum", "maximum")}
    return {row["name"]: Column(**row) for row in rows}


NAMES = _read_columns()


def fields_of(source: Any, *names: str, **renamed: str) -> dict[str, Any]:
    """Columns from the fields of an object, or of each of a tuple of objects; `renamed` is column=field.

    All fields where none is named. A field that is None has no number.
    """
    fields = dict.fromkeys(names) | renamed or dict.fromkeys(vars(source[0]))
    if not isinstance(source, tuple):
        return {name: getattr(source, field or name) for name, field in fields.items()}
    rows = {name: [getattr(one, field or name) for one in source] for name, field in fields.items()}
    return {name: np.array([np.nan if v is None else v for v in row]) for name, row in rows.items()}


def table_of(
    name: str,
    title: str,
    values: Mapping[str, Any],
    facts: Mapping[str, Any] | None = None,
    grid: tuple[str, ...] = (),
) -> Table:
    """A table from columns by name; arrays broadcast against each other and run in C order.

    Raises
    ------
    KeyError
        A name that is not in `NAMES`.
    """
    columns = tuple(NAMES[key] for key in values)
    arrays = np.broadcast_arrays(*(np.asarray(value) for value in values.values()))
    return Table(name, title, columns, list(zip(*map(_plain_column, arrays), strict=True)), facts or {}, grid)


def _plain_column(values: np.ndarray) -> list[Any]:
    if values.dtype.kind == "f":  # most are: at once
        return np.where(np.isfinite(values), values, np.nan).ravel().tolist()
    return [plain(value) for value in values.ravel().tolist()]
