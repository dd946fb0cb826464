"""Slips of a person with calipers or a pen: named by their row, not smoothed over.

Readings that slipped together (a line left out, a wing that moved while its stations were read) leave no
outlier: the fit bends to another smooth section. So each slip of a list is held against the spread of real
sections, a normal distribution of the shape's weights over the open collection: how much likelier are the
readings with the slip than without (Bayes factor of linear models with normal priors; R. E. Kass and A. E.
Raftery, "Bayes Factors", J. Am. Stat. Assoc. 90(430), 1995).
"""

from dataclasses import dataclass, replace

import numpy as np

from wingtool.files import words_beside
from wingtool.geometry import polyline
from wingtool.tracing.fit import solve
from wingtool.tracing.fit.curve import GAP, SHAPE, Placed, distances, real_sections
from wingtool.tracing.readings import LOWER, UPPER, Readings

WORDS = words_beside(__file__, "slips")
SLIP = 2.0 * solve.OUTLIER  # standard deviations: beyond it a reading was written down wrong
NAMED = 4
# own choices, set on the simulated readings of tracing/README.md; a fresh seed there
LEAST_LOG_ODDS, AS_LIKELY = 3.5, 2.5  # natural logarithms: said at all; of a second slip below the likeliest
ONE, SINGLE, MOVED_MM, WHOLE = 12.0, 40.0, 2.0, 0.2  # spread of slips: standard deviations; mm; whole lines
HOOK, HOOKED = 2, 0.002  # last stations that a hooked tail moves beyond the spread of sections; of the chord
ENDS_SHORT = 0.01  # of the chord
FEW = 20  # a slip that can happen at one place only is as likely as one at one of so many


@dataclass(frozen=True, eq=False)
class Slip:
    """Directions (n, m) in which a slip moves the readings, from each of m stations on; `mean` and `spread`
    of how far; `kind` is a key of `WORDS`, "one" that of a reading, `of` what it is said of."""

    kind: str
    columns: np.ndarray
    mean: float
    spread: float
    of: str = ""
    axis: int = 1


def _side_moves(readings: Readings, normal: np.ndarray, after: np.ndarray) -> list[Slip]:
    """Sides moved against each other from places (n, m) on; directions are outward distances [mm]."""
    found, (upper, lower) = [], _sides(readings)
    for of, other in (("both sides lie", None), (f"the {upper} lies", LOWER), (f"the {lower} lies", UPPER)):
        for axis in (0, 1):
            moved = after * ((readings.side != other) * normal[:, axis])[:, None]
            found.append(Slip("moved", moved, 0.0, MOVED_MM, of, axis))
    x = readings.points_mm[:, :1]
    tipped = (x - x.min()) / np.ptp(x) * (readings.side == UPPER)[:, None] * normal[:, 1:]
    return [*found, Slip("tipped", tipped, 0.0, MOVED_MM)]


def _station_slips(readings: Readings, placed: Placed, normal: np.ndarray) -> list[Slip]:
    """Slips of caliper readings, from each station on."""
    x = readings.points_mm[:, 0]
    station, row = np.unique(x, return_inverse=True)
    after, last = x[:, None] >= station, x == station[-1]
    step = np.diff(station)
    late = after * (np.append(step[0], step)[row] * normal[:, 0])[:, None]
    early = after * (-np.append(step, 0.0)[row] * normal[:, 0])[:, None]
    found = [
        Slip("one", np.diag(readings.error_mm), 0.0, ONE),
        Slip("line", np.hstack([late, late * ~last[:, None]]), 1.0, WHOLE, "before"),
        Slip("line", early, 1.0, WHOLE, "after"),
        *_side_moves(readings, normal, after),
    ]
    loop = placed.loop_mm()
    nose = loop[:, 0].argmin()
    for part, of in zip((loop[nose::-1], loop[nose:]), _sides(readings), strict=True):
        arc = np.interp(x, np.maximum.accumulate(part[:, 0]), polyline.arc_length(part))
        moved = (arc - x + station[0]) * normal[:, 0]
        found.append(Slip("stepped", np.column_stack([moved, moved * ~last]), 1.0, WHOLE, of))
    return found


