"""Columns of numbers from the files that people bring: any delimiter, decimal commas, units."""

import csv
import re
from pathlib import Path

import numpy as np

from wingtool.errors import TraceError
from wingtool.files import plain_bytes, words_beside
from wingtool.text_table import decoded, delimiter, number
from wingtool.units import MM_PER_INCH, USUAL

MOST_BYTES, MOST_LETTERS = 5_000_000, 10_000
WORDS = words_beside(__file__, "tables")
MM_PER = {unit: 1000.0 * USUAL["length"][unit] for unit in ("mm", "cm", "m", "in")} | {"inch": MM_PER_INCH}


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
    sign = delimiter([line for _, line in lines])
    rows = [(place, _cells(path, place, line, sign)) for place, line in lines]
    places, factors, body = _headed(path, rows, wanted)
    width = max(len(rows[0][1]), len(wanted))
    table = [_numbers(path, line, row, places, width) for line, row in body]
    if not table:
        raise TraceError(f"{path}: a heading without rows; write the readings below it")
    return np.array(table, dtype=float) * factors


def _lines(path: Path | str) -> list[tuple[int, str]]:
    text = decoded(plain_bytes(path, MOST_BYTES, "a CSV table", TraceError))
    if text is None:
        raise TraceError(f"{path}: not text; save it as CSV")
    lines = ((number, line.strip()) for number, line in enumerate(text.splitlines(), start=1))
    return [(number, line) for number, line in lines if line and not line.startswith("#")]


def _cells(path: Path | str, place: int, line: str, sign: str) -> list[str]:
    """Cells of a line, stripped."""
    if line.count('"') % 2:
        raise TraceError(f"{path}, line {place}: a quotation mark is not closed; close it")
    if len(line) > MOST_LETTERS:
        raise TraceError(f"{path}, line {place}: {len(line)} letters in a line; {MOST_LETTERS} is the most")
    (row,) = csv.reader([line], delimiter=sign, skipinitialspace=True)
    return [cell.strip() for cell in row]


def _headed(path, rows, wanted):
    """Places of the wanted columns, factors to millimetres, and the rows of numbers."""
    first = rows[0][1]
    if all(number(cell) is not None for cell in first):
        if len(first) < len(wanted) or any(first[len(wanted) :]):
            values = (rows[0][0], len(first), ", ".join(wanted), _semicolons(first))
            raise TraceError(WORDS["no_heading"].format(path, *values))
        return list(range(len(wanted))), np.ones(len(wanted)), rows
    names = [re.sub(r"[^a-z0-9]+", "_", cell.lower()).strip("_") for cell in first]
    places, factors = [], []
    for name in wanted:
        stem = name.removesuffix("_mm")
        units = MM_PER if name.endswith("_mm") else {"": 1.0}
        spelled = {(f"{stem}_{unit}" if unit else stem): factor for unit, factor in units.items()}
        fitting = [k for k, heading in enumerate(names) if heading in spelled]
        if len(fitting) != 1:
            values = ("more than one" if fitting else "no", name, ", ".join(first), ", ".join(wanted))
            raise TraceError(WORDS["columns"].format(path, rows[0][0], *values))
        places.append(fitting[0])
        factors.append(spelled[names[fitting[0]]])
    return places, np.array(factors), rows[1:]


def _semicolons(row: list[str]) -> str:
    """The way out where 0,5,1,5 may be two numbers or four."""
    whole = all(re.fullmatch(r"[+-]?\d*", cell) for cell in row)
    return "; if the commas are decimal, put semicolons between the columns" if whole else ""


def _numbers(path, line, row, places, width) -> list[float | None]:
    if any(row[width:]):
        way_out = _semicolons(row) or "; mend that line"
        raise TraceError(f"{path}, line {line}: {len(row)} cells where the first line has {width}{way_out}")
    cells = [row[k] if k < len(row) else "" for k in places]
    for cell in cells:
        if number(cell) is None:
            raise TraceError(f"{path}, line {line}: {cell!r} is not a number; mend that line")
    return [number(cell) for cell in cells]
