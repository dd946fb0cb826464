"""This build against published values: recomputed each time, source by source, with the spread by regime."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace

import numpy as np

from wingtool.geometry import find_section
from wingtool.section import SectionPolar
from wingtool.study.progress import no_progress
from wingtool.study.trust.cases import REGIMES, Case, published_values
from wingtool.study.trust.check import AGREES, Check
from wingtool.study.trust.record import RecordTable, polar_figures, record_table

ANGLES_DEG = np.arange(-5.0, 21.0)


@dataclass(frozen=True)
class Trust:
    """All checks, and the measured record."""

    checks: tuple[Check, ...]
    record: RecordTable | None = None

    @property
    def agreeing(self) -> int:
        """Checks that agree."""
        return sum(check.verdict == AGREES for check in self.checks)


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
        checks = section_checks(published_values(), progress, workers)
        record = record_table(progress, workers)
    progress("panels against exact flow, wing against a second method")
    checks += panel_checks() + wing_checks()
    checks.sort(key=lambda check: REGIMES.index(check.regime))
    return Trust(tuple(checks), record)


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
    values: Sequence[tuple[Case, float, Check]],
    progress: Callable[[str], None] = no_progress,
    jobs: int = 1,
) -> list[Check]:
    """One polar for each section and condition, by the default method and by the surrogate."""
    from wingtool.section import DEFAULT_METHOD, Question, polars
    from wingtool.study.section.parallel import polars_in_parallel

    cases = list(dict.fromkeys(case for case, _, _ in values))
    asked = [
        Question(find_section(section), np.array([reynolds]), ANGLES_DEG, surface, trip_x, tab_chord)
        for section, reynolds, surface, trip_x, tab_chord in cases
    ]
    own = dict(zip(cases, polars_in_parallel(asked, DEFAULT_METHOD, jobs, progress=progress), strict=True))
    other = dict(zip(cases, polars(asked, "surrogate"), strict=True))
    return [
        replace(
            check,
            computed=read_off(own[case], check.quantity, at_deg),
            second_opinion=read_off(other[case], check.quantity, at_deg),
        )
        for case, at_deg, check in values
    ]


def read_off(polar: SectionPolar, quantity: str, at_deg: float = 0.0) -> float:
    """A quantity of `wingtool.study.trust.cases` from the first row of a polar; nan where it has none."""
    figures, reynolds = polar_figures(polar), polar.reynolds[0]
    steps_deg = np.arange(-3.0, 4.0)  # slope from zero lift to 6 degrees above, as handbooks' linear range
    linear = polar.at(figures.zero_lift_deg + 3.0 + steps_deg, reynolds).cl
    return float(
        {
            "zero-lift angle [deg]": figures.zero_lift_deg,
            "lift slope [1/deg]": steps_deg @ linear / (steps_deg @ steps_deg),
            "greatest lift": figures.cl_max,
            "moment at no lift": polar.at(figures.zero_lift_deg, reynolds).cm,
            "lift": polar.at(at_deg, reynolds).cl,
            "drag": polar.at(at_deg, reynolds).cd,
            "least drag": np.fmin.reduce(polar.cd[0]),
        }[quantity]
    )
