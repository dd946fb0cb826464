"""The folder of a run: what an earlier run wrote and this one does not goes, what is not ours stays."""

from collections.abc import Iterable
from pathlib import Path

from wingtool.errors import OutputError
from wingtool.files import plain_bytes, writable_folder, write_text

LIST, MOST_BYTES = "files.txt", 100_000
SUBFOLDERS = ("", "tables", "pictures")
ALWAYS_WRITTEN = ("page.html", "tables/wing.csv")


def check_folder(folder: Path) -> None:
    """Before the work: a run's folders can be written, and what stands there under its names is its own.

    Raises
    ------
    OutputError
        A folder that cannot be written, a page or table that no earlier run wrote.
    """
    for part in SUBFOLDERS:
        writable_folder(folder / part)
    for name in set(ALWAYS_WRITTEN) - listed(folder):
        if (folder / name).exists():
            raise OutputError(f"{folder / name}: not of an earlier run; move it or choose another folder")


def listed(folder: Path) -> set[str]:
    """Files that earlier runs wrote, by the list in the folder; those that are there no more left out."""
    try:
        names = plain_bytes(folder / LIST, MOST_BYTES, "", OutputError).decode().splitlines()
    except (OutputError, UnicodeDecodeError):
        return set()
    return {name for name in names if _inside(name) and (folder / name).is_file()}


def claim(folder: Path, tables: Path) -> None:
    """Before the first file is written: list it, so that a run that is killed does not lock the folder.

    The tables of earlier runs are forgotten, whose package would keep them: only where the list says that an
    earlier run wrote the package; another's stops the run as ever.
    """
    package, names = tables / "datapackage.json", listed(folder)
    if package.relative_to(folder).as_posix() in names:
        package.unlink(missing_ok=True)
    _write_list(folder, names | set(ALWAYS_WRITTEN))


def settle(folder: Path, written: Iterable[Path]) -> tuple[list[str], list[str]]:
    """Remove what earlier runs wrote and this one did not; write the new list.

    Returns
    -------
    removed, left : list of str
        Names that went, and those in the run's folders that are nobody's here and stay.
    """
    now = {path.relative_to(folder).as_posix() for path in written}
    removed = sorted(listed(folder) - now)
    for name in removed:
        (folder / name).unlink(missing_ok=True)
    _write_list(folder, now)
    there = [path for part in SUBFOLDERS for path in (folder / part).glob("*") if path.is_file()]
    left = {path.relative_to(folder).as_posix() for path in there} - now - {LIST}
    return removed, sorted(name for name in left if not name.split("/")[-1].startswith("."))


def _write_list(folder: Path, names: set[str]) -> None:
    write_text(folder / LIST, "".join(f"{name}\n" for name in sorted(names)))


def _inside(name: str) -> bool:
    """Whether a listed name lies where a run writes: a list that was tampered with removes nothing else."""
    parts = Path(name).parts
    return 1 <= len(parts) <= 2 and ".." not in parts and (len(parts) == 1 or parts[0] in SUBFOLDERS)
