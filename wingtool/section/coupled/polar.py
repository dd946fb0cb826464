"""Polars from the coupled solver: status of each point, rows kept on disk."""

import numpy as np

from wingtool.errors import RangeError
from wingtool.geometry import Section, drawn_upside_down
from wingtool.section.band import nose_stall, with_band, with_second_solution
from wingtool.section.cache import cached
from wingtool.section.coupled.flow import PANELS, prepare
from wingtool.section.coupled.march import Sweep, differ, sweep
from wingtool.section.curves import SEPARATED_X, first_peak
from wingtool.section.polar import (
    BEYOND_STALL,
    CONVERGED,
    LOW_CONFIDENCE,
    NOT_CONVERGED,
    TWO_SOLUTIONS,
    SectionPolar,
)
from wingtool.section.surface import surface_state

COMPARED = (1e5, 1e7)  # Reynolds numbers of the published values in `wingtool trust`, 2e5 to 9e6, and near
MOST_FILLED = 1 / 3  # of the ground clearance by the layer: more, and it is no thin layer; own choice
_NUMBERS = ("cl", "cd", "cm", "circulation", "cd_friction")
_SIDES = ("transition", "separation", "tail_shape")
_OTHER = ("cl_other", "cd_other")
COLUMNS = (*_NUMBERS, *(f"{name}_{side}" for name in _SIDES for side in ("upper", "lower")), *_OTHER)


def coupled_polar(
    section: Section,
    reynolds: np.ndarray,
    alpha_deg: np.ndarray,
    surface: str = "race",
    trip_x: float | None = None,
    tab_chord: float = 0.0,
    height_chord: float = np.inf,
) -> SectionPolar:
    """Polar by panels and boundary layer solved together.

    Parameters
    ----------
    section : Section
    reynolds : ndarray, shape (k,)
    alpha_deg : ndarray, shape (m,)
        Increasing [deg].
    surface : str
        ``smooth``, ``race`` or ``dirty``.
    trip_x : float, optional
        Trip on both sides at this x/c, in place of the surface's own.
    tab_chord : float
        Taken so that all methods are called alike; only 0 can be answered (`with_tab` adds a tab).
    height_chord : float
        Lowest point of the turned-over section above the ground, over the chord.

    Raises
    ------
    RangeError
        Unknown surface, degenerate outline, a tab.
    """
    if tab_chord:
        raise RangeError("coupled: a tab is added to the plain section's polar; call with_tab")
    state = surface_state(surface)
    rows = [_row(section, float(re), alpha_deg, surface, trip_x, height_chord) for re in reynolds]
    table = {name: np.stack([row[name] for row in rows]) for name in (*COLUMNS, "status")}
    polar = SectionPolar(
        alpha_deg,
        reynolds,
        table["cl"],
        table["cd"],
        table["cm"],
        table["status"].astype(object),
        "coupled",
        section=section,
        surface=surface,
        trip_x=trip_x,
        height_chord=height_chord,
        circulation=table["circulation"] if np.isfinite(height_chord) else None,  # Kutta-Joukowski
        transition_upper=table["transition_upper"],
        transition_lower=table["transition_lower"],
        separation_upper=table["separation_upper"],
        notes=_notes(section, reynolds, surface, state, table["status"]),
    )
    return with_second_solution(with_band(polar), table["cl_other"], table["cd_other"])


def _notes(section, reynolds, surface, state, status) -> tuple[str, ...]:
    notes = [f"surface {surface}: {state.origin}"]
    notes += drawn_upside_down(section)
    if np.any(status == TWO_SOLUTIONS):
        notes.append("two solutions: hysteresis; the value given is met coming from low lift")
    if np.any(status == LOW_CONFIDENCE):
        notes.append(
            "low confidence: the layer fills more than a third of the gap to the ground, no thin layer"
        )
    if nose_stall(section):
        notes.append("stall from the nose is likely and outside the method: real greatest lift is lower")
    if reynolds.min() < COMPARED[0] or reynolds.max() > COMPARED[1]:
        notes.append(
            f"compared with measurement between Reynolds numbers {COMPARED[0]:.0e} and {COMPARED[1]:.0e} only"
        )
    return tuple(notes)


def _row(section, reynolds, alpha_deg, surface, trip_x, height_chord) -> dict[str, np.ndarray]:
    """One Reynolds number, from the cache or computed."""
    outline = np.append(section.xy, section.rounding)
    state = surface_state(surface)

    def computed() -> dict[str, np.ndarray]:
        prepared = prepare(section, height_chord=height_chord)
        return columns(sweep(prepared, reynolds, state, alpha_deg, trip_x))

    facts = (outline, alpha_deg, reynolds, state, trip_x, height_chord, PANELS)
    return cached(facts, (*COLUMNS, "status"), computed)


def columns(found: Sweep) -> dict[str, np.ndarray]:
    """A sweep as arrays over the angles asked for, nan where there is no solution.

    `cl_other` and `cd_other` are those of the second solution where there are two. Stall is looked for among
    all rungs of the march.
    """
    table = {name: np.full(len(found.alpha_deg), np.nan) for name in COLUMNS}
    for i, (one, back) in enumerate(zip(found.out, found.back, strict=True)):
        if one is None:
            continue
        for name in _NUMBERS:
            table[name][i] = getattr(one, name)
        for name in _SIDES:
            table[f"{name}_upper"][i], table[f"{name}_lower"][i] = getattr(one, name)
        if back is not None and differ(one, back):
            table["cl_other"][i], table["cd_other"][i] = back.cl, back.cd
    table["status"] = status(found, table)
    return {name: column[found.asked] for name, column in table.items()}


def status(found: Sweep, table: dict[str, np.ndarray]) -> np.ndarray:
    """Status of each rung of a sweep.

    A side separated ahead of `SEPARATED_X` counts as stalled whatever the lift; else a side is stalled
    beyond its first peak of lift, where the data hold its lift.
    """
    cl = table["cl"]
    words = np.full(len(cl), CONVERGED, dtype=object)
    for sign, side in ((1, "upper"), (-1, "lower")):
        separation = table[f"separation_{side}"]
        words[separation < SEPARATED_X] = BEYOND_STALL
        peak, _, seen = first_peak((sign * found.alpha_deg)[::sign], (sign * cl)[::sign], separation[::sign])
        if seen and np.any(sign * cl > 0.0):
            words[sign * found.alpha_deg > peak + 1e-9] = BEYOND_STALL
    for i, (out, why) in enumerate(zip(found.out, found.why, strict=True)):
        if out is None:
            words[i] = f"{NOT_CONVERGED}: {why or 'no solution'}"
        elif np.isfinite(table["cl_other"][i]):
            words[i] = TWO_SOLUTIONS
        elif out.fills_gap > MOST_FILLED:
            words[i] = LOW_CONFIDENCE
    return words.astype(str)
