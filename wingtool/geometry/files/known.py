"""Our own files, the open collection's, and whether an outline is one of them with a part damaged."""

import importlib.util
import re
from functools import lru_cache
from pathlib import Path

import numpy as np

from wingtool.files import bundled
from wingtool.geometry.families import MEAN_LINES, five_digit, four_digit
from wingtool.geometry.files.mend import off_the_base
from wingtool.geometry.frame import OFF_THE_LINE

# Places along a loop: the root of x, in which a nose is straight, negative on the side that comes first.
PLACES = np.r_[-np.linspace(0.99, 0.15, 36), np.linspace(0.15, 0.99, 36)]
FEWEST, NEAR = 20, 0.15  # points of a known section that can be compared, and how near to these places
SAME, OTHER = 1e-4, 1.5e-3  # of the chord: a place is on a known section; an outline is not that section
SCALED = 0.015  # by so much of its heights a section of a known name is another
PART = 0.47  # of the places that lie on a known section: the outline is that one, damaged in the others
UNIT, WHOLE = 0.6, 0.95  # heights by so much (log) another's in so many places: another unit
CURVED = 0.004  # of the chord; a flat side tells nothing
OFF_NOSE = 0.01  # of the chord: where no point is nearer to (0, 0), the outline is laid on its chord line
# How far a damaged nose or tail may shift and turn the frame, of the chord; pairs of places that tell by how
# much where they are sound; and how many places more must then fit.
SHIFT, TURN, GAIN = 0.02, 0.03, 8
ANCHORS = ((3, 33), (38, 68), (3, 18), (53, 68))
THICKNESSES = range(6, 25)  # per cent: members of the families that are compared
# In a title: a designation, a word of letters and digits.
NAMES = re.compile(r"(?i)naca[\s_-]*\d{4,5}\b|\b(?=[a-z-]+\d)[\w-]{3,}")
PAIR = re.compile(rb"(?m)^[ \t]*([-+.\d]*\d[-+.\dE]*)[ \t]+([-+.\d]*\d[-+.\dE]*)\s*$")


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


def _pairs(data: bytes) -> np.ndarray:
    """Points of a file as those are that we have: quicker than the reader, which takes any."""
    try:
        xy = np.array(data.partition(b"\n")[2].split(), dtype=float).reshape(-1, 2)
    except ValueError:  # text between the numbers
        xy = np.array(PAIR.findall(data), dtype=float)
    (dx, _, dx_last), (dy, _, dy_last) = np.abs(xy[[1, 0, -2]] - xy[[0, 0, -1]]).T.tolist()
    return off_the_base(xy) if dy > dx or dy_last > dx_last else xy


def _members() -> list[tuple[str, np.ndarray]]:
    """Names and loops of the families' usual members, as they are and with a sharp tail."""
    lines = ["00", *(f"{camber}{place}" for camber in range(1, 10) for place in range(2, 7))]
    sections = [four_digit(f"{line}{t:02}", 80) for line in lines for t in THICKNESSES]
    sections += [five_digit(f"2{form}{t:02}", 80) for form in MEAN_LINES for t in THICKNESSES]
    return [(section.name, xy) for section in sections for xy in (section.xy, *_closed(section.xy))]


def _closed(xy: np.ndarray) -> list[np.ndarray]:
    """A family's loop with a sharp tail: by the last coefficient of the thickness law, and by a wedge.

    Both are common practice, no source.
    """
    side = np.where(np.arange(len(xy)) < xy[:, 0].argmin(), 0.5, -0.5)
    return [xy - np.outer(side * xy[:, 0] ** power, xy[0] - xy[-1]) for power in (4, 1)]


