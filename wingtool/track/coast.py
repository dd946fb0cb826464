"""Coast-down: the drag area from how fast the car slows in neutral, in both directions, A-B-A-B.

m_e dV/dt = -(rho/2 CdA (V + w)^2 + A0) - m g sin(slope). A slope is constant and leaves the V^2 term alone; a
steady wind w is linear in the V^2 estimate and cancels over two directions on the same stretch. A w^2 is left
in the rolling term, which is not used. What is left of wind that changes is scatter between the pairs.
A road that rises and dips along the stretch does not cancel (simulated: 0.3 per cent of undulation leaves
0.011 m^2 on a change of 0.058); with positions in the log its profile is found and taken out (`road.py`,
which leaves 0.002), without them choose a level road.
"""

from dataclasses import dataclass, replace

import numpy as np

from wingtool.errors import LogError
from wingtool.files import words_beside
from wingtool.track.evidence import Evidence, change_with_drift, judged
from wingtool.track.log import Log, local_xy_m, smooth, stretches
from wingtool.track.road import along_road, speed_by_road
from wingtool.track.runs import TestRun, with_directions
from wingtool.units import M_S_PER_KM_H, USUAL

# Own choice, the limits below: each says from where on a run is doubted or refused.
COAST_EXCESS_M_S2 = 0.25  # more slowing than a + c V^2 by this for a second is braking: some 0.025 g
SAME_AIR_S = 7200.0  # runs further apart than this need the air of each
PLAUSIBLE = 0.2  # of the drag area
GOOD_SPAN = 1.6  # of highest over lowest shared speed; below it odd coasts are left out first
LEAST_SPAN = 1.3  # highest over lowest speed of a run, below which drag and rolling cannot be separated
WORDS = words_beside(__file__, "coast")
GUST_NOTE = "directions not known: a steady wind does not cancel"
ROLLING_NOTE = "measured and estimated hold the rolling drag of the parts' downforce; drag_factor does not"


@dataclass(frozen=True)
class CoastTest:
    """The drag areas of all pairs of coasts in order (`pair_cda_m2`, `pair_on`), and the judged change."""

    pair_cda_m2: tuple[float, ...]
    pair_on: tuple[bool, ...]
    evidence: Evidence
    notes: tuple[str, ...]


def coast_down(
    log: Log,
    runs: tuple[TestRun, ...],
    effective_mass_kg: float,
    density_kg_m3: float,
    predicted_m2: tuple[float, float, float],
    bare_m2: float,
    rolling_n: float,
) -> CoastTest:
    """Change of drag area that the parts make.

    Parameters
    ----------
    effective_mass_kg : float
        Mass with the rotating parts [kg].
    predicted_m2 : (value, low, high)
        Predicted change of drag area, the rolling resistance of the downforce included [m^2].
    bare_m2, rolling_n : float
        Expected drag area without the parts [m^2] and rolling resistance [N].

    Raises
    ------
    LogError
        Fewer than four coasts, coasts that share no speed range, runs hours apart without the air of each,
        or a drag area without the parts that is beyond 20 % of the expected one.
    """
    coasts = list(with_directions(log, tuple(coast for run in runs for coast in coasts_of(log, run))))
    notes = [WORDS["found"].format(len(coasts), len(runs))]
    expected = (0.5 * density_kg_m3 * bare_m2 / effective_mass_kg, rolling_n / effective_mass_kg)
    coasts = _without_brakes(log, coasts, expected, notes)
    _air_known(log, coasts, notes)
    if len(coasts) < 4:
        raise LogError(WORDS["few"].format(log.source, len(coasts)))
    log = _level(log, coasts, notes)
    low, high, coasts = _common_range(log, coasts, notes)
    areas = [_cda_m2(log, run, low, high, effective_mass_kg, density_kg_m3) for run in coasts]
    values, on, unit_name = _pairs(coasts, areas, notes)
    _plausible(log, np.array(values), np.array(on), bare_m2, predicted_m2[0])
    evidence = judged(
        "drag area", "m^2", change_with_drift(np.array(values), np.array(on)), 1.0, predicted_m2,
        sum(on), len(on) - sum(on), unit_name,
        f"{ROLLING_NOTE}; {GUST_NOTE}" if unit_name == "run" else ROLLING_NOTE,
    )  # fmt: skip
    notes.append(f"all coasts used from {high / M_S_PER_KM_H:.0f} down to {low / M_S_PER_KM_H:.0f} km/h")
    return CoastTest(tuple(values), tuple(on), evidence, tuple(notes))


