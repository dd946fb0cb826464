"""A section made for the study: shape weights moved against the aim, then held against the coupled solver.

Differential evolution (R. Storn and K. Price, J. Global Optimization 11, 1997, p. 341, as scipy has it) over
the directions of the tracing's weights that the surrogate can see; it starts from the best sections found.
The value is the worst over surfaces and Reynolds numbers at one and the same wing angle. A dirty surface
enters by the coupled solver only: the surrogate does not know a trip so near the nose.
"""

from dataclasses import dataclass
from functools import lru_cache, partial
from itertools import product

import numpy as np

from wingtool.geometry import kulfan
from wingtool.section import SURFACES, cached_rows, trip_of
from wingtool.study.choose.estimate import LEAST_CONFIDENCE, search_shapes, working_points
from wingtool.study.choose.filters import margins
from wingtool.study.choose.finalists import Finalist, lattice_values, solver_finalists, with_surface
from wingtool.study.choose.shapes import Shapes
from wingtool.study.choose.terms import Terms
from wingtool.study.schema.study import Study
from wingtool.tracing import KULFAN_ORDER, for_surrogate

SEEN = 16  # weights that the surrogate reads, eight a side
POPULATION, STAGE, MOST_STAGES = 48, 8, 12  # shapes; generations between two stops; stages
LEAST_GAIN = 0.003  # of the value in a stage; two stages with less end the search
REACH = 0.1  # of the span of the first population's weights, by which a weight may leave it
FLOOR_X = np.linspace(0.05, 0.95, 46)  # x/c where a made section is no thinner than all that it starts from
LEAST_TRIP = 0.05  # x/c; at 0.01 the surrogate's own confidence is 0.4 to 0.8, at 0.05 above 0.93
REFUSED = 1e6  # cost of a shape that keeps no limit; more than any value


@dataclass(frozen=True, eq=False)
class Design:
    """The section that the search made, and how much of its gain the coupled solver confirms.

    Parameters
    ----------
    best : Finalist
        The designed section, by the coupled solver on the study's own wing.
    best_known : Finalist
        The best of the known sections, the same way.
    surrogate_gain : float
        Gain of the one over the other by the surrogate on the lattice, in the aim's unit.
    surfaces : tuple of (surface, value of the best known, value designed, half width of the difference)
        By the coupled solver, each at its own best angle on that surface, in the aim's unit.
    shapes : int
        How many the search looked at.
    """

    best: Finalist
    best_known: Finalist
    surrogate_gain: float
    surfaces: tuple[tuple[str, float, float, float], ...]
    shapes: int


@dataclass(frozen=True, eq=False)
class Search:
    """What shapes are judged by: the terms, the conditions, and no part thinner than what it starts from.

    Parameters
    ----------
    terms : Terms
    base : ndarray, shape (26,)
        The shape that is moved.
    floor : ndarray, shape (46,)
        Least thickness over `FLOOR_X`: the thinnest of the first population there.
    conditions : tuple of (Reynolds number, trip)
        The value is the worst of them.
    """

    terms: Terms
    base: np.ndarray
    floor: np.ndarray
    conditions: tuple[tuple[float, float], ...]

    def rows(self, weights: np.ndarray) -> np.ndarray:
        """Shape parameters (n, 26) of the base with other weights (n, 16) in the surrogate's eyes."""
        return self.base + (weights - for_surrogate(self.base)[:, :SEEN]) @ _lift().T

    def values(self, rows: np.ndarray) -> np.ndarray:
        """The worst value (n,) over all conditions; -inf where the surrogate does not know the shape."""
        wanted = (self.terms.estimate, self.terms.aim, self.conditions, self.conditions)
        found = working_points(rows, *wanted)
        return np.where(found.confidence >= LEAST_CONFIDENCE, found.value, -np.inf)

    def cost(self, weights: np.ndarray) -> np.ndarray:
        """What is made least (n,): minus the worst value, or more than any value for a shape not allowed."""
        rows = self.rows(weights)
        kept = [(thickness(rows) / self.floor - 1.0).min(axis=1) + 1e-9]
        kept += margins(rows, self.terms.filters, self.terms.study.wing.chord_m).values()
        short = np.maximum(-np.array(kept), 0.0).sum(axis=0)
        cost = REFUSED * (1.0 + short)
        keep = np.flatnonzero(short == 0.0)
        if keep.size:
            cost[keep] = np.minimum(-self.values(rows[keep]), REFUSED)
        return cost


def thickness(rows: np.ndarray) -> np.ndarray:
    """Thickness over the chord of rows (n, 26) at `FLOOR_X`."""
    return np.subtract(*(rows @ side.T for side in kulfan.side_rows(FLOOR_X, KULFAN_ORDER)))


