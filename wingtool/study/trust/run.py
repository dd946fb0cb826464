"""This build against published values: recomputed each time, source by source, with the spread by regime."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wingtool.errors import WingtoolError
from wingtool.section import Question
from wingtool.study.progress import no_progress
from wingtool.study.section.parallel import polars_in_parallel
from wingtool.study.trust.cases import NOT_MEASURED, REGIMES, SECTION_VALUES, Published
from wingtool.study.trust.check import Check
from wingtool.study.trust.record import RecordTable, record_table

if TYPE_CHECKING:
    from wingtool.geometry import Section

ANGLES_DEG = np.arange(-5.0, 21.0)
LOW_ANGLES_DEG = np.arange(-4.0, 7.0)
BELOW_STALL = ("least drag", "zero-lift angle [deg]", "moment at no lift")


@dataclass(frozen=True)
class Spread:
    """What was found in one regime for one quantity: cases, mean and spread of the difference.

    In per cent of the published value where that is not near zero, else in the quantity's unit.
    """

    regime: str
    quantity: str
    cases: int
    mean: float
    spread: float
    in_percent: bool


@dataclass(frozen=True)
class Trust:
    """All checks, their spread by regime, and what could not be measured against."""

    checks: tuple[Check, ...]
    spreads: tuple[Spread, ...]
    not_measured: dict[str, str]
    record: RecordTable | None = None


def run_trust(progress: Callable[[str], None] = no_progress, jobs: int | None = None) -> Trust:
    """Recompute everything that this build is held against, with nothing taken from a cache.

    Parameters
    ----------
    progress : callable
        Takes a line on what is being done.
    jobs : int, optional
        Processes; one for each core if left out.
    """
    from wingtool.study.trust.wing import panel_checks, wing_checks

    workers = jobs or os.cpu_count() or 1
    with _no_cache():
        checks = section_checks(SECTION_VALUES, progress, workers)
        record = record_table(progress, workers)
    progress("panels against exact flow")
    checks += panel_checks()
    progress("wing against a second method")
    checks += wing_checks()
    order = {regime: k for k, regime in enumerate(REGIMES)}
    checks.sort(key=lambda check: order[check.regime])
    return Trust(tuple(checks), spreads(checks), dict(NOT_MEASURED), record)


@contextmanager
def _no_cache() -> Iterator[None]:
    """No cache, so that no polar of an earlier build is taken for this one's, and a kill leaves no folder."""
    before = os.environ.get("WINGTOOL_CACHE")
    os.environ["WINGTOOL_CACHE"] = os.devnull
    try:
        yield
    finally:
        if before is None:
            del os.environ["WINGTOOL_CACHE"]
        else:
            os.environ["WINGTOOL_CACHE"] = before


def section_checks(
    values: Sequence[Published], progress: Callable[[str], None] = no_progress, jobs: int = 1
) -> list[Check]:
    """One polar for each section and condition, by the default method and by the surrogate."""
    from wingtool.section import DEFAULT_METHOD, polars

    cases: dict[tuple, list[Published]] = {}
    for value in values:
        key = (value.section, value.reynolds, value.surface, value.trip_x, value.tab_chord)
        cases.setdefault(key, []).append(value)
    found, whys = _sections(cases)
    asked = {key: _question(key, found[key], wanted) for key, wanted in cases.items() if key in found}
    one_each = list(asked.values())
    own = polars_in_parallel(one_each, DEFAULT_METHOD, jobs, progress=lambda done: progress(str(done)))
    both = dict(zip(asked, zip(own, polars(one_each, "surrogate"), strict=True), strict=True))
    checks = []
    for key, wanted in cases.items():
        one, other = both.get(key, (None, None))
        checks += [_section_check(value, one, other, whys.get(key, "")) for value in wanted]
    return checks


def _sections(cases: Iterable[tuple]) -> tuple[dict[tuple, Section], dict[tuple, str]]:
    """Sections by case, and why for those that cannot be had."""
    from wingtool.geometry import find_section

    found, whys = {}, {}
    for key in cases:
        try:
            found[key] = find_section(key[0])
        except WingtoolError as error:
            whys[key] = str(error)
    return found, whys


def _question(key: tuple, section: Section, wanted: Sequence[Published]) -> Question:
    _, reynolds, surface, trip_x, tab_chord = key
    no_stall = all(value.quantity in BELOW_STALL for value in wanted)
    angles = LOW_ANGLES_DEG if no_stall else ANGLES_DEG
    return Question(section, np.array([reynolds]), angles, surface, trip_x, tab_chord)


