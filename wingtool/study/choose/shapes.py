"""Sections as rows of Kulfan weights, fitted once and kept in the cache folder.

The weights are the tracing's own: twelve a side, one nose term, the tail gap (B. M. Kulfan, J. Aircraft
45(1), 2008). A row is a linear least-squares fit to the points of the outline in its own chord frame.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from wingtool.errors import CoordinateFileError
from wingtool.files import cache_dir, load_arrays, save_arrays
from wingtool.geometry import Section, collection_names, collection_section, polyline
from wingtool.study.progress import no_progress
from wingtool.tracing import KULFAN_ORDER, kulfan_outline, kulfan_rows
from wingtool.workers import worker_pool

GAP = 2 * KULFAN_ORDER + 1
SMOOTHNESS = 1e-4  # of second differences of the weights against the points, where points are few
FORMAT = 1  # of the kept file; raise it when rows change their meaning
SAME_SHAPE = 1e-3  # largest difference of ordinates over the chord at which two sections count as one
OUTLINE_POINTS = 101


@dataclass(frozen=True, eq=False)
class Shapes:
    """Sections as rows of shape parameters.

    Parameters
    ----------
    names : tuple of str, length n
        What a study names the section by: a name, a designation or a path.
    origins : tuple of str, length n
        ``collection``, ``profiles``, ``folder``, ``family``, ``own`` or ``designed``.
    rows : ndarray, shape (n, 26)
    rms : ndarray, shape (n,)
        What the fit leaves of the ordinates, over the chord.
    left_out : tuple of str
        Names that cannot be read.
    """

    names: tuple[str, ...]
    origins: tuple[str, ...]
    rows: np.ndarray
    rms: np.ndarray
    left_out: tuple[str, ...] = ()

    def __len__(self) -> int:
        return len(self.names)

    def take(self, index: np.ndarray) -> Shapes:
        """The rows of an index or a mask."""
        which = np.arange(len(self))[index]
        return Shapes(
            tuple(self.names[k] for k in which),
            tuple(self.origins[k] for k in which),
            self.rows[which],
            self.rms[which],
            self.left_out,
        )


def joined(parts: Sequence[Shapes]) -> Shapes:
    """Several sets as one."""
    return Shapes(
        tuple(name for part in parts for name in part.names),
        tuple(origin for part in parts for origin in part.origins),
        np.concatenate([part.rows for part in parts]),
        np.concatenate([part.rms for part in parts]),
        tuple(name for part in parts for name in part.left_out),
    )


def fitted_row(section: Section) -> tuple[np.ndarray, float]:
    """Shape parameters (26,) of a section, and the rms of what is left of its ordinates over the chord."""
    xy = np.asarray(section.xy)
    nose = int(np.argmin(xy[:, 0]))
    x = np.clip(xy[:, 0], 0.0, 1.0)
    upper, lower = kulfan_rows(x, KULFAN_ORDER)
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


def fitted(sections: Sequence[tuple[str, Section]], origin: str) -> Shapes:
    """Rows of named sections."""
    if not sections:
        return Shapes((), (), np.zeros((0, GAP + 1)), np.zeros(0))
    rows, rms = zip(*(fitted_row(section) for _, section in sections), strict=True)
    return Shapes(
        tuple(name for name, _ in sections), (origin,) * len(sections), np.array(rows), np.array(rms)
    )


def drawn(row: np.ndarray, name: str, origin: str) -> Section:
    """The section of a row."""
    return Section(name, kulfan_outline(row, OUTLINE_POINTS), origin)


def opened(section: Section, gap: float) -> Section:
    """A section whose tail is at least so thick (over the chord): a wedge from the nose is added."""
    xy = np.array(section.xy)
    more = gap - (xy[0, 1] - xy[-1, 1])
    if more <= 0.0:
        return section
    nose = int(np.argmin(xy[:, 0]))
    side = np.where(np.arange(len(xy)) <= nose, 0.5, -0.5)
    xy[:, 1] += side * more * np.clip(xy[:, 0], 0.0, 1.0)
    told = f"{section.origin}; tail opened to {100 * gap:.2g} % of the chord"
    return Section(f"opened {section.name}", xy, told, section.repairs, section.rounding)


def collection_shapes(progress: Callable[[str], None] = no_progress, jobs: int = 1) -> Shapes:
    """The open collection as rows, from the cache folder; fitted and written when it is not there."""
    path = _kept_path()
    kept = load_arrays(path) or {}
    if set(kept) == {"names", "rows", "rms", "left_out"}:
        names = tuple(kept["names"].tolist())
        left_out = tuple(kept["left_out"].tolist())
        return Shapes(names, ("collection",) * len(names), kept["rows"], kept["rms"], left_out)
    names = collection_names()
    progress(f"fitting the outlines of {len(names)} sections, once")
    if jobs == 1:
        found = _fitted_by_name(names)
    else:
        with worker_pool(jobs) as pool:
            found = joined(list(pool.map(_fitted_by_name, [names[k::jobs] for k in range(jobs)])))
        place = {name: k for k, name in enumerate(names)}
        found = found.take(np.argsort([place[name] for name in found.names]))
    arrays = {name: np.array(getattr(found, name)) for name in ("names", "rows", "rms")}
    save_arrays(path, {**arrays, "left_out": np.array(sorted(found.left_out), dtype=str)})
    return found


def _fitted_by_name(names: Sequence[str]) -> Shapes:
    read, left_out = [], []
    for name in names:
        try:
            read.append((name, collection_section(name)))
        except CoordinateFileError:
            left_out.append(name)
    return replace(fitted(read, "collection"), left_out=tuple(left_out))


def _kept_path() -> Path:
    print_of_names = hashlib.sha256("\n".join(collection_names()).encode()).hexdigest()[:12]
    return cache_dir() / f"section-shapes-{FORMAT}-{print_of_names}.npz"


def without_twins(shapes: Shapes) -> tuple[Shapes, int]:
    """The rows without those that draw the same outline as an earlier one, and how many went."""
    from scipy.spatial import cKDTree

    x = 0.5 * (1.0 - np.cos(np.linspace(0.05, 1.0, 40) * np.pi))
    upper, lower = kulfan_rows(x, KULFAN_ORDER)
    ordinates = shapes.rows @ np.vstack([upper, lower]).T
    pairs = cKDTree(ordinates).query_pairs(SAME_SHAPE, p=np.inf, output_type="ndarray")
    keep = np.ones(len(shapes), dtype=bool)
    for first, second in pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]:
        if keep[first]:
            keep[second] = False
    return shapes.take(keep), int((~keep).sum())