@lru_cache(maxsize=1)
def _lift() -> np.ndarray:
    """Matrix (26, 16) that draws eight weights a side by twelve: a polynomial raised in degree, exactly."""
    x = 0.5 * (1.0 - np.cos(np.pi * np.linspace(0.01, 1.0, 60)))
    many, few = (np.vstack(kulfan.side_rows(x, order)) for order in (KULFAN_ORDER, SEEN // 2))
    lift = np.zeros((many.shape[1], SEEN))
    lift[:-2] = np.linalg.lstsq(many[:, :-2], few[:, :SEEN], rcond=None)[0]
    return lift


def evolved(search: Search, weights: np.ndarray) -> list[tuple[np.ndarray, float]]:
    """The best weights and their value after each stage.

    Each finished stage is kept in the cache: a search that was stopped goes on behind the last of them, to
    the answer that it would have had.

    Parameters
    ----------
    search : Search
    weights : ndarray, shape (n, 16)
        The first population.
    """
    span = np.ptp(weights, axis=0) + 1e-3
    bounds = list(zip(weights.min(axis=0) - REACH * span, weights.max(axis=0) + REACH * span, strict=True))
    terms, best = search.terms, list[tuple[np.ndarray, float]]()
    wanted = (terms.estimate, terms.aim, terms.filters, terms.study.wing.chord_m)
    facts = ("design", weights, search.base, search.floor, *wanted, search.conditions, STAGE)
    for stage in range(MOST_STAGES):
        ask = partial(_stage, search, bounds, weights, stage)
        (kept,) = cached_rows([(*facts, stage)], ("population", "cost"), ask)
        weights, lead = kept["population"], int(np.argmin(kept["cost"]))
        best.append((weights[lead], -float(kept["cost"][lead])))
        values = [value for _, value in best]
        terms.progress(f"design: stage {stage + 1} of at most {MOST_STAGES}, worst {values[-1]:.3g}")
        if stage > 1 and values[-1] - values[-3] < LEAST_GAIN * abs(values[-1]):
            break
    return best


def _stage(search: Search, bounds, weights: np.ndarray, stage: int, _missing) -> list[dict[str, np.ndarray]]:
    """A population (n, 16) after so many generations, and its cost."""
    from scipy.optimize import differential_evolution

    found = differential_evolution(
        lambda columns: search.cost(columns.T), bounds, init=weights, maxiter=STAGE, tol=0.0, seed=stage,
        polish=False, updating="deferred", vectorized=True,
    )  # fmt: skip
    return [{"population": found.population, "cost": found.population_energies}]


def conditions_of(study: Study, speeds_m_s: tuple[float, ...]) -> tuple[tuple[float, float], ...]:
    """Reynolds numbers of speeds, each on every surface that the surrogate knows."""
    reynolds = [float(study.air.air().reynolds(speed, study.wing.chord_m)) for speed in speeds_m_s]
    trips = sorted({max(trip_of(surface, study.wing.trip_x), LEAST_TRIP) for surface in SURFACES})
    return tuple(product(reynolds, trips))


def designed_section(terms: Terms, shapes: Shapes, found: Finalist) -> Design | None:
    """A section made from the best ones for a study's wing; None where the solver has no sound answer for it.

    Parameters
    ----------
    terms : Terms
    shapes : Shapes
        Best by the surrogate, the first population.
    found : Finalist
        The best of the coupled solver, which is moved.
    """
    study = terms.study
    start = np.vstack([found.row, shapes.rows[: POPULATION - 1]])
    floor = thickness(start).min(axis=0)
    search = Search(terms, found.row, floor, conditions_of(study, terms.speeds_m_s))
    stages = evolved(search, for_surrogate(start)[:, :SEEN])
    few = sorted({len(stages) // 3, 2 * len(stages) // 3, len(stages) - 1})
    rows = np.vstack([found.row, search.rows(np.array([stages[k][0] for k in few]))])
    names = np.array([found.name, *(f"made for this wing, stage {k + 1}" for k in few)])
    origins = np.array([found.origin] + ["designed"] * len(few))
    both = Shapes(names, origins, rows, np.zeros(len(rows)))
    angle = search_shapes(rows, terms.estimate, terms.aim).wing_angle_deg
    angle = np.where(np.isfinite(angle), angle, found.point.angle_deg)
    surfaces = SURFACES if study.wing.trip_x is None else (study.wing.surface,)
    solved = {surface: solver_finalists(with_surface(terms, surface), both, angle) for surface in surfaces}
    gain = np.array([[stage.value - each[0].value for stage in each[1:]] for each in solved.values()])
    gain = np.nan_to_num(gain, nan=-np.inf).min(axis=0)
    lead = 1 + int(np.argmax(gain))
    if not np.isfinite(gain[lead - 1]):
        return None
    by_lattice = lattice_values(terms, both, angle)
    compared = tuple(
        (name, each[0].value, each[lead].value, float(np.hypot(each[0].half_width, each[lead].half_width)))
        for name, each in solved.items()
    )
    looked = len(start) * (1 + STAGE * len(stages))
    return Design(
        solved[study.wing.surface][lead], found, float(by_lattice[lead] - by_lattice[0]), compared, looked
    )
