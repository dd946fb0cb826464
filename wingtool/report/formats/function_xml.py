"""Gridded function tables in the open standard AIAA S-119 (Flight Dynamics Model Exchange Standard, 2011).

The standard's XML grammar is DAVE-ML. Files written here were found valid against its public document type
definition, version 2.0.2, by a tester outside the project; our tests hold the rules of elements.
The unit abbreviations are from memory of the published document.
"""

from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

import numpy as np

from wingtool.errors import OutputError
from wingtool.files import write_text
from wingtool.report.page.write import render
from wingtool.report.tables.table import Column, Table

NAMESPACE = "http://daveml.org/2010/DAVEML"
# AIAA S-119 writes divisors as negative powers without a sign between: from memory.
UNITS = {"1": "nd", "degree": "deg", "m s-1": "ms_1", "N m": "Nm", "N m-1": "Nm_1", "kg m-3": "kgm_3"}


@dataclass(frozen=True, eq=False)
class FunctionGrid:
    """Columns of a table laid on its grid.

    Parameters
    ----------
    note : str
        What the reader must know of it.
    axes : dict of ndarray
        Breakpoints by name, increasing; the last runs fastest in `values`.
    values : dict of ndarray
        Each of the shape of the grid, without nan.
    columns : dict of Column
        By name, axes among them.
    """

    note: str
    axes: dict[str, np.ndarray]
    values: dict[str, np.ndarray]
    columns: dict[str, Column]


def function_grid(table: Table) -> FunctionGrid:
    """The numeric columns of a `Table` that has a grid.

    The standard has no word for a missing value. A column with numbers at less than half of the points that
    another has is left out; so are breakpoints of the first axis at which any other value is missing, and an
    axis of one breakpoint; the note says so.

    Raises
    ------
    OutputError
        The rows are no full grid, or no two neighbouring breakpoints are complete.
    """
    points, order, shape = table.on_grid()
    columns = {column.name: column for column in table.columns}
    numbers = [name for name, c in columns.items() if c.type in ("number", "integer") and name not in points]
    single = {name: f"{axis[0]:g} throughout" for name, axis in points.items() if len(axis) == 1}
    points = {name: axis for name, axis in points.items() if name not in single}
    if not points:
        raise OutputError(f"table {table.name!r} has one row, no function; write it as CSV instead")
    shape = tuple(len(axis) for axis in points.values())
    grids = {name: np.array(table.column(name), dtype=float)[order].reshape(shape) for name in numbers}
    known = {name: int(np.isfinite(grid).sum()) for name, grid in grids.items()}
    sparse = [name for name, count in known.items() if 2 * count <= max(known.values())]
    grids = {name: grid for name, grid in grids.items() if name not in sparse}
    note = "; ".join(f"{key}: {value}" for key, value in {**table.facts, **single}.items())
    note += f"; left out because mostly missing: {', '.join(sparse)}" if sparse else ""
    complete = [np.isfinite(grid).reshape(shape[0], -1).all(axis=1) for grid in grids.values()]
    keep = _longest_run(np.all(complete, axis=0))
    outer, first = next(iter(points.items()))
    if keep.stop - keep.start < shape[0]:
        left_out = ", ".join(f"{value:g}" for k, value in enumerate(first) if not keep.start <= k < keep.stop)
        note = f"{note}; left out because a value is missing there: {outer} {left_out}"
    if keep.stop - keep.start < 2:
        raise OutputError(f"table {table.name!r} has too many missing values for functions; write CSV")
    values = {name: grid[keep] for name, grid in grids.items()}
    return FunctionGrid(note, points | {outer: first[keep]}, values, columns)


def _longest_run(complete: np.ndarray) -> slice:
    """The longest run of breakpoints that are complete."""
    runs = [list(run) for good, run in groupby(range(len(complete)), complete.__getitem__) if good]
    longest = max(runs, key=len, default=[])
    return slice(longest[0], longest[-1] + 1) if longest else slice(0, 0)


def write_function_xml(table: Table, path: Path | str) -> Path:
    """Write a `Table` with a grid as AIAA S-119 XML with check points; returns the path."""
    grid, how = function_grid(table), {"unit_of": UNITS, "namespace": NAMESPACE, "numbers": _numbers}
    names = [*grid.axes, *grid.values]
    text = render("function.xml", table=table, grid=grid, names=names, checks=_checks(grid), **how)
    return write_text(path, text)


def _numbers(values: np.ndarray) -> str:
    return ", ".join(map(repr, np.ravel(values).tolist()))


def _checks(grid: FunctionGrid) -> dict[str, tuple[dict[str, float], dict[str, float]]]:
    """A few grid points and one cell centre with their values, so that a reader can prove itself."""
    parts = {
        "grid point 1": slice(0, 1),
        "grid point 2": slice(-1, None),
        "middle of the first cell": slice(0, 2),
    }
    found = {}
    for name, part in parts.items():
        inputs = {axis: float(points[part].mean()) for axis, points in grid.axes.items()}
        every = (part,) * len(grid.axes)
        outputs = {column: float(values[every].mean()) for column, values in grid.values.items()}
        found[name] = inputs, outputs
    return found