def _section_check(value: Published, own, other, why: str) -> Check:
    state = f"tripped at {value.trip_x:g}" if value.trip_x is not None else value.surface
    tab = f", tab {100 * value.tab_chord:g} %" if value.tab_chord else ""
    angle = f", {value.at:g}°" if value.quantity in ("lift", "drag") else ""
    measure = QUANTITIES[value.quantity]
    computed = measure(own, value.at) if own is not None else np.nan
    if not np.isfinite(computed) and not why:
        why = "points that it needs did not converge"
    return Check(
        regime=value.regime,
        subject=value.section,
        condition=f"Reynolds number {value.reynolds / 1e6:g} million, {state}{tab}{angle}",
        quantity=value.quantity,
        published=value.value,
        tolerance=value.tolerance,
        computed=computed,
        second_opinion=measure(other, value.at) if other is not None else np.nan,
        kind="PUBLISHED",
        source=value.source,
        note=why,
    )


def first_top(cl: np.ndarray) -> int:
    """Index of the first top of a curve that the next three points do not reach again; the highest otherwise.

    Examples
    --------
    >>> first_top(np.array([0.0, 0.8, 1.2, 1.1, 1.1, 1.15, 1.3]))
    2
    """
    good = np.flatnonzero(np.isfinite(cl))
    values = cl[good]
    for k in range(1, len(values) - 1):
        after = values[k + 1 : k + 4]
        if values[k] >= values[: k + 1].max() > 0.0 and (after < values[k]).all() and len(after):
            return int(good[k])
    return int(good[np.argmax(values)])


def _rising(polar) -> np.ndarray:
    """Rows up to the greatest lift that are numbers."""
    cl = polar.cl[0]
    if not np.isfinite(cl).any():
        return np.zeros(len(cl), dtype=bool)
    return np.isfinite(cl) & (np.arange(len(cl)) <= first_top(cl))


def _at_lift(polar, values: np.ndarray, lift: float) -> float:
    keep = _rising(polar)
    cl = np.maximum.accumulate(polar.cl[0][keep])
    return float(np.interp(lift, cl, values[keep])) if keep.sum() > 2 and cl[0] <= lift <= cl[-1] else np.nan


def _slope(polar, _at: float) -> float:
    """Least squares within 4 degrees of the zero-lift angle and 6 above."""
    zero = _at_lift(polar, polar.alpha_deg, 0.0)
    keep = _rising(polar) & (np.abs(polar.alpha_deg - zero - 3.0) <= 3.01)
    return float(np.polyfit(polar.alpha_deg[keep], polar.cl[0][keep], 1)[0]) if keep.sum() > 2 else np.nan


def _greatest(polar, _at: float) -> float:
    """The first top of cl over angle, by a parabola through it and its neighbours."""
    cl = polar.cl[0]
    good = np.flatnonzero(np.isfinite(cl))
    if len(good) < 3:
        return np.nan
    k = first_top(cl)
    if k in (good[0], good[-1]) or not np.isfinite(cl[k - 1 : k + 2]).all():
        return float(cl[k])
    left, top, right = cl[k - 1 : k + 2]
    bend = left - 2 * top + right
    return float(top - (right - left) ** 2 / (8 * bend)) if bend < 0 else float(top)


def _interpolated(values: np.ndarray, polar, at: float) -> float:
    keep = np.isfinite(values)
    inside = keep.any() and polar.alpha_deg[keep][0] <= at <= polar.alpha_deg[keep][-1]
    return float(np.interp(at, polar.alpha_deg[keep], values[keep])) if inside else np.nan


QUANTITIES: dict[str, Callable] = {
    "zero-lift angle [deg]": lambda polar, _: _at_lift(polar, polar.alpha_deg, 0.0),
    "lift slope [1/deg]": _slope,
    "moment at no lift": lambda polar, _: _at_lift(polar, polar.cm[0], 0.0),
    "greatest lift": _greatest,
    "lift": lambda polar, at: _interpolated(polar.cl[0], polar, at),
    "drag": lambda polar, at: _interpolated(polar.cd[0], polar, at),
    "least drag": lambda polar, _: float(np.nanmin(polar.cd[0])) if np.isfinite(polar.cd).any() else np.nan,
}


def spreads(checks: Sequence[Check]) -> tuple[Spread, ...]:
    """Mean and root-mean-square of the differences for each regime and quantity."""
    found = []
    for regime in REGIMES:
        names = dict.fromkeys(check.quantity for check in checks if check.regime == regime)
        for name in names:
            group = [
                c for c in checks if c.regime == regime and c.quantity == name and np.isfinite(c.computed)
            ]
            if group:
                found.append(_spread(regime, name, group))
    return tuple(found)


def _spread(regime: str, name: str, group: Sequence[Check]) -> Spread:
    published = np.array([check.published for check in group])
    difference = np.array([check.difference for check in group])
    in_percent = bool(np.all(np.abs(published) > 1e-3)) and "angle" not in name and "moment" not in name
    if in_percent:
        difference = 100.0 * difference / published
    rms = float(np.sqrt(np.mean(difference**2)))
    return Spread(regime, name, len(group), float(difference.mean()), rms, in_percent)