def coasts_of(log: Log, run: TestRun, least_drop_m_s: float = 6.0) -> list[TestRun]:
    """Every long slowing down in a run that is gentler than braking (a quarter of g), as a run of its own."""
    time, speed = log.time_s[run.rows], log.need("speed_m_s")[run.rows]
    gentle = smooth(speed, time, 2.0)
    slowing = smooth(np.gradient(gentle, time), time, 1.0)
    on = (slowing < -0.03) & (slowing > -2.5)
    coasts: list[TestRun] = []
    for a, b in stretches(on):
        first, last = gentle[a], gentle[b - 1]
        if b - a >= 8 and first - last > least_drop_m_s and first > LEAST_SPAN * last:
            name = run.name if not coasts else f"{run.name}.{len(coasts) + 1}"
            coasts.append(replace(run, name=name, rows=run.rows[a:b]))
    return coasts


def _without_brakes(log: Log, coasts: list[TestRun], expected, notes: list[str]) -> list[TestRun]:
    """Coasts cut where the car slows more than a coast can: a braked end, however gentle.

    First against one and a half times the expected a + c V^2, then against the coast's own, fitted to what is
    left. What is then too short is left out.
    """
    kept = []
    for run in coasts:
        time = log.time_s[run.rows]
        speed = smooth(log.need("speed_m_s")[run.rows], time, 2.0)
        slowing = -np.gradient(speed, time)
        limit = 1.5 * (expected[1] + expected[0] * speed**2) + COAST_EXCESS_M_S2
        end = _first_lasting(slowing > limit, time)
        for _ in range(3):
            part = slice(0, max(int(0.6 * end), 5))
            fit = np.polyfit(speed[part] ** 2, slowing[part], 1)
            end = min(end, _first_lasting(slowing > np.polyval(fit, speed**2) + COAST_EXCESS_M_S2, time))
        if end < len(run.rows):
            # the smoothing looks a second ahead
            back = max(int(np.searchsorted(time, time[end - 1] - 1.0)), 1)
            notes.append(f"run {run.name}: braked from {speed[back] / M_S_PER_KM_H:.0f} km/h on, cut there")
            end = back
        if end >= 8 and speed[0] > LEAST_SPAN * speed[end - 1]:
            kept.append(replace(run, rows=run.rows[:end]))
        else:
            notes.append(f"run {run.name}: too little is left of it, left out")
    return kept


def _first_lasting(mask: np.ndarray, time_s: np.ndarray) -> int:
    """Index at which the mask holds for a second and more; the length if it never does."""
    return next((a for a, b in stretches(mask) if time_s[b - 1] - time_s[a] >= 1.0), len(mask))


def _air_known(log: Log, coasts: list[TestRun], notes: list[str]) -> None:
    if all(run.density_kg_m3 is not None for run in coasts):
        notes.append("density of the air from the run sheet, run by run")
        return
    starts = np.array([log.time_s[run.rows[0]] for run in coasts])
    if len(starts) and np.max(np.diff(np.sort(starts)), initial=0.0) > SAME_AIR_S:
        raise LogError(WORDS["air_needed"].format(log.source))
    notes.append(WORDS["air_unknown"])


def _plausible(log: Log, values: np.ndarray, on: np.ndarray, bare_m2: float, change_m2: float) -> None:
    """Stop where the drag area without the parts is not that of the study's car."""
    measured = float(np.mean(values[~on])) if (~on).any() else float(np.mean(values)) - change_m2
    ratio = measured / bare_m2
    if abs(ratio - 1.0) <= PLAUSIBLE:
        return
    likely = "".join(
        f"perhaps {was} under a heading of {heading}; "
        for was, heading in (("mph", "km/h"), ("km/h", "mph"), ("m/s", "km/h"), ("km/h", "m/s"))
        if abs(ratio * USUAL["speed"][heading] / USUAL["speed"][was] - 1.0) < 0.15
    )
    raise LogError(WORDS["implausible"].format(log.source, measured, bare_m2, likely))


