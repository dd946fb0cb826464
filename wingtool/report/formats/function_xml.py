"""Gridded function tables in the open standard AIAA S-119 (Flight Dynamics Model Exchange Standard, 2011).

The standard's XML grammar is DAVE-ML. Files written here were found valid against its public document type
definition, version 2.0.2, by a tester outside the project; our tests hold the rules of elements.
The unit abbreviations are from memory of the published document.
"""

from dataclasses import dataclass
from datetime import date
from itertools import groupby
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np

from wingtool.errors import OutputError
from wingtool.files import write_whole
from wingtool.report.tables.table import Column, Table
from wingtool.version import __version__

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
    grid = function_grid(table)
    root = ET.Element("DAVEfunc", {"xmlns": NAMESPACE})
    _header(root, table, grid.note)
    for name in (*grid.axes, *grid.values):
        variable = _defined(root, grid, "variableDef", name, varID=name)
        ET.SubElement(variable, "description").text = grid.columns[name].meaning
        ET.SubElement(variable, "isInput" if name in grid.axes else "isOutput")
    for name, points in grid.axes.items():
        definition = _defined(root, grid, "breakpointDef", name, bpID=f"{name}_points")
        ET.SubElement(definition, "bpVals").text = _numbers(points)
    for name, values in grid.values.items():
        definition = _defined(root, grid, "griddedTableDef", name, gtID=f"{name}_table")
        references = ET.SubElement(definition, "breakpointRefs")
        for axis in grid.axes:
            ET.SubElement(references, "bpRef", bpID=f"{axis}_points")
        ET.SubElement(definition, "dataTable").text = _numbers(values)
    for name in grid.values:
        _function(root, grid, name)
    _check_data(root, grid)
    ET.indent(root)
    return write_whole(path, ET.tostring(root, encoding="UTF-8", xml_declaration=True))


def _header(root: ET.Element, table: Table, note: str) -> None:
    header = ET.SubElement(root, "fileHeader", name=table.title)
    ET.SubElement(header, "author", name=f"wingtool {__version__}", org="computed, not measured")
    ET.SubElement(header, "creationDate", date=str(table.facts.get("date", date.today().isoformat())))
    text = f"{note}; grammar of DAVE-ML 2.0.2 (AIAA S-119); linear between breakpoints"
    ET.SubElement(header, "description").text = text.removeprefix("; ")


def _defined(root: ET.Element, grid: FunctionGrid, kind: str, name: str, **ids: str) -> ET.Element:
    unit = grid.columns[name].unit
    return ET.SubElement(root, kind, {"name": name, **ids, "units": UNITS.get(unit, unit)})


def _numbers(values: np.ndarray) -> str:
    return ", ".join(repr(float(value)) for value in values.ravel())


def _function(root: ET.Element, grid: FunctionGrid, name: str) -> None:
    function = ET.SubElement(root, "function", name=name)
    for axis, points in grid.axes.items():
        first, last = repr(float(points[0])), repr(float(points[-1]))
        ET.SubElement(function, "independentVarRef", varID=axis, min=first, max=last, extrapolate="neither")
    ET.SubElement(function, "dependentVarRef", varID=name)
    definition = ET.SubElement(function, "functionDefn", name=f"{name}_definition")
    ET.SubElement(definition, "griddedTableRef", gtID=f"{name}_table")


def _check_data(root: ET.Element, grid: FunctionGrid) -> None:
    """A few grid points and one cell centre with their values, so that a reader can prove itself."""
    check = ET.SubElement(root, "checkData")
    parts = {
        "grid point 1": slice(0, 1),
        "grid point 2": slice(-1, None),
        "middle of the first cell": slice(0, 2),
    }
    for name, part in parts.items():
        inputs = {axis: float(points[part].mean()) for axis, points in grid.axes.items()}
        every = (part,) * len(grid.axes)
        outputs = {column: float(values[every].mean()) for column, values in grid.values.items()}
        _static_shot(check, name, inputs, outputs)


def _static_shot(check: ET.Element, name: str, inputs: dict[str, float], outputs: dict[str, float]) -> None:
    shot = ET.SubElement(check, "staticShot", name=name)
    for kind, signals in (("checkInputs", inputs), ("checkOutputs", outputs)):
        group = ET.SubElement(shot, kind)
        for variable, value in signals.items():
            signal = ET.SubElement(group, "signal")
            ET.SubElement(signal, "varID").text = variable
            ET.SubElement(signal, "signalValue").text = repr(value)
            if kind == "checkOutputs":
                ET.SubElement(signal, "tol").text = repr(1e-9 * max(1.0, abs(value)))