def _along(xy: np.ndarray, counts: np.ndarray, laid: bool = False) -> tuple[np.ndarray, np.ndarray]:
    """Place and ordinate of the points (n, 2) of loops that follow each other, `counts` points each.

    A loop that does not run from (1, 0) through (0, 0), or any if `laid`, is laid on the line from its tail
    to the farthest of its points.
    """
    z, first = xy @ [1.0, 1.0j], np.cumsum(counts) - counts
    tail, loop = 0.5 * (z[first] + z[first + counts - 1]), np.repeat(np.arange(len(counts)), counts)
    nose = np.lexsort((np.abs(z - tail[loop]), loop))[first + counts - 1]
    turned = laid | (np.minimum.reduceat(np.abs(z), first) > OFF_NOSE) | (np.abs(tail - 1.0) > OFF_THE_LINE)
    origin, chord = np.where(turned, z[nose], 0.0), np.where(turned, tail - z[nose], 1.0)
    z = (z - origin[loop]) / chord[loop]
    side = np.where(np.arange(len(z)) < nose[loop], -1.0, 1.0)
    return side * np.sqrt(np.maximum(z.real, 0.0)), z.imag


@lru_cache(maxsize=1)
def _known() -> tuple[dict[str, list[int]], list[str], np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """All these, as they stand and laid on their chord lines, and which rows are laid, in half a second once.

    Rows by bare name and title, names, then of points near `PLACES` (n, 72) place, ordinate and whether it is
    not the point before again.
    """
    loops, titles = _members(), {}
    for name, path in [*profile_files().items(), *collection_files().items()]:
        data = path.read_bytes()
        try:
            loops.append((name, _pairs(data)))
        except ValueError:
            continue
        titles[name] = _bare(data.partition(b"\n")[0].decode("latin-1"))
    counts = np.array([len(xy) for _, xy in loops])
    xy = np.concatenate([xy for _, xy in loops])
    place, y, fresh = np.concatenate([_at_places(xy, counts, laid) for laid in (False, True)], axis=1)
    fine = (fresh.sum(axis=1) >= FEWEST) & (np.abs(place - PLACES).max(axis=1) < NEAR)
    names = [name for (name, _), good in zip(2 * loops, fine, strict=True) if good]
    rows: dict[str, list[int]] = {}
    for row, name in enumerate(names):
        for bare in {_bare(name), titles.get(name, "naca" + name)}:
            rows.setdefault(bare, []).append(row)
    laid = np.arange(len(fine)) >= len(loops)
    return rows, names, place[fine], y[fine], fresh[fine] > 0.0, laid[fine]


def _at_places(xy: np.ndarray, counts: np.ndarray, laid: bool) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Place and ordinate of the points near `PLACES` of each loop, and whether not the point before again."""
    place, y = _along(xy, counts, laid)
    apart = 3.0 * np.arange(len(counts))
    key, wanted = np.maximum.accumulate(place + np.repeat(apart, counts)), apart[:, None] + PLACES
    after = np.clip(np.searchsorted(key, wanted), 1, len(key) - 1)
    near = after - (wanted - key[after - 1] < key[after] - wanted)
    return place[near], y[near], np.diff(near, axis=1, prepend=-1) != 0


def _on(outline: np.ndarray, place: np.ndarray, laid: np.ndarray) -> np.ndarray:
    """Ordinates of an outline at places (n, k), in the frame of each row."""
    y = np.empty_like(place)
    for frame in (False, True):
        own_place, own_y = _along(outline, np.array([len(outline)]), frame)
        y[laid == frame] = np.interp(place[laid == frame], np.maximum.accumulate(own_place), own_y)
    return y


def _bare(name: str) -> str:
    """Letters and digits of a name that has digits; else an empty text."""
    return re.sub(r"[\W_]", "", name.lower()) if re.search(r"\d", name) else ""


def _aligned(place: np.ndarray, off: np.ndarray, same: float) -> np.ndarray:
    """Distances (n, 72) without the shift and turn that bring most of them within `same`."""
    x, best, most = place**2, off, (np.abs(off) < same).sum(axis=1) + GAIN
    for a, b in ANCHORS:
        turn = (off[:, b] - off[:, a]) / np.where(x[:, a] == x[:, b], 1.0, x[:, b] - x[:, a])
        turn = np.clip(turn, -TURN, TURN)
        shift = np.clip(off[:, a] - turn * x[:, a], -SHIFT, SHIFT)
        tried = off - shift[:, None] - turn[:, None] * x
        count = (np.abs(tried) < same).sum(axis=1)
        best, most = np.where((count > most)[:, None], tried, best), np.maximum(most, count)
    return best


def known_but(
    loop: np.ndarray, outline: np.ndarray, rounding: float, called: tuple[str, ...]
) -> tuple[str, ...]:
    """The doubt that a loop is a known section but for a part of it, or has the name of one that it is not.

    Parameters
    ----------
    loop : ndarray, shape (n, 3)
        The points and their lines.
    outline : ndarray, shape (m, 2)
        Close points on the curve through them.
    rounding : float
        Of the points; over the chord.
    called : tuple of str
        Title and file name.
    """
    rows, names, place, y, fresh, laid = _known()
    words = [word for name in called for word in (name, *NAMES.findall(name))]
    named = [row for bare in {*map(_bare, words)} - {""} for row in rows.get(bare, [])]
    coarse = _on(outline, place[:, ::8], laid) - y[:, ::8]
    near = np.union1d(named, np.flatnonzero((np.abs(coarse) < SHIFT).sum(axis=1) >= 4)).astype(int)
    if not len(near):
        return ()
    known, same = y[near], SAME + rounding
    off = _aligned(place[near], _on(outline, place[near], laid[near]) - known, same)
    worst = np.max(np.abs(off), axis=1)
    if len(named):
        thick, more = known[:, 35::-1] - known[:, 36:], off[:, 35::-1] - off[:, 36:]
        scale = 1.0 + np.sum(more * thick, axis=1) / np.sum(thick**2, axis=1)
        wrong = (worst > OTHER) | (np.abs(scale - 1.0) > SCALED)
        mine = np.isin(near, named)
        if wrong[mine].all():
            k = np.flatnonzero(mine)[worst[mine].argmin()]
            return (
                f"by its name this is {names[near[k]]}, but its outline stands up to {worst[k]:.4f} of the "
                f"chord off that one's, its thickness is {scale[k]:.3g} times that: is it damaged?",
            )
    if worst.min() < OTHER:
        return ()
    both = (-1, 2, 36)
    good = ((np.abs(off) < same) & fresh[near]).reshape(both).sum(axis=2)
    sides = good / fresh[near].reshape(both).sum(axis=2)
    tells = np.abs(known.reshape(both)).max(axis=2) > CURVED
    share = (sides * tells).sum(axis=1) / np.maximum(tells.sum(axis=1), 1)
    k = int(share.argmax())
    if share[k] < PART:
        return _scaled(names, _on(outline, place, laid), y, same)
    return (
        f"{_lines(loop, place[near[k]], off[k])} up to {worst[k]:.4f} of the chord off {names[near[k]]}, "
        "the rest lies on it: is a part damaged?",
    )


def _scaled(names: list[str], own: np.ndarray, known: np.ndarray, same: float) -> tuple[str, ...]:
    """The doubt that an outline's heights are those of a known section in another unit."""
    scale = np.sum(own * known, axis=1) / np.sum(known**2, axis=1)
    other = np.abs(np.log(np.maximum(np.abs(scale), 1e-9))) > UNIT
    like = (np.abs(own - scale[:, None] * known) < np.maximum(scale, 1.0)[:, None] * same).mean(axis=1)
    k = int((like * other).argmax())
    if like[k] * other[k] < WHOLE:
        return ()
    return (f"its heights are {scale[k]:.3g} times those of {names[k]}: are x and y in the same unit?",)


def _lines(loop: np.ndarray, place: np.ndarray, off: np.ndarray) -> str:
    """Lines of the file beside the places of one side that are most off."""
    side = np.sign(place) == np.sign(place[np.argmax(np.abs(off))])
    wrong = place[side & (np.abs(off) > 0.5 * OTHER)]
    own, _ = _along(loop[:, :2], np.array([len(loop)]))
    first, last = np.searchsorted(np.maximum.accumulate(own), [wrong.min(), wrong.max()])
    lines = loop[max(first - 1, 0) : last + 1, 2]
    lines = lines[lines > 0]
    return f"lines {lines.min():.0f} to {lines.max():.0f} are"
