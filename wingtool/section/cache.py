"""Computed rows of section data kept on disk, by a hash of everything that they depend on."""

import hashlib
from collections.abc import Callable, Iterable, Sequence
from functools import cache
from pathlib import Path

import numpy as np

from wingtool.errors import OutputError
from wingtool.files import cache_dir, load_arrays, save_arrays

ROOMS = ("boundary_layer", "geometry", "panels", "section")
Row = dict[str, np.ndarray]


def cached_rows(
    facts: Sequence[tuple], names: Sequence[str], compute: Callable[[list[int]], Iterable[Row]]
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
    """
    folder = cache_dir() / "coupled"
    rows = [read_row(folder, one, names) for one in facts]
    missing = [number for number, row in enumerate(rows) if row is None]
    for number, row in zip(missing, compute(missing) if missing else (), strict=True):
        rows[number] = row
        try:
            write_row(folder, facts[number], row)
        except OutputError:  # a cache that cannot be written is no error
            continue
    return [row for row in rows if row is not None]


def read_row(folder: Path, facts: tuple, names: Sequence[str]) -> Row | None:
    """The row kept in a folder under its facts; none where there is none or anything is wrong with it."""
    row = load_arrays(_path(folder, facts))
    return row if row is not None and set(row) == set(names) else None


def write_row(folder: Path, facts: tuple, row: Row) -> None:
    """Keep a row in a folder under its facts.

    Raises
    ------
    OutputError
        The folder cannot be written to.
    """
    save_arrays(_path(folder, facts), row)


def _path(folder: Path, facts: tuple) -> Path:
    return folder / f"{row_key(facts)}.npz"


def row_key(facts: tuple) -> str:
    """Hash of facts: arrays by their bytes, the rest by its repr; and of the source of the solver.

    The versions of other libraries are not in it: after an upgrade of numpy or the surrogate begin anew.
    """
    digest = hashlib.sha256(source_hash())
    for fact in facts:
        if isinstance(fact, np.ndarray):
            digest.update(np.ascontiguousarray(fact, dtype=float).tobytes())
        else:
            digest.update(repr(fact).encode())
        digest.update(b";")
    return digest.hexdigest()[:40]


@cache
def source_hash(package: Path = Path(__file__).parent.parent) -> bytes:
    """Hash of all rooms that section data come from; a process reads them once.

    Whole rooms, so that no file is forgotten: a change that touches no number costs one computation.
    """
    digest = hashlib.sha256()
    files = (path for room in ROOMS for kind in ("*.py", "*.json") for path in (package / room).rglob(kind))
    for path in sorted(files):
        digest.update(path.relative_to(package).as_posix().encode() + b"|" + path.read_bytes() + b"|")
    return digest.digest()
