"""Files: what the package carries, whole-or-nothing writing, the cache folder."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from wingtool.errors import OutputError


def bundled(folder: str) -> Path:
    """Folder ``profiles`` or ``studies``: beside the package in a checkout, inside it in a wheel."""
    inside = Path(__file__).parent / folder
    return inside if inside.is_dir() else Path(__file__).parent.parent / folder


@contextmanager
def whole_file(path: Path | str) -> Iterator[Path]:
    """A path to write to; it takes the place of `path` only when the block ends without an error.

    Raises
    ------
    OutputError
        The folder cannot be made or written, or the disk is full.
    """
    path = Path(path)
    beside = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:40]}.", suffix=path.suffix)
        os.close(handle)
        beside = Path(name)
        yield beside
        umask = os.umask(0)
        os.umask(umask)
        beside.chmod(0o666 & ~umask)
        beside.replace(path)
    except OSError as error:
        reason = error.strerror or str(error)
        way_out = "choose another folder or free some space"
        raise OutputError(f"cannot write {path}: {reason}; {way_out}") from error
    finally:
        if beside is not None:
            beside.unlink(missing_ok=True)


def writable_folder(path: Path | str) -> Path:
    """The folder, made if it was not there; asked before long work.

    Raises
    ------
    OutputError
        It cannot be made, or nothing can be written into it.
    """
    path = Path(path)
    try:
        path.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=path):
            return path
    except OSError as error:
        reason = error.strerror or str(error)
        raise OutputError(f"cannot write into {path}: {reason}; choose another folder") from error


def write_text(path: Path | str, text: str) -> Path:
    """Write UTF-8 text, whole or not at all; returns the path."""
    with whole_file(path) as beside:
        beside.write_text(text, encoding="utf-8", newline="")
    return Path(path)


def cache_dir() -> Path:
    """The user's cache folder for wingtool; ``WINGTOOL_CACHE`` in the environment overrides it."""
    from platformdirs import user_cache_dir

    return Path(os.environ.get("WINGTOOL_CACHE") or user_cache_dir("wingtool", appauthor=False))
