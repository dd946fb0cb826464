"""A section made for the study: shape weights moved against the aim, then held against the coupled solver.

Differential evolution (R. Storn and K. Price, J. Global Optimization 11, 1997, p. 341, as scipy has it) over
the directions of the tracing's weights that the surrogate can see; it starts from the best sections found.
The value is the worst over surfaces and Reynolds numbers at one and the same wing angle. A dirty surface
enters by the coupled solver only: the surrogate does not know a trip so near the nose.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import astuple, dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.files import cache_dir
from wingtool.section import SURFACES, read_row, surrogate_shapes, write_row
from wingtool.study.choose.aim import Aim
from wingtool.study.choose.estimate import (
    ALPHA_DEG,
    LEAST_CONFIDENCE,
    WingEstimate,
    angles_below,
    areas_m2,
    at_angles,
    stall_of,
)
from wingtool.study.choose.filters import Filters, margins
from wingtool.study.choose.finalists import Finalist, lattice_values, solver_finalists, with_surface
from wingtool.study.choose.search import search_shapes
from wingtool.study.choose.shapes import Shapes, joined
from wingtool.study.progress import no_progress
from wingtool.study.trace.shape_band import trip_of
from wingtool.tracing import KULFAN_ORDER, for_surrogate, kulfan_rows

if TYPE_CHECKING:
    from wingtool.study.schema.study import Study

SEEN = 16  # weights that the surrogate reads, eight a side
POPULATION, STAGE, MOST_STAGES = 48, 8, 12  # shapes; generations between two stops; stages
LEAST_GAIN = 0.003  # of the value in a stage; two stages with less end the search
REACH = 0.1  # of the span of the first population's weights, by which a weight may leave it
FLOOR_X = np.linspace(0.05, 0.95, 46)  # x/c where a made section is no thinner than all that it starts from
LEAST_TRIP = 0.05  # x/c; at 0.01 the surrogate's own confidence is 0.4 to 0.8, at 0.05 above 0.93
REFUSED = 1e6  # cost of a shape that keeps no limit; more than any value


@dataclass(frozen=True, eq=False)
class Design:
    """What the search made, and what the coupled solver leaves of it.

    Parameters
    ----------
    best : Finalist
        The designed section, by the coupled solver on the study's own wing.
    found : Finalist
        The best section found, the same way.
    promised : float
        Gain of the one over the other by the surrogate on the lattice, in the aim's unit.
    surfaces : tuple of (surface, value found, value designed, half width of the difference)
        By the coupled solver, each at its own best angle on that surface, in the aim's unit.
    shapes : int
        How many the search looked at.
    """

    best: Finalist
    found: Finalist
    promised: float
    surfaces: tuple[tuple[str, float, float, float], ...]
    shapes: int


@dataclass(frozen=True, eq=False)
class Search:
    """What shapes are judged by: the wing's lines, the aim, the builder's limits, and the conditions.

    Parameters
    ----------
    base : ndarray, shape (26,)
        The shape that is moved.
    floor : ndarray, shape (46,)
        Least thickness over `FLOOR_X`: the thinnest of the first population there.
    estimate, aim, filters
        The wing's lines, what is wanted, the builder's limits.
    chord_m : float
    conditions : tuple of (Reynolds number, trip)
        The value is the worst of them.
    """

    base: np.ndarray
    floor: np.ndarray
    estimate: WingEstimate
    aim: Aim
    filters: Filters
    chord_m: float
    conditions: tuple[tuple[float, float], ...]

    def rows(self, weights: np.ndarray) -> np.ndarray:
        """Shape parameters (n, 26) of the base with other weights (n, 16) in the surrogate's eyes."""
        return self.base + (weights - for_surrogate(self.base)[:, :SEEN]) @ _lift().T

    def cost(self, weights: np.ndarray) -> np.ndarray:
        """What is made least (n,): minus the worst value, or more than any value for a shape not allowed."""
        rows = self.rows(weights)
        kept = [(thickness(rows) / self.floor - 1.0).min(axis=1) + 1e-9]
        kept += margins(rows, self.filters, self.chord_m).values()
        short = np.maximum(-np.array(kept), 0.0).sum(axis=0)
        cost = REFUSED * (1.0 + short)
        keep = np.flatnonzero(short == 0.0)
        if keep.size:
            value = worst_value(rows[keep], self.estimate, self.aim, self.conditions)
            cost[keep] = np.minimum(-value, REFUSED)
        return cost


def thickness(rows: np.ndarray) -> np.ndarray:
    """Thickness over the chord of rows (n, 26) at `FLOOR_X`."""
    return np.subtract(*(rows @ side.T for side in kulfan_rows(FLOOR_X, KULFAN_ORDER)))


