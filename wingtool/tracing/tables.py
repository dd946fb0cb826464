"""Columns of numbers from the files that people bring: any delimiter, decimal commas, units."""

import csv
import re
from pathlib import Path

import numpy as np

from wingtool.errors import TraceError

MM_PER = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4}


def read_columns(path: Path | str, wanted: tuple[str, ...]) -> np.ndarray:
    """Columns of a text table, shape (rows, len(wanted)); an empty cell is nan.

    Parameters
    ----------
    path : Path
    wanted : tuple of str
        Headings such as ``x_mm`` or ``photo_x``. A file with a heading may have them in any order, with
        others between, and lengths in ``_cm`` or ``_in`` in place of ``_mm``; one without is taken in the
        order wanted.

    Raises
    ------
    TraceError
        No such file, a heading missing, or a cell that is no number; file and line are named.
    """
    lines = _lines(path)
    if not lines:
        raise TraceError(f"{path}: no rows; write {', '.join(wanted)} on the first line and numbers below")
    delimiter = _delimiter([line for _, line in lines])
    rows = [
        (number, next(csv.reader([line], delimiter=delimiter, skipinitialspace=True)))
        for number, line in lines
    ]
    rows = [(number, [cell.strip() for cell in row]) for number, row in rows]
    places, factors, body = _headed(path, rows, wanted)
    width = max(len(rows[0][1]), len(wanted))
    table = [_numbers(path, number, row, places, width) for number, row in body]
    if not table:
        raise TraceError(f"{path}: a heading without rows; write the readings below it")
    return np.array(table) * factors


def _lines(path: Path | str) -> list[tuple[int, str]]:
    try:
        text = Path(path).read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise TraceError(f"{path}: no such file; check the name") from None
    except (OSError, UnicodeDecodeError) as error:
        raise TraceError(f"{path}: cannot be read as text ({error}); save it as CSV, UTF-8") from None
    lines = enumerate(text.splitlines(), start=1)
    return [
        (number, line.strip()) for number, line in lines if line.strip() and not line.lstrip().startswith("#")
    ]


def _delimiter(lines: list[str]) -> str:
    for mark in (";", "\t"):
        if all(mark in line for line in lines):
            return mark
    if any("," in line for line in lines):
        return ","
    return " "


def _number(cell: str) -> float | None:
    """The number in a cell; nan when empty, None when it is no number. A comma inside a cell is decimal."""
    if cell.lower() in ("", "-", "nan", "n/a"):
        return float("nan")
    try:
        return float(cell.replace(",", "."))
    except ValueError:
        return None


def _headed(path, rows, wanted):
    """Places of the wanted columns, factors to millimetres, and the rows of numbers."""
    first = rows[0][1]
    if all(_number(cell) is not None for cell in first):
        if len(first) < len(wanted) or any(first[len(wanted) :]):
            raise TraceError(
                f"{path}, line {rows[0][0]}: {len(first)} columns without a heading; wanted are"
                f" {', '.join(wanted)}{_semicolons(first)}"
            )
        return list(range(len(wanted))), np.ones(len(wanted)), rows
    names = [_plain(cell) for cell in first]
    places, factors = [], []
    for name in wanted:
        stem = name.removesuffix("_mm")
        units = MM_PER if name.endswith("_mm") else {"": 1.0}
        spelled = {(f"{stem}_{unit}" if unit else stem): factor for unit, factor in units.items()}
        found = [k for k, heading in enumerate(names) if heading in spelled]
        if len(found) != 1:
            raise TraceError(
                f"{path}, line {rows[0][0]}: column {name} is not there once; the headings are "
                f"{', '.join(first)}, wanted are {', '.join(wanted)}"
            )
        places.append(found[0])
        factors.append(spelled[names[found[0]]])
    return places, np.array(factors), rows[1:]


def _plain(heading: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", heading.lower()).strip("_")


def _semicolons(row: list[str]) -> str:
    """The way out where 0,5,1,5 may be two numbers or four."""
    whole = all(re.fullmatch(r"[+-]?\d*", cell) for cell in row)
    return "; if the commas are decimal, put semicolons between the columns" if whole else ""


def _numbers(path, number, row, places, width) -> list[float]:
    if any(row[width:]):
        way_out = _semicolons(row) or "; mend that line"
        raise TraceError(f"{path}, line {number}: {len(row)} cells where the first line has {width}{way_out}")
    cells = [row[k] if k < len(row) else "" for k in places]
    values = [_number(cell) for cell in cells]
    for cell, value in zip(cells, values, strict=True):
        if value is None or value in (float("inf"), float("-inf")):
            raise TraceError(f"{path}, line {number}: {cell!r} is not a number; mend that line")
    return [float(value) for value in values if value is not None]
