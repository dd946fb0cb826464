"""Read a table that wingtool wrote, and interpolate in it: for a lap, vehicle or spreadsheet program.

The table is a CSV with its ``datapackage.json`` beside it (Frictionless Table Schema), JSON or netCDF. Its
axes are the numeric columns of the schema's ``primaryKey``, the JSON `grid`, or the netCDF dimensions.
"""

import csv
import io
import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from wingtool.errors import RangeError, TableError

LARGEST_BYTES = 300_000_000


@dataclass(frozen=True, eq=False)
class LoadedTable:
    """A full grid of values with units and bounds; call it to interpolate.

    Parameters
    ----------
    axes : dict of ndarray
        Breakpoints by axis name, increasing.
    values : dict of ndarray
        Each of the shape of the grid; nan where the point did not converge.
    status : ndarray of str
        The word of each grid point, of the shape of the grid; empty where the table has no status.
    units : dict of str
        By column name.
    source : Path
        Where it was read from.

    Examples
    --------
    >>> table = LoadedTable({"alpha_deg": np.array([0.0, 10.0])}, {"cl": np.array([0.2, 1.2])},
    ...                     np.array(["converged", "converged"]), {"cl": "1"}, Path("made.csv"))
    >>> table("cl", alpha_deg=5.0)
    0.7
    >>> table("cl", alpha_deg=11.0)
    Traceback (most recent call last):
    ...
    wingtool.errors.RangeError: made.csv: alpha_deg 11 is outside 0 to 10; nothing is guessed beyond the table
    """

    axes: Mapping[str, np.ndarray]
    values: Mapping[str, np.ndarray]
    status: np.ndarray
    units: Mapping[str, str]
    source: Path

    @property
    def bounds(self) -> dict[str, tuple[float, float]]:
        """Lowest and highest breakpoint of each axis, in the unit of the axis."""
        return {name: (float(points[0]), float(points[-1])) for name, points in self.axes.items()}

    def __call__(self, column: str, **where):
        """Value of a column, interpolated linearly along each axis.

        Parameters
        ----------
        column : str
            A key of `values`.
        **where : float or ndarray
            A value for each axis that has more than one breakpoint, in its unit; arrays broadcast.

        Returns
        -------
        float or ndarray
            In ``units[column]``.

        Raises
        ------
        RangeError
            Outside the bounds, or beside a grid point that did not converge.
        TableError
            Unknown column, unknown or missing axis.
        """
        if column not in self.values:
            raise TableError(f"{self.source}: no column {column!r}; there are {', '.join(self.values)}")
        points = self._points(where)
        grid = self.values[column]
        missing = ~np.isfinite(grid)
        if self._used(missing, points):
            status = self.status
            words = {word for word in np.unique(status) if self._used(missing & (status == word), points)}
            raise RangeError(
                f"{self.source}: {column} is asked for beside a point that did not converge"
                f" ({'; '.join(sorted(words - {'converged', ''})) or 'no value'}); choose another point"
            )
        total = self._at(np.where(missing, 0.0, grid), points)
        return float(total) if total.ndim == 0 else total

    def _used(self, mask: np.ndarray, points: np.ndarray) -> bool:
        return bool(np.any(self._at(mask, points) > 0.0))

    def _at(self, grid: np.ndarray, points: np.ndarray) -> np.ndarray:
        """Values of a grid, linear between its points, at points (..., axes of more than one breakpoint)."""
        from scipy.interpolate import RegularGridInterpolator

        axes = [axis for axis in self.axes.values() if len(axis) > 1]
        values = grid.reshape([len(axis) for axis in axes]).astype(float)
        found = RegularGridInterpolator(axes, values)(points) if axes else values
        return found.reshape(points.shape[:-1])

    def _points(self, where: Mapping[str, object]) -> np.ndarray:
        """The points asked for, checked: shape (..., axes of more than one breakpoint)."""
        if unknown := set(where) - set(self.axes):
            name = sorted(unknown)[0]
            raise TableError(f"{self.source}: no axis {name!r}; there are {', '.join(self.axes)}")
        queries = []
        for name, (low, high) in self.bounds.items():
            if name not in where and high > low:
                raise TableError(f"{self.source}: say where along {name}, {low:g} to {high:g}")
            query = np.asarray(where.get(name, low), dtype=float)
            if bad := query[~((query >= low) & (query <= high))].tolist():
                raise RangeError(
                    f"{self.source}: {name} {bad[0]:.6g} is outside {low:g} to {high:g};"
                    " nothing is guessed beyond the table"
                )
            queries.append(query)
        keep = [k for k, axis in enumerate(self.axes.values()) if len(axis) > 1]
        return np.stack(np.broadcast_arrays(*queries), axis=-1)[..., keep]


