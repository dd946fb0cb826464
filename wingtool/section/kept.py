"""Computed rows of section data kept on disk, by a hash of everything that they depend on."""

import hashlib
from collections.abc import Callable
from pathlib import Path

import numpy as np

from wingtool.errors import OutputError
from wingtool.files import cache_dir, whole_file


def kept(
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
    digest = hashlib.sha256(_source())
    for fact in facts:
        if isinstance(fact, np.ndarray):
            digest.update(np.ascontiguousarray(fact, dtype=float).tobytes())
        else:
            digest.update(repr(fact).encode())
        digest.update(b";")
    return digest.hexdigest()[:40]


def _source() -> bytes:
    """Hash of the rooms in which the solver lives."""
    package = Path(__file__).parent.parent
    digest = hashlib.sha256()
    files = [*sorted((package / "boundary_layer").glob("*.py")), *sorted((package / "panels").glob("*.py"))]
    files += [*sorted((package / "section").glob("coupled*.py")), package / "section" / "sweep.py"]
    files += [*sorted((package / "section").glob("elements*.py")), package / "section" / "surface.py"]
    files += [package / "geometry" / f"{name}.py" for name in ("spacing", "curve", "fairing")]
    for path in files:
        if path.is_file():
            digest.update(path.read_bytes())
    return digest.digest()


def _read(path: Path, names: tuple[str, ...]) -> dict[str, np.ndarray] | None:
    try:
        with np.load(path, allow_pickle=False) as row:
            return {name: row[name] for name in names}
    except (OSError, ValueError, KeyError, EOFError):
        return None


def _write(path: Path, row: dict[str, np.ndarray]) -> None:
    """A cache that cannot be written is no error."""
    try:
        with whole_file(path) as beside:
            np.savez_compressed(beside, **row)  # type: ignore[arg-type]
    except OutputError:
        return
