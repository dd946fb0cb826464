"""Our own files, the open collection's, and whether an outline is one of them on one side only."""

import importlib.util
import re
from functools import lru_cache
from pathlib import Path

import numpy as np

from wingtool.files import bundled
from wingtool.geometry.files.mend import off_the_base
from wingtool.geometry.polyline import ordinates

STATIONS = np.linspace(0.15, 0.98, 23) ** 2  # over the root of x, in which a nose is straight
SAME, OTHER = 2e-4, 1e-3  # of the chord: one side is that of a known section, neither or both are
CURVED = 0.004  # of the chord; a flat side tells nothing
PAIR = re.compile(rb"(?m)^[ \t]*([-+.\d]*\d[-+.\dE]*)[ \t]+([-+.\d]*\d[-+.\dE]*)\s*$")
SIDES = ("upper", "lower")


@lru_cache(maxsize=1)
def collection_files() -> dict[str, Path]:
    """Names (lower case) and files of the collection that aerosandbox ships, which is not imported for it."""
    spec = importlib.util.find_spec("aerosandbox")
    if spec is None or not spec.submodule_search_locations:
        return {}
    folder = Path(spec.submodule_search_locations[0], "geometry", "airfoil", "airfoil_database")
    return {path.stem.lower(): path for path in sorted(folder.glob("*.dat"))}


@lru_cache(maxsize=1)
def profile_files() -> dict[str, Path]:
    """Names (lower case) and files of the sections of our own making."""
    return {path.stem.lower(): path for path in sorted(bundled("profiles").glob("*.dat"))}


def _halves(loop: np.ndarray) -> np.ndarray:
    """Both sides of a loop (n, 2) over lines from their first stations to their tails, and the tail's gap.

    Shape (2, 24). The nose, where a side may end in a point of the other, hardly counts.
    """
    nose = int(loop[:, 0].argmin())
    rows = np.zeros((2, len(STATIONS) + 1))
    for row, side in zip(rows, (loop[nose::-1], loop[nose:]), strict=True):
        along = (side[-1] - side[0]) / np.sum((side[-1] - side[0]) ** 2)
        y = ordinates((side - side[0]) @ np.array([along, [-along[1], along[0]]]).T, STATIONS)
        row[:-1] = y - y[0] * (1.0 - STATIONS) / (1.0 - STATIONS[0])
    rows[1, -1] = (loop[0, 1] - loop[-1, 1]) / np.ptp(loop[:, 0])
    return rows


@lru_cache(maxsize=1)
def _known() -> tuple[list[str], np.ndarray]:
    """Names and halves, shape (n, 2, 24), of all these: half a second once, with one of the repairs."""
    names, rows = [], []
    for name, path in [*profile_files().items(), *collection_files().items()]:
        try:
            loop = np.array(PAIR.findall(path.read_bytes()), dtype=float)
        except ValueError:
            continue
        if loop[0].min() > 1.5:  # counts of the two sides, each from its nose
            count = int(loop[0, 0])
            loop = np.concatenate([loop[count:0:-1], loop[count + 2 :]])
        rows.append(_halves(off_the_base(loop)))
        names.append(name)
    return names, np.array(rows)


def one_side_known(loop: np.ndarray) -> tuple[str, ...]:
    """The doubt that one side of a loop (n, 2) is that of a known section and the other is not.

    Of 2172 sections of the collection, each held against the others, 75 share one side only with another.
    """
    names, known = _known()
    if not names:
        return ()
    own = _halves(loop)
    apart = np.abs(known - own)
    off = apart.max(axis=2)
    same = (apart[..., :-1].max(axis=2) < SAME) & (np.abs(own[:, :-1]).max(axis=1) > CURVED)
    if not same.any() or off.max(axis=1).min() < OTHER:
        return ()
    one, side = np.unravel_index(np.where(same, off[:, ::-1], np.inf).argmin(), same.shape)
    return (
        f"the {SIDES[side]} side is that of {names[one]}, the {SIDES[1 - side]} side is not, "
        f"by {off[one, 1 - side]:.3f} of the chord: is it damaged?",
    )
