"""All sections that may be built: the collection, our profiles, a folder of the user's, the families."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import product
from pathlib import Path

from wingtool.errors import CoordinateFileError, StudyError
from wingtool.geometry import Section, find_section, profile_names, read_section
from wingtool.study.choose.shapes import Shapes, collection_shapes, fitted, joined
from wingtool.study.progress import no_progress

ENDINGS = (".dat", ".txt", ".csv", ".cor", ".tsv")
CAMBERS, PLACES, THICKNESSES = (2, 4, 6, 8), (3, 4, 5, 6), (9, 12, 15, 18, 21)
FIVE_DIGIT = (210, 220, 230, 240, 250)


def family_names() -> tuple[str, ...]:
    """Designations of the grid over the four- and five-digit families."""
    four = [f"{c}{p}{t:02d}" for c, p, t in product(CAMBERS, PLACES, THICKNESSES)]
    return (*four, *(f"{line}{t:02d}" for line, t in product(FIVE_DIGIT, THICKNESSES)))


def folder_sections(folder: Path) -> tuple[list[tuple[str, Section]], list[str]]:
    """Readable coordinate files of a folder by path, and the names of the others.

    Raises
    ------
    StudyError
        No such folder, or no coordinate file in it.
    """
    if not folder.is_dir():
        raise StudyError(f"--sections: {folder} is no folder; give one that holds coordinate files")
    read, left_out = [], []
    for path in sorted(path for path in folder.iterdir() if path.suffix.lower() in ENDINGS):
        try:
            read.append((str(path.resolve()), read_section(path)))
        except CoordinateFileError:
            left_out.append(path.name)
    if not read:
        raise StudyError(f"--sections: no readable coordinate file in {folder}; they end in .dat or .txt")
    return read, left_out


def candidates(
    name: str,
    own: Section,
    folder: Path | None = None,
    progress: Callable[[str], None] = no_progress,
    jobs: int = 1,
) -> Shapes:
    """Every section that may be chosen, the study's own first.

    Parameters
    ----------
    name : str
        What the study calls its section.
    own : Section
    folder : Path, optional
        Coordinate files of the user's.
    progress : callable
        Takes a line on what is being done.
    jobs : int
        Processes that read the collection.
    """
    parts = [fitted([(name, own)], "own")]
    if folder is not None:
        read, left_out = folder_sections(folder)
        mine = fitted(read, "folder")
        parts.append(replace(mine, left_out=tuple(left_out)))
    parts.append(fitted([(one, find_section(one)) for one in profile_names()], "profiles"))
    parts.append(fitted([(one, find_section(one)) for one in family_names()], "family"))
    parts.append(collection_shapes(progress, jobs))
    return joined(parts)
