"""The names: every column of every table once, with its meaning, unit and positive direction.

They stand in `columns.csv` beside this file, and `README.md` there prints them; tests hold both to the tables
that are written.
"""

import csv
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from wingtool.report.tables.table import Column, Table, plain


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