@lru_cache(maxsize=1)
def _lift() -> np.ndarray:
    """Matrix (26, 16) that draws eight weights a side by twelve: a polynomial raised in degree, exactly."""
    x = 0.5 * (1.0 - np.cos(np.pi * np.linspace(0.01, 1.0, 60)))
    many, few = (np.vstack(kulfan_rows(x, order)) for order in (KULFAN_ORDER, SEEN // 2))
    lift = np.zeros((many.shape[1], SEEN))
    lift[:-2] = np.linalg.lstsq(many[:, :-2], few[:, :SEEN], rcond=None)[0]
    return lift


def worst_value(
    rows: np.ndarray, estimate: WingEstimate, aim: Aim, conditions: tuple[tuple[float, float], ...]
) -> np.ndarray:
    """The aim's worst value (n,) over all conditions at the best angle that keeps the margin in all of them.

    -inf where a condition shows no stall, or where the surrogate does not know the shape.
    """
    shapes = for_surrogate(rows)
    answers = [surrogate_shapes(shapes, reynolds, ALPHA_DEG, trip) for reynolds, trip in conditions]
    stall = np.min([stall_of(one.cl) for one in answers], axis=0)
    alpha = angles_below(stall, aim)
    value = np.full(alpha.shape, np.inf)
    for one in answers:
        areas = areas_m2(estimate, at_angles(one.cl, alpha), at_angles(one.cd, alpha))
        known = at_angles(one.confidence, alpha) >= LEAST_CONFIDENCE
        here = np.where(known, aim.value(*areas, stall[:, None] - alpha), -np.inf)
        value = np.minimum(value, here)
    return value.max(axis=1)


def evolved(
    search: Search,
    weights: np.ndarray,
    keep_in: Path | None = None,
    progress: Callable[[str], None] = no_progress,
) -> list[tuple[np.ndarray, float]]:
    """The best weights and their value after each stage.

    Parameters
    ----------
    search : Search
    weights : ndarray, shape (n, 16)
        The first population.
    keep_in : Path, optional
        Folder in which each finished stage is kept; a search that was stopped goes on behind the last of
        them, to the answer that it would have had.
    """
    from scipy.optimize import differential_evolution

    span = np.ptp(weights, axis=0) + 1e-3
    bounds = list(zip(weights.min(axis=0) - REACH * span, weights.max(axis=0) + REACH * span, strict=True))
    parts = (search.estimate, search.aim, search.filters)
    facts = (weights, search.base, search.floor, *(fact for part in parts for fact in astuple(part)),
             search.chord_m, search.conditions, STAGE)  # fmt: skip
    best: list[tuple[np.ndarray, float]] = []
    for stage in range(MOST_STAGES):
        kept = read_row(keep_in, (*facts, stage), ("population", "cost")) if keep_in else None
        if kept is None:
            found = differential_evolution(
                lambda columns: search.cost(columns.T),
                bounds,
                init=weights,
                maxiter=STAGE,
                tol=0.0,
                seed=stage,
                polish=False,
                updating="deferred",
                vectorized=True,
            )
            kept = {"population": found.population, "cost": found.population_energies}
            if keep_in:
                write_row(keep_in, (*facts, stage), kept)
        weights, lead = kept["population"], int(np.argmin(kept["cost"]))
        best.append((weights[lead], -float(kept["cost"][lead])))
        progress(f"design: stage {stage + 1} of {MOST_STAGES} at most, worst value {best[-1][1]:.3g}")
        values = [value for _, value in best]
        if stage > 1 and values[-1] - values[-3] < LEAST_GAIN * abs(values[-1]):
            break
    return best


def conditions_of(study: Study, speeds_m_s: tuple[float, ...]) -> tuple[tuple[float, float], ...]:
    """Reynolds numbers of the slowest, reference and fastest speed, each on every surface that is known."""
    reynolds = [float(study.air.air().reynolds(speed, study.wing.chord_m)) for speed in speeds_m_s]
    trips = sorted({max(trip_of(surface, study.wing.trip_x), LEAST_TRIP) for surface in SURFACES})
    return tuple((one, trip) for one in reynolds for trip in trips)


def designed_section(
    study: Study,
    shapes: Shapes,
    found: Finalist,
    estimate: WingEstimate,
    aim: Aim,
    filters: Filters,
    speeds_m_s: tuple[float, ...],
    reference_m_s: float,
    jobs: int | None = None,
    progress: Callable[[str], None] = no_progress,
) -> Design | None:
    """A section made from the best ones for a study's wing; None where the solver has no sound answer for it.

    Parameters
    ----------
    shapes : Shapes
        Best by the surrogate, the first population.
    found : Finalist
        The best of the coupled solver, which is moved.
    """
    start = np.vstack([found.row, shapes.rows[: POPULATION - 1]])
    search = Search(found.row, thickness(start).min(axis=0), estimate, aim, filters, study.wing.chord_m,
                    conditions_of(study, speeds_m_s))  # fmt: skip
    stages = evolved(search, for_surrogate(start)[:, :SEEN], cache_dir() / "choose", progress)
    few = sorted({len(stages) // 3, 2 * len(stages) // 3, len(stages) - 1})
    rows = search.rows(np.array([stages[k][0] for k in few]))
    names = tuple(f"made for this wing, stage {k + 1}" for k in few)
    before = Shapes((found.name,), (found.origin,), found.row[None], np.zeros(1))
    both = joined([before, Shapes(names, ("designed",) * len(few), rows, np.zeros(len(few)))])
    guess = search_shapes(both.rows, estimate, aim)
    angle = np.where(np.isfinite(guess.wing_angle_deg), guess.wing_angle_deg, found.wing_angle_deg)
    args = (both, replace(guess, wing_angle_deg=angle), aim, speeds_m_s, reference_m_s)
    solved = {surface: solver_finalists(with_surface(study, surface), *args, jobs, progress)
              for surface in (SURFACES if study.wing.trip_x is None else (study.wing.surface,))}  # fmt: skip
    gain = np.array([[one.value - each[0].value for one in each[1:]] for each in solved.values()])
    gain = np.nan_to_num(gain, nan=-np.inf).min(axis=0)
    lead = 1 + int(np.argmax(gain))
    if not np.isfinite(gain[lead - 1]):
        return None
    by_lattice = lattice_values(study, *args)
    surfaces = tuple(
        (surface, each[0].value, each[lead].value, float(np.hypot(each[0].half_width, each[lead].half_width)))
        for surface, each in solved.items()
    )
    made = solved[study.wing.surface][lead]
    looked = len(start) * (1 + STAGE * len(stages))
    return Design(made, found, float(by_lattice[lead] - by_lattice[0]), surfaces, looked)
