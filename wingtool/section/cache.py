"""Computed rows of numbers kept on disk, by a hash of everything that they depend on."""

import hashlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from wingtool.errors import OutputError
from wingtool.files import cache_dir, load_arrays, save_arrays

ROOMS = ("air", "boundary_layer", "constants", "geometry", "panels", "section", "wing")
FOLDER = "rows"  # of the cache
KEY = "key"  # in the file, too: one that was renamed or put back under another name is not its row
Row = dict[str, np.ndarray]
_UNKEPT: dict[Path, Row] = {}  # rows of this process where the folder cannot be written


def cached_rows(
    facts: Sequence[tuple],
    names: Sequence[str],
    compute: Callable[[list[int]], Iterable[Row]],
    folder: Path | None = None,
) -> list[Row]:
    """Rows from the cache of this user, those that are missing computed and kept.

    Several processes may share the cache: a row is written whole or not at all, and one that cannot be read
    is computed again.

    Parameters
    ----------
    facts : sequence of tuple
        For each row all that its numbers depend on, see `row_key`.
    names : sequence of str
        Keys of the arrays that a row has; no object arrays.
    compute : callable
        Takes the numbers of the rows that are missing, gives those rows.
    folder : Path, optional
        In place of the user's cache.
    """
    folder = folder or cache_dir() / FOLDER
    rows = [read_row(folder, one, names) for one in facts]
    missing = [number for number, row in enumerate(rows) if row is None]
    for number, row in zip(missing, compute(missing) if missing else (), strict=True):
        rows[number] = row
        try:
            write_row(folder, facts[number], row)
        except OutputError:  # a cache that cannot be written is no error
            path = _path(folder, facts[number])
            _UNKEPT[path] = row | {KEY: np.array(path.stem)}
    return [row for row in rows if row is not None]


def has_row(facts: tuple) -> bool:
    """Whether the cache of this user has a file for a row; that it can be read is not looked at."""
    path = _path(cache_dir() / FOLDER, facts)
    return path in _UNKEPT or path.exists()


def read_row(folder: Path, facts: tuple, names: Sequence[str]) -> Row | None:
    """The row kept in a folder under its facts; none where there is none or anything is wrong with it."""
    path = _path(folder, facts)
    row = _UNKEPT.get(path) or load_arrays(path) or {}
    if str(row.get(KEY)) != path.stem or set(row) != {KEY, *names}:
        return None
    return {name: row[name] for name in names}


def write_row(folder: Path, facts: tuple, row: Row) -> None:
    """Keep a row in a folder under its facts.

    Raises
    ------
    OutputError
        The folder cannot be written to.
    """
    path = _path(folder, facts)
    save_arrays(path, row | {KEY: np.array(path.stem)})


def _path(folder: Path, facts: tuple) -> Path:
    return folder / f"{row_key(facts)}.npz"


def row_key(facts: tuple) -> str:
    """Hash of facts (arrays by their bytes, dataclasses by their fields, the rest by its repr) and source.

    The versions of other libraries are not in it: after an upgrade of numpy or the surrogate begin anew.
    """
    digest = hashlib.sha256(source_hash())
    _add(digest, facts)
    return digest.hexdigest()[:40]


def _add(digest, fact: Any) -> None:
    if isinstance(fact, np.ndarray) and fact.dtype.kind in "fi":
        digest.update(np.ascontiguousarray(fact, dtype=float).tobytes())
    elif isinstance(fact, np.ndarray | tuple | list):
        for one in fact:
            _add(digest, one)
    elif is_dataclass(fact):
        for field in fields(fact):
            _add(digest, getattr(fact, field.name))
    else:
        digest.update(repr(fact).encode())
    digest.update(b";")


@cache
def source_hash(package: Path = Path(__file__).parent.parent) -> bytes:
    """Hash of all rooms that such numbers come from; a process reads them once.

    Whole rooms, so that no file is forgotten: a change that touches no number costs one computation.
    """
    digest = hashlib.sha256()
    for path in sources(package):
        digest.update(path.relative_to(package).as_posix().encode() + b"|" + path.read_bytes() + b"|")
    return digest.digest()


def sources(package: Path) -> list[Path]:
    """The files of all rooms, and the ground floor's that hold numbers."""
    names = [f"{room}{kind}" for room in ROOMS for kind in (".py", "/**/*.py", "/**/*.json")]
    return sorted(path for name in names for path in package.glob(name))