def _singles(readings: Readings) -> list[tuple[str, tuple[float, float]]]:
    measured = {"chord": readings.chord_mm, "tail": readings.tail_mm, "nose radius": readings.nose_radius_mm}
    return [(name, value) for name, value in measured.items() if value is not None]


def _looked_for(fitted: solve.Fitted):
    """Slips with their columns in standard deviations of readings and priors (k, m), the outline's own span
    (k, p) there, orthonormal, and what the outline leaves (k,)."""
    readings, placed = fitted.readings, fitted.placed
    found = distances(placed, readings.points_mm, readings.side, readings.way == "stations")
    whiten = solve.whitener(found, readings.error_mm, placed.chord_mm, solve.COMMON_SHARE[readings.way])
    mean, covariance = real_sections()
    root = np.linalg.inv(np.linalg.cholesky(covariance))
    beside = 0.0 if readings.way == "points" else readings.offset_error_mm  # a pen is a slip of its own
    held_to = solve.prior(replace(readings, offset_error_mm=beside))
    kept, target = (part[-1 - solve.SHARED :] for part in held_to)  # tail gap, shared errors
    rows = np.vstack([np.pad(root, ((0, 0), (0, SHAPE + 4 + solve.SHARED - GAP))), kept])
    target = np.append(root @ mean, target) - rows[:, :SHAPE] @ placed.shape
    extra, extra_target = solve.extra_rows(placed, readings, np.zeros(len(whiten), dtype=bool))
    normal = found.jacobian[:, SHAPE : SHAPE + 2]
    ends = np.unique(readings.points_mm[:, 0])[-HOOK:] if readings.way == "stations" else np.zeros(0)
    hook = (readings.points_mm[:, :1] == ends) * normal[:, 1:] * HOOKED * placed.chord_mm
    columns = np.hstack([solve.error_columns(placed, found), hook])
    extra, rows = (np.pad(part, ((0, 0), (0, len(ends)))) for part in (extra, rows))
    held = np.eye(len(ends), columns.shape[1], columns.shape[1] - len(ends))
    outline = np.linalg.qr(np.vstack([whiten @ columns, extra, rows, held]))[0]
    target = np.append(target, np.zeros(len(ends)))
    left = np.concatenate([whiten @ (found.distance_mm - readings.offset_mm), extra_target, target])
    below = len(left) - len(whiten)
    alone = np.eye(len(left), below, -len(whiten))[:, : len(_singles(readings))]
    if readings.way == "stations":
        alone[:, [name == "chord" for name, _ in _singles(readings)]] = 0.0  # held against the last station
        slips = _station_slips(readings, placed, normal)
    else:
        all_round = np.ones((len(whiten), 1))
        slips = [*_side_moves(readings, normal, all_round), Slip("pen", all_round, 0.0, MOVED_MM)]
    looked_for = [(slip, np.pad(whiten @ slip.columns, ((0, below), (0, 0)))) for slip in slips]
    if alone.size:
        looked_for.append((Slip("alone", alone, 0.0, SINGLE), alone))
    return looked_for, outline, left - outline @ (outline.T @ left)


def _ends_short(readings: Readings) -> bool:
    """Whether the last station lies before the tail, as where a line was left out."""
    last_mm = readings.points_mm[:, 0].max()
    return readings.chord_mm is not None and last_mm < (1.0 - ENDS_SHORT) * readings.chord_mm[0]


def likeliest_slips(fitted: solve.Fitted) -> list[tuple[Slip, int, float]]:
    """The likeliest slip and perhaps another, which of its columns, and how far; none if none is likely."""
    looked_for, outline, left = _looked_for(fitted)
    found = []
    for slip, columns in looked_for:
        seen = np.sqrt(np.maximum((columns**2).sum(axis=0) - ((outline.T @ columns) ** 2).sum(axis=0), 1e-12))
        z = columns.T @ left / seen
        scale = np.sqrt(np.maximum(1.0, (left @ left - z**2) / (len(fitted.outlier) - 1)))
        z, seen = z / scale, seen / scale
        wide = 1.0 + (slip.spread * seen) ** 2
        factor = 0.5 * (z**2 - (z - slip.mean * seen) ** 2 / wide - np.log(wide))
        k = int(factor.argmax())
        places = max(len(z), FEW) if fitted.readings.way == "stations" else 1
        odds = float(np.logaddexp.reduce(factor) - np.log(places))
        if slip.kind == "line" and slip.of == "after" and _ends_short(fitted.readings):
            odds += np.log(FEW)  # then it is as likely at once as a slip at one place of so many
        found.append((odds, (slip, k, float(z[k] / seen[k]))))
    found.sort(key=lambda one: -one[0])
    if not found or np.logaddexp.reduce([one[0] for one in found]) < LEAST_LOG_ODDS:
        return []
    return [which for odds, which in found[:2] if odds > found[0][0] - AS_LIKELY]


