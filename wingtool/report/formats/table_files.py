"""Tables as files: CSV with its data package, JSON, netCDF, spreadsheet, gridded functions."""

import csv
import io
import json
import math
import re
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import Any

from wingtool.errors import OutputError
from wingtool.files import writable_folder, write_text
from wingtool.report.tables.table import Column, Table

PACKAGE_FILE, PACKAGE_NAME = "datapackage.json", "wingtool-tables"
MISSING = "NaN"


def write_csv(table: Table, path: Path) -> Path:
    """Write the table as CSV (RFC 4180, line ends CR LF); numbers to ten significant digits."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(column.name for column in table.columns)
    writer.writerows([_cell(value) for value in row] for row in table.rows)
    return write_text(path, text.getvalue())


def write_json(table: Table, path: Path) -> Path:
    """Write the table as JSON: facts, columns, and one object and one line a row, null for no value."""
    names = [column.name for column in table.columns]
    document = {
        "name": table.name,
        "title": table.title,
        "facts": {name: _null_for_nan(value) for name, value in table.facts.items()},
        "grid": list(table.grid),
        "columns": [_schema_field(column) for column in table.columns],
    }
    row_text = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode  # without indent it is compiled
    rows = (row_text(dict(zip(names, map(_null_for_nan, row), strict=True))) for row in table.rows)
    head = json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False).removesuffix("\n}")
    return write_text(path, head + ',\n "rows": [\n  ' + ",\n  ".join(rows) + "\n ]\n}\n")


def write_table(table: Table, path: Path | str) -> list[Path]:
    """Write one table; the ending of the name chooses the format.

    Returns
    -------
    list of Path
        What was written: the file, and the data package beside a CSV file.

    Raises
    ------
    OutputError
        Unknown ending, or a place that cannot be written.
    """
    path = check_table_path(path)
    written = [_write(table, path)]
    if path.suffix == ".csv":
        written.append(_write_package([table], [path.name], path.with_name(PACKAGE_FILE)))
    return written


def check_table_path(path: Path | str) -> Path:
    """The path, if its ending names a format and its folder can be written; asked before long work.

    Raises
    ------
    OutputError
        Unknown ending, or a folder that cannot be written.
    """
    path = Path(path)
    if path.is_dir():
        raise OutputError(f"{path}: a folder, not a file; name a file in it")
    if path.suffix == ".csv":
        _other_resources(path.with_name(PACKAGE_FILE), set())
    if path.suffix not in WRITERS:
        raise OutputError(f"{path}: unknown format {path.suffix!r}; end the name in {', '.join(WRITERS)}")
    writable_folder(path.parent)
    return path


def write_folder(tables: Sequence[Table], folder: Path | str) -> list[Path]:
    """Write each table as CSV, JSON and (a grid) netCDF into a folder, with one data package for all."""
    folder = Path(folder)
    package_path = folder / PACKAGE_FILE
    _other_resources(package_path, set())  # refused before anything is written
    written = [
        _write(table, folder / f"{table.name}{ending}")
        for table in tables
        for ending in (".csv", ".json", *((".nc",) if table.grid else ()))
    ]
    return [*written, _write_package(tables, [f"{table.name}.csv" for table in tables], package_path)]


FORMULA = ("=", "+", "-", "@", "\t", "\r")
WRITERS = {  # by ending: a function of a file beside this one, loaded only when it is wanted
    ".csv": "table_files.write_csv",
    ".json": "table_files.write_json",
    ".nc": "netcdf.write_netcdf",
    ".xlsx": "spreadsheet.write_sheet",
    ".xml": "function_xml.write_function_xml",
}


def _write(table: Table, path: Path) -> Path:
    module, function = WRITERS[path.suffix].split(".")
    return getattr(import_module(f"wingtool.report.formats.{module}"), function)(table, path)


def _write_package(tables: Sequence[Table], paths: Sequence[str], package_path: Path) -> Path:
    """Frictionless Data Package of these CSV files, and of those that it held already."""
    own = [_resource(table, path) for table, path in zip(tables, paths, strict=True)]
    package = {
        "profile": "tabular-data-package",
        "name": PACKAGE_NAME,
        "title": "Tables written by wingtool",
        "resources": own + _other_resources(package_path, set(paths)),
    }
    return write_text(package_path, json.dumps(package, indent=1, ensure_ascii=False, allow_nan=False) + "\n")


def _other_resources(package_path: Path, names: set[str]) -> list[dict[str, Any]]:
    """Resources of earlier tables in the same folder, so that a second table does not forget the first."""
    if not package_path.exists():
        return []
    try:
        package = json.loads(package_path.read_text(encoding="utf-8"))
        ours = package["name"] == PACKAGE_NAME
        resources = [r for r in package["resources"] if r["path"] not in names]
    except (OSError, ValueError, KeyError, TypeError):
        ours = False
    if not ours:
        raise OutputError(f"{package_path} is there and not wingtool's; choose another folder")
    return [r for r in resources if (package_path.parent / r["path"]).exists()]


def _resource(table: Table, path: str) -> dict[str, Any]:
    fields = [_schema_field(column) for column in table.columns]
    key = {"primaryKey": list(table.grid)} if table.grid else {}
    return {
        "profile": "tabular-data-resource",
        "name": re.sub(r"[^a-z0-9._-]+", "-", Path(path).stem.lower()).strip("-._") or "table",
        "path": path,
        "title": table.title,
        "scheme": "file",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": {"delimiter": ",", "lineTerminator": "\r\n", "quoteChar": '"', "doubleQuote": True},
        "schema": {"fields": fields, "missingValues": [MISSING]} | key,
        "facts": {name: _null_for_nan(value) for name, value in table.facts.items()},
    }


def _schema_field(column: Column) -> dict[str, Any]:
    schema: dict[str, Any] = {"name": column.name, "type": column.type, "description": column.meaning}
    if column.type != "string":
        schema["unit"] = column.unit
    bounds = {"minimum": column.minimum, "maximum": column.maximum}
    if bounds := {key: value for key, value in bounds.items() if value is not None}:
        schema["constraints"] = bounds
    return schema


def _cell(value: Any) -> str:
    return f"{value:.10g}" if isinstance(value, float) and math.isfinite(value) else _text(value)


def _text(value: Any) -> str:
    """Text of a cell; what a spreadsheet would take for a formula gets an apostrophe in front."""
    text = MISSING if isinstance(value, float) else str(value)
    return f"'{text}" if isinstance(value, str) and text.startswith(FORMULA) else text


def _null_for_nan(value: Any) -> Any:
    return None if isinstance(value, float) and not math.isfinite(value) else value
