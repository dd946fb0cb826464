"""Computed rows of section data kept on disk, by a hash of everything that they depend on."""

import hashlib
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from pathlib import Path

import numpy as np

from wingtool.errors import OutputError
from wingtool.files import cache_dir, load_arrays, save_arrays

ROOMS = ("boundary_layer", "geometry", "panels", "section")


def cached(
    facts: tuple[object, ...], names: tuple[str, ...], compute: Callable[[], dict[str, np.ndarray]]
) -> dict[str, np.ndarray]:
    """Arrays of these names from the cache, or computed and kept.

    Several processes may share the cache: a row is written whole or not at all, and one that cannot be read
    is computed again.

    Parameters
    ----------
    facts : tuple
        All that the numbers depend on: arrays by their bytes, the rest by its repr. The source of the solver
        is added here.
    names : tuple of str
        Keys of the arrays that `compute` returns; no object arrays.
    compute : callable
    """
    path = cache_dir() / "coupled" / f"{_key(facts)}.npz"
    row = _read(path, names)
    if row is None:
        row = compute()
        _write(path, row)
    return row


def _key(facts: tuple[object, ...]) -> str:
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


def _read(path: Path, names: tuple[str, ...]) -> dict[str, np.ndarray] | None:
    row = load_arrays(path)
    return row if row is not None and set(row) == set(names) else None


def _write(path: Path, row: dict[str, np.ndarray]) -> None:
    """A cache that cannot be written is no error."""
    with suppress(OutputError):
        save_arrays(path, row)
