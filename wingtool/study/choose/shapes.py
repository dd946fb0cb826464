"""Every section that may be built, as rows of Kulfan weights, fitted once and kept in the cache folder.

The weights are the tracing's own: twelve a side, one nose term, the tail gap (B. M. Kulfan, J. Aircraft
45(1), 2008). A row is a linear least-squares fit to the points of the outline in its own chord frame.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial
from itertools import product
from pathlib import Path

import numpy as np

from wingtool import geometry
from wingtool.errors import CoordinateFileError, StudyError
from wingtool.geometry import Section, kulfan, polyline
from wingtool.section import cached_rows
from wingtool.study.progress import no_progress
from wingtool.study.schema.study import Study
from wingtool.study.wing.finite_wing import named_section
from wingtool.tracing import KULFAN_ORDER
from wingtool.workers import worker_pool

GAP = 2 * KULFAN_ORDER + 1
SMOOTHNESS = 1e-4  # of second differences of the weights against the points, where points are few
FORMAT = 3  # of the kept rows; raise it when they change their meaning
COLUMNS = ("names", "origins", "rows", "rms")
TOGETHER = 100  # sections that a process fits at one go
SAME_SHAPE = 1e-3  # largest difference of ordinates over the chord at which two sections count as one
OUTLINE_POINTS = 101
ENDINGS = (".dat", ".txt", ".csv", ".cor", ".tsv")
CAMBERS, PLACES, THICKNESSES = (2, 4, 6, 8), (3, 4, 5, 6), (9, 12, 15, 18, 21)
FIVE_DIGIT = (210, 220, 230, 240, 250)


@dataclass(frozen=True, eq=False)
class Shapes:
    """Sections as rows of shape parameters.

    Parameters
    ----------
    names : ndarray of str, shape (n,)
        What a study names the section by: a name, a designation or a path.
    origins : ndarray of str, shape (n,)
        ``collection``, ``profiles``, ``folder``, ``family``, ``own`` or ``designed``.
    rows : ndarray, shape (n, 26)
    rms : ndarray, shape (n,)
        What the fit leaves of the ordinates, over the chord.
    unread : int
        Files that cannot be read.
    """

    names: np.ndarray
    origins: np.ndarray
    rows: np.ndarray
    rms: np.ndarray
    unread: int = 0

    def __len__(self) -> int:
        return len(self.names)

    @property
    def own(self) -> np.ndarray:
        """Whether a row is the study's own section, (n,)."""
        return self.origins == "own"

    def take(self, index: np.ndarray) -> Shapes:
        """The rows of an index or a mask."""
        columns = {name: getattr(self, name)[index] for name in COLUMNS}
        return replace(self, **columns)


def joined(parts: Sequence[Shapes]) -> Shapes:
    """Several sets as one."""
    columns = {name: np.concatenate([getattr(part, name) for part in parts]) for name in COLUMNS}
    return Shapes(**columns, unread=sum(part.unread for part in parts))


def fitted_row(section: Section) -> tuple[np.ndarray, float]:
    """Shape parameters (26,) of a section, and the rms of what is left of its ordinates over the chord."""
    xy = np.asarray(section.xy)
    nose = int(np.argmin(xy[:, 0]))
    x = np.clip(xy[:, 0], 0.0, 1.0)
    upper, lower = kulfan.side_rows(x, KULFAN_ORDER)
    rows = np.where((np.arange(len(x)) <= nose)[:, None], upper, lower)
    gap = xy[0, 1] - xy[-1, 1]
    y = xy[:, 1] - rows[:, GAP] * gap
    weight = np.sqrt(np.gradient(polyline.arc_length(xy)))
    smooth = np.zeros((2 * KULFAN_ORDER - 4, GAP))
    second = np.diff(np.eye(KULFAN_ORDER), 2, axis=0)
    smooth[: len(second), :KULFAN_ORDER] = smooth[len(second) :, KULFAN_ORDER : 2 * KULFAN_ORDER] = second
    left = np.vstack([rows[:, :GAP] * weight[:, None], SMOOTHNESS * smooth])
    right = np.concatenate([y * weight, np.zeros(len(smooth))])
    found = np.linalg.lstsq(left, right, rcond=None)[0]
    rest = (rows[:, :GAP] @ found - y) * weight
    return np.append(found, gap), float(np.sqrt((rest**2).sum() / (weight**2).sum()))


