"""Nearest known sections: every section of the open collection as a row of ordinates, compared at once.

Two outlines are compared after what does not make a section is taken out, by least squares within small
bounds: nose place, chord, turn, tail thickness. The index is built once and cached in a file.
"""

import hashlib
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from wingtool.errors import CoordinateFileError
from wingtool.files import cache_dir, load_arrays, save_arrays
from wingtool.geometry import Section, collection_names, collection_section, polyline

STATIONS = 0.5 * (1.0 - np.cos(np.linspace(0.08 * np.pi, 0.985 * np.pi, 56)))
FORMAT = 2  # of the index file; raise it when rows change their meaning
TURN = 0.006  # standard deviations [rad]; over the chord of nose place, chord, turn and tail gap
LOOSE = (0.003, 0.003, 0.004, TURN, 0.004)


@dataclass(frozen=True, eq=False)
class Index:
    """Names and rows (n, 2 x stations): upper then lower ordinates over the chord, tail gap taken out."""

    names: tuple[str, ...]
    rows: np.ndarray


@dataclass(frozen=True)
class Match:
    """A known section like the one asked for.

    Differences are what is left after alignment, over the chord; `turn_deg` is how far the asked section's
    chord line was turned.
    """

    name: str
    rms: float
    worst: float
    turn_deg: float


def row_of(xy: np.ndarray) -> np.ndarray:
    """Ordinates (2 x stations,) of a loop (n, 2) in the frame of its own chord, tail gap taken out."""
    tail = 0.5 * (xy[0] + xy[-1])
    nose = int(np.hypot(*(xy - tail).T).argmax())
    along = tail - xy[nose]
    turn = np.array([[along[0], along[1]], [-along[1], along[0]]]) / (along @ along)
    own = (xy - xy[nose]) @ turn.T
    half_gap = 0.5 * (own[0, 1] - own[-1, 1]) * STATIONS
    upper, lower = (polyline.ordinates(side, STATIONS) for side in (own[nose::-1], own[nose:]))
    return np.concatenate([upper - half_gap, lower + half_gap])


def build_index() -> Index:
    """Read the whole collection into rows; what cannot be read is left out."""
    rows = {}
    for name in collection_names():
        with suppress(CoordinateFileError):
            rows[name] = row_of(collection_section(name).xy)
    return Index(tuple(rows), np.array(list(rows.values())))


def index_path() -> Path:
    """The index file for this collection, in the cache folder."""
    print_of_names = hashlib.sha256("\n".join(collection_names()).encode()).hexdigest()[:12]
    return cache_dir() / f"nearest-sections-{FORMAT}-{print_of_names}.npz"


def load_index() -> Index:
    """The index from the cache folder; built and written, whole or not at all, when it is not there.

    Raises
    ------
    OutputError
        The cache folder cannot be written.
    """
    path = index_path()
    found = load_arrays(path)
    if found is not None and set(found) == {"names", "rows"}:
        return Index(tuple(found["names"].tolist()), found["rows"])
    index = build_index()
    save_arrays(path, {"names": np.array(index.names), "rows": index.rows})
    return index


def _loose_columns(row: np.ndarray) -> np.ndarray:
    """What nose place, chord, turn and tail gap do to the ordinates, per standard deviation of each."""
    x = np.concatenate([STATIONS, STATIONS])
    slope = np.concatenate([np.gradient(half, STATIONS) for half in np.split(row, 2)])
    sign = np.repeat([0.5, -0.5], len(STATIONS))
    columns = [-slope, np.ones_like(x), row - x * slope, x + row * slope, sign * x]
    return np.column_stack(columns) * LOOSE


def nearest(section: Section, index: Index, count: int = 8) -> tuple[Match, ...]:
    """The sections of an index most like one, nearest first.

    Parameters
    ----------
    section : Section
    index : Index
    count : int
        How many.

    Returns
    -------
    tuple of Match
        Likeness, never identity: near-duplicates abound.
    """
    row = row_of(section.xy)
    loose = _loose_columns(row)
    held = np.vstack([loose, 1e-3 * np.sqrt(len(row)) * np.eye(loose.shape[1])])
    solver = np.linalg.pinv(held)[:, : len(row)]
    apart = index.rows - row
    shift = apart @ solver.T
    left = apart - shift @ loose.T
    rms = np.sqrt((left**2).mean(axis=1))
    best = np.argsort(rms, kind="stable")[:count]
    worst, turn_deg = np.abs(left).max(axis=1), np.degrees(shift[:, 3] * TURN)
    return tuple(Match(index.names[k], float(rms[k]), float(worst[k]), float(turn_deg[k])) for k in best)
