"""A table as classic netCDF-3 with CF attributes (CF Conventions 1.8), written by scipy.

A table with a grid becomes variables over its coordinates; any other a list over ``row``. Numbers that are
missing hold the `_FillValue`. The status stands twice: as text, and as a flag with `flag_values` and
`flag_meanings` (CF section 3.5).
"""

import io
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from wingtool.files import write_whole
from wingtool.report.tables.table import Column, Table
from wingtool.version import __version__

FILL_VALUE = np.float64(9.969209968386869e36)  # of its variables' type: NC_FILL_DOUBLE, netCDF's own default


def write_netcdf(table: Table, path: Path | str) -> Path:
    """Write the table, whole or not at all.

    Raises
    ------
    OutputError
        The rows are no full grid, or the place cannot be written.
    """
    from scipy.io import netcdf_file

    count = len(table.rows)
    listed = {"row": np.arange(count, dtype=float)}, np.arange(count), (count,)
    coordinates, order, shape = table.on_grid() if table.grid else listed
    columns = {column.name: column for column in (Column("row", "number of the row, from 0"), *table.columns)}
    data = io.BytesIO()
    with netcdf_file(data, "w") as file:
        _describe(file, table)
        for name, values in coordinates.items():
            file.createDimension(name, len(values))
            _number(file, columns[name], values, (name,))
        for column in table.columns:
            if column.name not in coordinates:
                values = np.array(table.column(column.name))[order].reshape(shape)
                write = _text if column.type == "string" else _number
                write(file, column, values, tuple(coordinates))
        file.flush()
        return write_whole(path, data.getvalue())


def _describe(file: Any, table: Table) -> None:
    file.Conventions = b"CF-1.8"
    file.title = table.title.encode()
    day = table.facts.get("date", date.today().isoformat())
    file.history = f"{day} written by wingtool {__version__}".encode()
    for key, value in table.facts.items():
        setattr(file, key, value if isinstance(value, (int, float)) else str(value).encode())


def _number(file: Any, column: Column, values: np.ndarray, dimensions: tuple[str, ...]) -> None:
    variable = file.createVariable(column.name, "d", dimensions)
    if (column.name,) != dimensions:
        variable._FillValue = FILL_VALUE
    variable.units = column.unit.encode()
    variable.long_name = column.description.encode()
    if column.positive:
        variable.comment = f"positive {column.positive}".encode()
    values = values.astype(float)
    variable[:] = np.where(np.isfinite(values), values, FILL_VALUE)


def _text(file: Any, column: Column, values: np.ndarray, dimensions: tuple[str, ...]) -> None:
    encoded = np.char.encode(values.astype(str), "utf-8")
    width = max(encoded.dtype.itemsize, 1)
    length = f"{column.name}_length"
    file.createDimension(length, width)
    variable = file.createVariable(column.name, "c", (*dimensions, length))
    variable.long_name = column.description.encode()
    variable[:] = encoded.astype(f"S{width}").view("S1").reshape(*values.shape, width)
    if column.name == "status":
        variable.ancillary_variables = b"status_flag"
        _flags(file, values, dimensions)


def _flags(file: Any, values: np.ndarray, dimensions: tuple[str, ...]) -> None:
    words = np.array([str(text).partition(":")[0].strip().replace(" ", "_") for text in values.ravel()])
    meanings, index = np.unique(words, return_inverse=True)
    variable = file.createVariable("status_flag", "b", dimensions)
    variable.long_name = b"status of the row, without its reason"
    variable.flag_values = np.arange(len(meanings), dtype=np.int8)
    variable.flag_meanings = " ".join(meanings).encode()
    variable[:] = index.reshape(values.shape).astype(np.int8)