def fitted(names: Sequence[str], read: Callable[[str], Section], origin: str) -> Shapes:
    """Rows of the sections of these names; what `read` refuses is left out."""
    found = {}
    for name in names:
        with suppress(CoordinateFileError):
            found[name] = fitted_row(read(name))
    rows = np.array([row for row, _ in found.values()]).reshape(-1, GAP + 1)
    rms = np.array([rest for _, rest in found.values()])
    readable = np.array(list(found), dtype=str)
    return Shapes(readable, np.full(len(found), origin), rows, rms, len(names) - len(found))


def drawn(row: np.ndarray, name: str, origin: str) -> Section:
    """The section of a row."""
    return Section(name, kulfan.outline(row, OUTLINE_POINTS), origin)


def opened(section: Section, gap: float) -> Section:
    """A section whose tail is at least so thick (over the chord): a wedge from the nose is added."""
    xy = np.array(section.xy)
    more = gap - (xy[0, 1] - xy[-1, 1])
    if more <= 0.0:
        return section
    nose = int(np.argmin(xy[:, 0]))
    side = np.where(np.arange(len(xy)) <= nose, 0.5, -0.5)
    xy[:, 1] += side * more * np.clip(xy[:, 0], 0.0, 1.0)
    sentence = f"{section.origin}; tail opened to {100 * gap:.2g} % of the chord"
    return replace(section, name=f"opened {section.name}", xy=xy, origin=sentence)


def collection_shapes(progress: Callable[[str], None] = no_progress, jobs: int = 1) -> Shapes:
    """The open collection as rows, from the cache; fitted by so many processes when it is not there."""
    names = geometry.collection_names()

    def computed(_missing) -> list[dict[str, np.ndarray]]:
        progress(f"fitting the outlines of {len(names)} sections, once")
        parts = [names[k : k + TOGETHER] for k in range(0, len(names), TOGETHER)]
        with worker_pool(jobs) as pool:
            read = partial(fitted, read=geometry.collection_section, origin="collection")
            found = joined(list(pool.map(read, parts)))
        return [vars(found) | {"unread": np.array(found.unread)}]

    (row,) = cached_rows([("section shapes", FORMAT, names)], (*COLUMNS, "unread"), computed)
    unread = int(row.pop("unread"))
    return Shapes(**row, unread=unread)


def family_names() -> tuple[str, ...]:
    """Designations of the grid over the four- and five-digit families."""
    four = [f"{c}{p}{t:02d}" for c, p, t in product(CAMBERS, PLACES, THICKNESSES)]
    return (*four, *(f"{line}{t:02d}" for line, t in product(FIVE_DIGIT, THICKNESSES)))


def folder_files(folder: Path) -> list[str]:
    """Coordinate files of a folder, by path.

    Raises
    ------
    StudyError
        No such folder, or no coordinate file in it.
    """
    if not folder.is_dir():
        raise StudyError(f"--sections: {folder} is no folder; give one that holds coordinate files")
    found = [str(path.resolve()) for path in sorted(folder.iterdir()) if path.suffix.lower() in ENDINGS]
    if not found:
        raise StudyError(f"--sections: no coordinate file in {folder}; they end in .dat or .txt")
    return found


def candidates(
    study: Study,
    folder: Path | None = None,
    progress: Callable[[str], None] = no_progress,
    jobs: int = 1,
) -> Shapes:
    """Every section that may be chosen, the study's own first.

    Parameters
    ----------
    study : Study
    folder : Path, optional
        Coordinate files of the user's.
    progress : callable
        Takes a line on what is being done.
    jobs : int
        Processes that read the collection.
    """
    return joined([
        fitted([study.wing.section], lambda name: named_section(study, name), "own"),
        fitted(folder_files(folder) if folder else (), geometry.read_section, "folder"),
        fitted(geometry.profile_names(), geometry.find_section, "profiles"),
        fitted(family_names(), geometry.find_section, "family"),
        collection_shapes(progress, jobs),
    ])  # fmt: skip


def without_twins(shapes: Shapes) -> tuple[Shapes, int]:
    """The rows without those that draw the same outline as an earlier one, and how many went."""
    from scipy.spatial import cKDTree

    x = 0.5 * (1.0 - np.cos(np.linspace(0.05, 1.0, 40) * np.pi))
    upper, lower = kulfan.side_rows(x, KULFAN_ORDER)
    ordinates = shapes.rows @ np.vstack([upper, lower]).T
    pairs = cKDTree(ordinates).query_pairs(SAME_SHAPE, p=np.inf, output_type="ndarray")
    keep = np.ones(len(shapes), dtype=bool)
    for first, second in pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]:
        if keep[first]:
            keep[second] = False
    return shapes.take(keep), int((~keep).sum())
