"""Files: what the package carries, careful reading, whole-or-nothing writing, arrays in a cache."""

from __future__ import annotations

import contextlib
import io
import os
import platform
import re
import secrets
import tempfile
import zipfile
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wingtool.errors import OutputError, WingtoolError

if TYPE_CHECKING:
    import numpy as np

FIRST_ZIP_DATE = (1980, 1, 1, 0, 0, 0)  # given to every part of an archive: the same content, the same bytes
MOST_CACHED_BYTES = 200_000_000
_HOST = re.sub(r"[^A-Za-z0-9]", "", platform.node())[:20]
_TEMPORARY = re.compile(rf"\.wingtool-{_HOST}-(\d+)-")


def bundled(folder: str) -> Path:
    """Folder ``profiles`` or ``studies``: beside the package in a checkout, inside it in a wheel."""
    inside = Path(__file__).parent / folder
    return inside if inside.is_dir() else Path(__file__).parent.parent / folder


def write_whole(path: Path | str, data: bytes) -> Path:
    """Write a file, whole or not at all; returns the path.

    Until it is whole the file has no name where the system can do that, so that a killed process leaves
    nothing behind; else a hidden name, which the next that writes into the folder sweeps.

    Raises
    ------
    OutputError
        The folder cannot be made or written, or the disk is full.
    """
    path = Path(path)
    hidden = path.with_name(f".wingtool-{_HOST}-{os.getpid()}-{secrets.token_hex(4)}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _sweep(path.parent)
        try:
            _write_nameless(hidden, data)
        except (AttributeError, OSError):  # not on this system, not in this folder
            hidden.write_bytes(data)
        hidden.replace(path)
    except OSError as error:
        reason = error.strerror or str(error)
        way_out = "choose another folder or free some space"
        raise OutputError(f"cannot write {path}: {reason}; {way_out}") from error
    finally:
        with contextlib.suppress(OSError):
            hidden.unlink()
    return path


def _write_nameless(path: Path, data: bytes) -> None:
    with open(os.open(path.parent, os.O_WRONLY | os.O_TMPFILE, 0o666), "wb") as file:
        file.write(data)
        file.flush()
        handle = file.fileno()
        os.link(f"/proc/self/fd/{handle}", path, src_dir_fd=handle)  # with a folder it follows the link


@cache
def _sweep(folder: Path) -> None:
    """Remove the temporary files of processes that are no more; once a folder and process."""
    for path in folder.glob(".wingtool-*"):
        found = _TEMPORARY.match(path.name)
        if found and not _is_running(int(found[1])):
            with contextlib.suppress(OSError):
                path.unlink()


def _is_running(process: int) -> bool:
    try:
        if os.name != "nt":  # there signal 0 would reach the process
            os.kill(process, 0)
    except OSError as error:
        return not isinstance(error, ProcessLookupError)
    return True


def plain_bytes(path: Path | str, most_bytes: int, what: str, error: type[WingtoolError]) -> bytes:
    """All of a plain file of a stated size at most; a pipe or a device would never end.

    Parameters
    ----------
    what : str
        What is wanted, for the message: ``a study (TOML) file``.
    error : type
        Which `WingtoolError` to raise.

    Raises
    ------
    WingtoolError
        Not there, a folder, no plain file, too large, or not to be read.
    """
    path = Path(path)
    try:
        if path.is_dir():
            raise error(f"{path}: a folder, not a file; name {what} in it")
        if not path.exists():
            raise error(f"{path}: no such file; check the spelling and the folder, and name {what}")
        if not path.is_file():
            raise error(f"{path}: not a plain file; name {what}")
        size = path.stat().st_size
        if size > most_bytes:
            raise error(f"{path}: {size / 1e6:.1f} MB; {most_bytes / 1e6:.0f} MB is the most; name {what}")
        with path.open("rb") as file:
            return file.read(most_bytes)
    except WingtoolError:
        raise
    except (OSError, ValueError) as fault:
        reason = getattr(fault, "strerror", None) or str(fault)
        raise error(f"{path}: cannot be read: {reason}; name {what}") from None


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
    return write_whole(path, text.encode())


def toml_beside(module: str, name: str) -> dict[str, Any]:
    """A TOML file of the package, by its path from a module's folder."""
    import tomllib

    return tomllib.loads(Path(module).parent.joinpath(name).read_text("utf-8"))


def words_beside(module: str, table: str) -> dict[str, Any]:
    """The sentences of a module: a table of ``words.toml`` in its folder; {} stand for what is told."""
    return toml_beside(module, "words.toml")[table]


def cache_dir() -> Path:
    """The user's cache folder for wingtool; ``WINGTOOL_CACHE`` in the environment overrides it."""
    from platformdirs import user_cache_dir

    return Path(os.environ.get("WINGTOOL_CACHE") or user_cache_dir("wingtool", appauthor=False))


def load_arrays(path: Path | str) -> dict[str, np.ndarray] | None:
    """The arrays of a cache file by name; None for any fault in it: what it held is computed again."""
    import numpy as np

    try:
        data = plain_bytes(path, MOST_CACHED_BYTES, "", OutputError)
        with np.load(io.BytesIO(data), allow_pickle=False) as file:
            return {name: file[name] for name in file.files}
    except Exception:  # one damaged byte of an archive raises any of a dozen kinds
        return None


def save_arrays(path: Path | str, arrays: Mapping[str, np.ndarray]) -> None:
    """Write arrays for `load_arrays`, whole or not at all; the same arrays make the same bytes.

    Raises
    ------
    OutputError
        As for `write_whole`.
    """
    import numpy as np

    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        for name, values in arrays.items():
            part = io.BytesIO()
            np.save(part, np.asarray(values), allow_pickle=False)
            entry = zipfile.ZipInfo(f"{name}.npy", FIRST_ZIP_DATE)
            archive.writestr(entry, part.getvalue(), zipfile.ZIP_DEFLATED)
    write_whole(path, data.getvalue())