def load(path: Path | str) -> LoadedTable:
    """Read a table and make it callable.

    Parameters
    ----------
    path : path
        ``.csv`` with its ``datapackage.json`` in the same folder, ``.json`` or ``.nc``.

    Raises
    ------
    TableError
        The file cannot be read, or its rows are not a full grid.

    Examples
    --------
    Three lines give a lap program its downforce::

        table = wingtool.load("out/wing.csv")
        downforce_n = table("downforce_n", wing_angle_deg=8.0, speed_m_s=44.4)
        lowest_deg, highest_deg = table.bounds["wing_angle_deg"]
    """
    path = Path(path)
    if not path.is_file():
        raise TableError(f"{path}: no such file; give a table that wingtool wrote (.csv, .json or .nc)")
    if path.stat().st_size > LARGEST_BYTES:
        raise TableError(f"{path}: larger than {LARGEST_BYTES // 1_000_000} MB; give a smaller table")
    ending = path.suffix.lower()
    if ending not in READERS:
        raise TableError(f"{path}: unknown kind of table; give a .csv, .json or .nc that wingtool wrote")
    return _gridded(path, *READERS[ending](path))


@contextmanager
def _refused(message: str) -> Iterator[None]:
    """Any fault in what is read becomes this message."""
    try:
        yield
    except (OSError, ValueError, KeyError, TypeError, AttributeError, AssertionError, EOFError, csv.Error):
        raise TableError(message) from None


def _from_csv(path: Path):
    fields, key, missing = _schema(path)
    return _columns(path, fields, missing), _units(fields), key


def _from_json(path: Path):
    with _refused(f"{path}: is no table that wingtool wrote; write it again"):
        content = json.loads(path.read_text(encoding="utf-8"))
        fields = {field["name"]: field for field in content["columns"]}
        texts = {name: ["" if row[name] is None else row[name] for row in content["rows"]] for name in fields}
        key = tuple(content["grid"])
    columns = {name: _typed(path, fields[name], column, {""}) for name, column in texts.items()}
    return columns, _units(fields), key


def _units(fields: Mapping[str, dict]) -> dict[str, str]:
    return {name: field.get("unit", "") for name, field in fields.items()}


def _schema(path: Path):
    beside = path.with_name("datapackage.json")
    with _refused(f"{path}: needs its datapackage.json in the same folder; copy both"):
        text = beside.read_bytes()
    with _refused(f"{beside}: is not JSON; write the table again"):
        package = json.loads(text)
    with _refused(f"{beside}: says nothing of {path.name}; copy the two together"):
        (resource,) = [r for r in package["resources"] if r.get("path") == path.name]
        schema = resource["schema"]
        fields = {field["name"]: field for field in schema["fields"]}
        key = schema.get("primaryKey", ())
    return fields, (key,) if isinstance(key, str) else tuple(key), set(schema.get("missingValues", [""]))