def _sides(readings: Readings) -> tuple[str, str]:
    """What the person calls the outline's upper and lower side."""
    return ("upper side", "lower side") if readings.lay[1] > 0.0 else ("lower side", "upper side")


def _name(readings: Readings, k) -> str:
    (x, y), side = readings.points_mm[k] * readings.lay, readings.side[k] * readings.lay[1]
    if readings.way == "stations":
        return f"station x = {x:g} mm, {'upper' if side == UPPER else 'lower'} {y:g} mm"
    click = f"click {k + 1}, " if readings.way == "photo" else ""
    return f"{click}point ({x:.5g}, {y:.5g}) mm"


def _text(readings: Readings, slip: Slip, k: int, moved: float) -> str:
    if slip.kind == "alone":
        name, (value, error) = _singles(readings)[k]
        cause = WORDS["pen_width" if name == "chord" else "zero"]
        return WORDS["alone"].format(name, max(value - moved * error, 0.0), value, cause)
    if slip.kind == "one":
        return WORDS["one"].format(_name(readings, k), abs(moved) * readings.error_mm[k])
    station = np.unique(readings.points_mm[:, 0])
    x = station[k % len(station)] * readings.lay[0]
    start = f"from station x = {x:g} mm on " if readings.way == "stations" else ""
    if slip.kind == "pen":
        return WORDS["pen"].format(mm=abs(moved), way="out" if moved > 0.0 else "in")
    way = (("far forward", "far aft"), ("low", "high"))[slip.axis][moved * readings.lay[slip.axis] > 0.0]
    return WORDS[slip.kind].format(start=start, of=slip.of, mm=abs(moved), way=way)


def _moved_mm(readings: Readings, slip: Slip, k: int, moved: float) -> np.ndarray:
    """How far a slip moved the readings (n,); a width measured wrong says as much of either side by half."""
    if slip.kind == "alone":
        return np.full(len(readings.side), 0.5 * moved * _singles(readings)[k][1][1])
    return moved * slip.columns[:, k]


def slips(fitted: solve.Fitted) -> tuple[tuple[str, ...], tuple[str, ...], np.ndarray]:
    """Readings left out of the fit as notes; as doubts those that were written down wrong, one or many; and
    how far these may have moved the readings (n, m) [mm]."""
    readings = fitted.readings
    off_mm = np.abs(fitted.residual_mm)
    left_out = sorted(np.flatnonzero(fitted.outlier), key=lambda k: -off_mm[k])
    clicked = readings.way == "photo" and readings.tail_blur_mm == 0.0
    if readings.way == "photo" and not clicked:
        text = f"{len(left_out)} points of the edge, up to {off_mm[left_out].max(initial=0.0):.1f} mm off"
        return (f"{text} the section, were left out",)[: len(left_out)], (), np.zeros((len(off_mm), 0))
    left_out = left_out[:NAMED]
    texts = [f"{_name(readings, k)}, lies {off_mm[k]:.1f} mm off the section; left out" for k in left_out]
    likeliest = [] if clicked else likeliest_slips(fitted)
    doubts = tuple(["; or ".join(_text(readings, *slip) for slip in likeliest)][: len(likeliest)])
    modes_mm = np.array([_moved_mm(readings, *slip) for slip in likeliest]).reshape(-1, len(off_mm)).T
    if likeliest and likeliest[0][0].kind != "one":
        return tuple(texts), doubts, modes_mm
    gross = int(np.count_nonzero((off_mm / readings.error_mm)[left_out] > SLIP))
    if gross == 0:
        return tuple(texts), doubts, modes_mm
    wrong = tuple(f"{text}: correct that reading" for text in texts[:gross])
    return tuple(texts[gross:]), wrong, modes_mm