def _level(log: Log, coasts: list[TestRun], notes: list[str]) -> Log:
    """The log with the road's effect on speed removed from every coast; unchanged without positions."""
    xy = local_xy_m(log)
    if xy is None or any(np.isnan(xy[0][c.rows]).any() for c in coasts):
        notes.append("no positions: the road is taken as level")
        return log
    rows = np.concatenate([c.rows for c in coasts])
    along = along_road(xy[0][rows], xy[1][rows])
    places = np.split(along, np.cumsum([len(c.rows) for c in coasts])[:-1])
    times = [log.time_s[c.rows] for c in coasts]
    raw = log.need("speed_m_s")
    speeds = [smooth(raw[c.rows], t, 0.5) for c, t in zip(coasts, times, strict=True)]
    level = raw.copy()
    for coast, added in zip(coasts, speed_by_road(times, speeds, places), strict=True):
        level[coast.rows] -= added
    notes.append("rise and fall of the road found from the positions and taken out")
    return replace(log, channels={**log.channels, "speed_m_s": level})


def _common_range(log: Log, coasts: list[TestRun], notes: list[str]):
    """Speed range that the coasts share; coasts much shorter than the others are left out, with a note."""
    speed = log.need("speed_m_s")
    gentle = [smooth(speed[c.rows], log.time_s[c.rows], 1.0) for c in coasts]
    tops, ends = np.array([(v.max(), v.min()) for v in gentle]).T
    index, good = np.arange(len(coasts)), np.ones(len(coasts), bool)
    while tops[good].min() < GOOD_SPAN * ends[good].max() and good.sum() > 4:
        # the coast whose absence widens the shared range most is the odd one
        ratio = [
            tops[good & (index != i)].min() / ends[good & (index != i)].max() if good[i] else 0.0
            for i in index
        ]
        good[int(np.argmax(ratio))] = False
    if not good.all():
        short = [c.name for c, g in zip(coasts, good, strict=True) if not g]
        notes.append("left out, shorter than the others: run " + ", ".join(short))
    low, high = float(ends[good].max()), float(tops[good].min())
    if high < LEAST_SPAN * low:
        raise LogError(f"{log.source}: the coasts share too little speed; start and end them alike")
    return low, high, [c for c, g in zip(coasts, good, strict=True) if g]


def _cda_m2(log: Log, run: TestRun, low: float, high: float, mass: float, density: float) -> float:
    """Drag area by least squares of V(t) = V0 - a t - c (integral of V^2); no reading is differentiated."""
    from scipy.integrate import cumulative_trapezoid

    time, speed = log.time_s[run.rows], log.need("speed_m_s")[run.rows]
    gentle = smooth(speed, time, 1.0)
    first = int(np.argmax(gentle <= high))
    after = np.flatnonzero(gentle <= low)
    last = int(after[0]) + 1 if after.size else len(gentle)
    t, v = time[first:last] - time[first], speed[first:last]
    if len(t) < 6:
        raise LogError(f"{log.source}: run {run.name} has {len(t)} readings in the common range; log faster")
    area = cumulative_trapezoid(smooth(v, t, 0.5) ** 2, t, initial=0.0)
    design = np.stack([np.ones_like(t), -t, -area], axis=1)
    scale = np.sqrt(np.mean(design**2, axis=0))
    c = np.linalg.lstsq(design / scale, v, rcond=None)[0][2] / scale[2]
    density = density if run.density_kg_m3 is None else run.density_kg_m3
    return float(2.0 * mass * c / density)


def _pairs(runs: list[TestRun], cda_m2: list[float], notes: list[str]) -> tuple[list[float], list[bool], str]:
    """Means of neighbouring runs in opposite directions, same parts; single runs if none are known."""
    if len({run.direction for run in runs}) < 2:
        notes.append(GUST_NOTE)
        return cda_m2, [run.parts_on for run in runs], "run"
    values, on, waiting = [], [], list(zip(runs, cda_m2, strict=True))
    while waiting:
        run, area = waiting.pop(0)
        following = waiting[0][0] if waiting else run
        if following.parts_on == run.parts_on and following.direction != run.direction:
            values.append((area + waiting.pop(0)[1]) / 2)
            on.append(run.parts_on)
        else:
            notes.append(f"run {run.name} has no partner in the other direction and is left out")
    return values, on, "pair of runs"