def _columns(path: Path, fields: Mapping[str, dict], missing: set[str]) -> dict[str, np.ndarray]:
    with _refused(f"{path}: is not a UTF-8 CSV table; write the table again"):
        heading, *rows = csv.reader(io.StringIO(path.read_bytes().decode("utf-8"), newline=""))
    if heading != list(fields):
        raise TableError(f"{path}: line 1: headings differ from datapackage.json; copy the two together")
    if not rows or any(len(row) != len(heading) for row in rows):
        raise TableError(f"{path}: has no rows, or a row of another length; write the table again")
    texts = dict(zip(heading, zip(*rows, strict=True), strict=True))
    return {name: _typed(path, fields[name], column, missing) for name, column in texts.items()}


def _typed(path: Path, field: Mapping[str, str], column: Sequence[str], missing: set[str]) -> np.ndarray:
    if field.get("type") not in ("number", "integer"):
        return np.array(column)
    with _refused(f"{path}: column {field['name']}: holds text in place of a number"):
        return np.array([np.nan if text in missing else float(text) for text in column])


def _from_netcdf(path: Path):
    from scipy.io import netcdf_file

    fault = _refused(f"{path}: is not a netCDF-3 file; write the table again")
    with fault, netcdf_file(path, "r", mmap=False) as file:
        variables = {name: _variable(variable) for name, variable in file.variables.items()}
    numbers = [dims for dims, data, _ in variables.values() if data.dtype.kind == "f"]
    key = max(numbers, key=len, default=())
    if not key or not all(variables.get(name, ((),))[0] == (name,) for name in key):
        raise TableError(f"{path}: has dimensions without values; give a table that wingtool wrote")
    places = np.meshgrid(*(variables[name][1] for name in key), indexing="ij")
    columns = {name: place.ravel() for name, place in zip(key, places, strict=True)}
    columns |= {name: data.ravel() for name, (dims, data, _) in variables.items() if dims == key}
    return columns, {name: unit for name, (_, _, unit) in variables.items()}, key


def _gridded(path: Path, columns, units: Mapping[str, str], key: Sequence[str]) -> LoadedTable:
    key = tuple(name for name in key if columns.get(name, np.array([""])).dtype.kind == "f")
    if not key:
        raise TableError(f"{path}: names no numeric columns as its grid; give wing.csv or another full grid")
    axes, places = {}, []
    for name in key:
        axes[name], place = np.unique(columns[name], return_inverse=True)
        places.append(place)
    shape = tuple(len(points) for points in axes.values())
    flat = np.ravel_multi_index(places, shape)
    if len(flat) != np.prod(shape) or len(np.unique(flat)) != len(flat):
        sizes = " by ".join(map(str, shape))
        raise TableError(f"{path}: {len(flat)} rows are no full grid of {sizes} over {', '.join(key)}")
    order = np.argsort(flat)
    grids = {name: column[order].reshape(shape) for name, column in columns.items() if name not in key}
    values = {name: grid for name, grid in grids.items() if grid.dtype.kind == "f"}
    return LoadedTable(axes, values, grids.get("status", np.full(shape, "")), units, path)


def _variable(variable):
    """Dimensions, values (chars joined, fill values as nan) and unit of a netCDF variable."""
    data = np.array(variable[:] if variable.shape else variable.getValue())
    dimensions = variable.dimensions
    if data.dtype.kind == "S":
        whole = np.ascontiguousarray(data).view(f"S{data.shape[-1]}")[..., 0]
        data, dimensions = np.char.rstrip(np.char.decode(whole, "utf-8", "replace")), dimensions[:-1]
    elif data.dtype.kind in "iuf":
        data = data.astype(float)
        fill = getattr(variable, "_FillValue", None)
        if fill is not None:
            data = np.where(data == fill, np.nan, data)
    unit = getattr(variable, "units", b"")
    return dimensions, data, unit.decode() if isinstance(unit, bytes) else str(unit)


READERS = {".csv": _from_csv, ".json": _from_json, ".nc": _from_netcdf}
