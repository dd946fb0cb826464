"""A section over a range of angles: marched outward from near zero lift, then back again.

Each angle starts from its neighbour's solution. The way out follows the branch that is attached at low
lift; the way back starts beyond stall. Where both ways end at different answers, the section has two
solutions at that angle: in flight or on a car it is hysteresis, and which one is met depends on what the
flow did before. The way back starts at the outermost angle asked for: hysteresis beyond it is not seen.

The numbers below steer how solutions are looked for, and which count as the same; all are own choice.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from wingtool.panels import circulation, free_air, place
from wingtool.section.coupled.flow import Flow, Point, Prepared, flow_at, point, solving
from wingtool.section.coupled.predictor import extrapolate
from wingtool.section.coupled.solve import Solving, solve_together
from wingtool.section.surface import Surface

STEP_DEG = 1.0  # longest step of the march
LEAST_STEP_DEG = 0.12
ANGLE_DECIMALS, SAME_ANGLE_DEG = 6, 1e-6  # a flow is set up at the rounded angle, which counts as arrived
MOST_STEPS, MOST_STEPS_STALLED = 25, 20  # longer ways lead to other branches; half the step in angle does not
FALLEN_CL, BEHIND_STALL_DEG = 0.02, 2.5  # behind stall by so much, failures are taken as they come
GIVE_UP_AFTER = 3  # angles in a row without a solution
HIGHER = 1.0, 8.0, 40.0  # Reynolds numbers tried for a start, over that asked for
FIRST_DEG = (2.0, 0.0, -2.0, 4.0, 6.0, 8.0)  # angles tried for a start
GROUND_START = 0.3  # height [chord] of a start near the ground
# Height after the first step down over that before; the march ends where a step of the second fails.
GROUND_STEP, GROUND_LEAST_STEP = 0.85, 0.97
GROUND_TRIES = 3  # starts that are lowered before it is given up
MET_FOR = 3  # angles in a row at which the way back must meet the way out
JUMP_PER_DEG = 0.03  # change of lift slope from one angle to the next that calls for a second look
COLD_START_CL, COLD_START_PER_DEG = 0.1, 0.15  # how far lift from nothing may be off the neighbour's
BEYOND_INVISCID_CL, BEYOND_PER_THICKNESS = 0.15, 12.4  # see `plausible`
SAME_CL = 0.01  # two answers whose cl differ by less are one
SAME_SHAPE = 0.08  # and whose shape factor at the tail differs by less than this part


@dataclass(frozen=True, eq=False)
class Sweep:
    """One Reynolds number over angles.

    Parameters
    ----------
    alpha_deg : ndarray, shape (n,)
        Angles of the march [deg]: the angles asked for, and between them so many more that no step is longer
        than a degree, from the start near zero lift. What is found does not depend on the spacing asked for.
    asked : ndarray of int, shape (m,)
        Which of them were asked for.
    out, back : tuple of (Point or None)
        Solutions on the way out and on the way back.
    why : tuple of str
        Why there is no solution on the way out; empty where there is one.
    newton_steps : int
        Made in all.
    """

    alpha_deg: np.ndarray
    asked: np.ndarray
    out: tuple[Point | None, ...]
    back: tuple[Point | None, ...]
    why: tuple[str, ...]
    newton_steps: int


@dataclass(frozen=True, eq=False)
class Row:
    """One Reynolds number of a prepared section, to be marched over increasing angles [deg]."""

    prepared: Prepared
    reynolds: float
    surface: Surface
    alpha_deg: np.ndarray
    trip_x: float | None = None


class _March:
    """One way through the angles; notes the steps that it makes. Its methods are generators, see `solve`."""

    def __init__(self, row: Row, made: list[int]):
        self.row = row
        self.made = made
        self.why = ""
        self.last: Point | None = None
        self.most_steps = MOST_STEPS

    def at_reynolds(self, reynolds: float) -> "_March":
        """The same at another Reynolds number; its steps are noted here too."""
        return _March(replace(self.row, reynolds=reynolds), self.made)

    def at_height(self, height_chord: float) -> "_March":
        """The same at another height; its steps are noted here too."""
        lower = replace(self.row.prepared, height_chord=height_chord, outer={})
        return _March(replace(self.row, prepared=lower), self.made)

    def solve(
        self,
        alpha_deg: float,
        start: Point | None,
        before: Point | None = None,
        pseudo_transient: bool = False,
    ) -> Solving[Point | None]:
        """Solve one angle from a neighbour's solution, or that and the one before, or from nothing."""
        row = self.row
        key = round(float(alpha_deg), ANGLE_DECIMALS)
        flow = flow_at(row.prepared, key, row.reynolds, row.surface, row.trip_x)
        state = start.solution.state if start else None
        if start is not None and before is not None and before.alpha_deg != start.alpha_deg:
            part = (alpha_deg - start.alpha_deg) / (start.alpha_deg - before.alpha_deg)
            state = extrapolate(before.solution, start.solution, part)
        found = yield from solving(flow, state, pseudo_transient, self.most_steps)
        self.made.append(found.steps)
        self.why = found.why
        if found.converged and plausible(flow, found):
            return point(flow, found)
        self.why = self.why or "converged to an unphysical solution (lift far above inviscid)"
        return None

    def reach(self, alpha_deg: float, start: Point, least_deg: float) -> Solving[tuple[Point | None, Point]]:
        """Go from a solution to an angle in steps as long as they succeed; there, and how far it got.

        After two failures the flow is followed in time from the last solution: where a branch ends, at an
        abrupt stall, it leads over to the next.
        """
        before = self.last if self.last is not None and self.last.alpha_deg != start.alpha_deg else None
        here, step, failures = start, alpha_deg - start.alpha_deg, 0
        while abs(alpha_deg - here.alpha_deg) > SAME_ANGLE_DEG:
            left = alpha_deg - here.alpha_deg
            step = np.sign(left) * min(abs(step), abs(left), STEP_DEG)
            found = yield from self.solve(here.alpha_deg + step, here, before)
            if found is not None:
                before, here, step = here, found, 2 * step
                self.last = before
                continue
            if least_deg >= STEP_DEG:
                # Where the curve bends, the last state as it is may be the better start.
                found = (yield from self.solve(here.alpha_deg + step, here)) if before is not None else None
                self.last = here
                return found, found or here
            failures, before = failures + 1, None
            if failures == 2:
                found = yield from self.follow(alpha_deg, here)
                if found is not None:
                    return found, found
            if abs(step) <= least_deg:
                return None, here
            step = step / 2
        return here, here

    def follow(self, alpha_deg: float, start: Point) -> Solving[Point | None]:
        """Follow the flow in time from a solution at another angle, perhaps to another branch."""
        found = yield from self.solve(alpha_deg, start, pseudo_transient=True)
        if found is not None:
            self.last = None
        return found


def plausible(flow: Flow, solution) -> bool:
    """A solution that a flow can have: positive layers, and lift not far beyond that without viscosity.

    Beyond it, or beyond none, lies a flow whose layer is thick at the tail on one side, by laminar
    separation: that acts as camber. A displacement d moves the mean line there by d/2; over the last tenth
    of the chord that is a flap turned by 5 d, which thin-section theory makes worth 2.49 per radian
    (Glauert, 1927).
    """
    gamma = np.stack([flow.case.response.ue_inviscid, solution.edge.gamma])[:, : flow.case.nodes]
    free, found = circulation(flow.system, gamma)[:, 0]
    at_tail = solution.edge.displacement[[0, flow.case.nodes - 1]]
    beyond = BEYOND_INVISCID_CL + BEYOND_PER_THICKNESS * float(at_tail.max())
    positive = solution.state.theta.min() > 0 and np.isfinite(found)
    return bool(positive and -beyond < found * np.sign(free) < abs(free) + beyond)


def zero_lift_deg(prepared: Prepared) -> float:
    """Inviscid zero-lift angle in free air [deg]."""
    system = prepared.system
    if system is None:
        system, _ = place([prepared.outline], 0.0)
    gamma = free_air(system, np.array([0.0, 90.0]))
    lift = circulation(system, gamma)[:, 0]
    return float(np.degrees(np.arctan2(-lift[0], lift[1])))


def sweep(
    prepared: Prepared, reynolds: float, surface: Surface, alpha_deg: np.ndarray, trip_x: float | None = None
) -> Sweep:
    """One row alone; see `sweeps`."""
    return sweeps([Row(prepared, reynolds, surface, alpha_deg, trip_x)])[0]


def sweeps(rows: Sequence[Row]) -> list[Sweep]:
    """March rows over their angles together, outward and back; a row does not depend on the others.

    Both ways from near zero lift, up and down, are marched at the same time.
    """
    marches = [_March(row, []) for row in rows]
    firsts = solve_together([_first(march) for march in marches])
    sides, found = [], []
    for march, first in zip(marches, firsts, strict=True):
        if first is None:
            continue
        angles = _march_angles(first.alpha_deg, march.row.alpha_deg)
        sides += [_side(_March(march.row, march.made), angles, first, side) for side in (1, -1)]
    ways = iter(solve_together(sides))
    for march, first in zip(marches, firsts, strict=True):
        ends = () if first is None else (next(ways), next(ways))
        found.append(_put_together(march, first, ends))
    return found


def _put_together(march: _March, first: Point | None, ends: tuple["_Way", ...]) -> Sweep:
    alpha_deg = march.row.alpha_deg
    if first is None:
        none, size = (None,) * len(alpha_deg), len(alpha_deg)
        reasons = (march.why or "no start near zero lift",) * size
        return Sweep(alpha_deg, np.arange(size), none, none, reasons, sum(march.made))
    angles = _march_angles(first.alpha_deg, alpha_deg)
    asked = np.searchsorted(angles, alpha_deg - SAME_ANGLE_DEG)
    out: list[Point | None] = [None] * len(angles)
    back: list[Point | None] = [None] * len(angles)
    why = [""] * len(angles)
    for way in ends:
        for i in way.path:
            out[i], back[i], why[i] = way.out[i], way.back[i], way.why[i]
    return Sweep(angles, asked, tuple(out), tuple(back), tuple(why), sum(march.made))


@dataclass(frozen=True, eq=False)
class _Way:
    """One side of a sweep: which of the march's angles, and what was found at each of all of them."""

    path: list[int]
    out: list[Point | None]
    back: list[Point | None]
    why: list[str]


def _side(march: _March, angles: np.ndarray, first: Point, side: int) -> Solving[_Way]:
    """From the first solution to greater lift (side 1) or less (-1), and back."""
    path = [i for i in range(len(angles)) if side * (angles[i] - first.alpha_deg) >= -SAME_ANGLE_DEG][::side]
    none: list[Point | None] = [None] * len(angles)
    way = _Way(path, none, list(none), [""] * len(angles))
    if path:
        yield from _outward(march, angles, first, way, side)
        yield from _inward(march, angles, way)
    return way


def _march_angles(first_deg: float, alpha_deg: np.ndarray) -> np.ndarray:
    """The angles asked for and the first, with more between them where they are over a degree apart."""
    apart = np.abs(alpha_deg - first_deg) > SAME_ANGLE_DEG
    ends = np.sort(np.append(alpha_deg[apart], first_deg if apart.all() else alpha_deg[~apart]))
    between = [
        np.linspace(one, other, int(np.ceil((other - one) / STEP_DEG - SAME_ANGLE_DEG)), endpoint=False)
        for one, other in zip(ends[:-1], ends[1:], strict=True)
    ]
    return np.append(np.concatenate(between) if between else [], ends[-1])


def _first(march: _March) -> Solving[Point | None]:
    """A solution near zero lift to start from; near the ground one found further up and lowered."""
    near_ground = march.row.prepared.height_chord < GROUND_START
    above = march.at_height(GROUND_START) if near_ground else march
    towards = zero_lift_deg(march.row.prepared) / 6 + 1.0  # a little loaded, hardly at the nose; own choice
    tries = GROUND_TRIES
    for higher, start_deg in product(HIGHER, (towards, *FIRST_DEG)):
        found = yield from _from_nothing(above, round(start_deg, 2), higher)
        if found is not None and near_ground:
            found, tries = (yield from _lowered(march, found)), tries - 1
        if found is not None:
            return found
        if not tries:
            break
    march.why = march.why or above.why
    return None


def _from_nothing(march: _March, alpha_deg: float, higher: float) -> Solving[Point | None]:
    """A solution from nothing, found at a Reynolds number so many times as high and taken down.

    Layers are thin at the higher one.
    """
    reynolds = higher * march.row.reynolds
    thin = march if higher == 1.0 else march.at_reynolds(reynolds)
    found = yield from thin.solve(alpha_deg, None)
    if found is not None and higher > 1.0:
        found = yield from _taken_down(march, found, reynolds)
    march.why = march.why or thin.why
    return found


def _lowered(march: _March, start: Point) -> Solving[Point | None]:
    """A solution at `GROUND_START` lowered to the height of the march, in shorter steps where one fails."""
    wanted, height, step, here = march.row.prepared.height_chord, GROUND_START, GROUND_STEP, start
    while height > wanted * (1 + 1e-9):
        lower = max(height * step, wanted)
        level = march if lower == wanted else march.at_height(lower)
        found = yield from level.solve(here.alpha_deg, here)
        if found is not None:
            here, height = found, lower
        elif step > GROUND_LEAST_STEP:
            march.why = march.why or level.why
            return None
        else:
            step = np.sqrt(step)
    return here


def _taken_down(march: _March, found: Point, reynolds: float) -> Solving[Point | None]:
    """A solution at a higher Reynolds number taken down to that of the march."""
    here: Point | None = found
    while here is not None and reynolds > march.row.reynolds * (1 + 1e-9):
        reynolds = max(reynolds / 1.6, march.row.reynolds)
        here = yield from march.at_reynolds(reynolds).solve(found.alpha_deg, here)
    return here


def _outward(march: _March, angles: np.ndarray, first: Point, way: _Way, side: int) -> Solving[None]:
    here, stuck, failed, peak = first, None, 0, first
    march.last = None
    out, why = way.out, way.why
    for i in way.path:
        fallen = side * here.cl < side * peak.cl - FALLEN_CL
        stalled = fallen and abs(here.alpha_deg - peak.alpha_deg) > BEHIND_STALL_DEG
        if stalled and failed:
            why[i] = "no solution nearer to zero lift to start from"
            continue
        march.most_steps = MOST_STEPS_STALLED if stalled else MOST_STEPS
        found, alpha = None, float(angles[i])
        if here is stuck and failed < GIVE_UP_AFTER:
            found = yield from march.follow(alpha, here)
        elif here is not stuck:
            found, here = yield from march.reach(alpha, here, STEP_DEG if stalled else LEAST_STEP_DEG)
            stuck = here
        why[i] = march.why
        if found is None and not stalled:
            found = yield from _cold_start(march, alpha, here)
        if found is None:
            failed += 1
            continue
        failed, why[i] = 0, ""
        out[i] = here = found
        stuck = None
        peak = max(peak, found, key=lambda one: side * one.cl)


def _cold_start(march: _March, alpha_deg: float, neighbour: Point) -> Solving[Point | None]:
    """A solution from nothing, taken only where it is not far from the neighbour's."""
    found = yield from march.solve(alpha_deg, None)
    if (
        found is None
        or abs(found.cl - neighbour.cl)
        > COLD_START_PER_DEG * abs(alpha_deg - neighbour.alpha_deg) + COLD_START_CL
    ):
        return None
    march.last = None
    return found


def _inward(march: _March, angles: np.ndarray, way: _Way) -> Solving[None]:
    """From the outermost solution back in. An angle that had none on the way out may find one here.

    Once the way back has met the way out at a few angles in a row, and the rest is smooth, both are
    the same from there on.
    """
    path, out, back, why = way.path, way.out, way.back, way.why
    before, here, met = None, None, 0
    march.most_steps = MOST_STEPS
    for step in range(len(path) - 1, -1, -1):
        i = path[step]
        if met >= MET_FOR and _smooth([out[j] for j in path[: step + 2]]):
            back[i] = out[i]
            continue
        if here is None:
            back[i] = here = out[i]
            continue
        found = yield from march.solve(float(angles[i]), here, before)
        met = met + 1 if found is not None and out[i] is not None and not differ(found, out[i]) else 0
        before = here if found is not None else None
        if found is None:
            found = out[i]
        elif out[i] is None:
            out[i], why[i] = found, ""
        back[i] = found
        here = found or here


def _smooth(points: list[Point | None]) -> bool:
    """A way without gap, and without a jump of lift against the line through its neighbours."""
    there = [one for one in points if one is not None]
    if len(there) < len(points):
        return False
    alpha, cl = (np.array([getattr(one, name) for one in there]) for name in ("alpha_deg", "cl"))
    slope = np.diff(cl) / np.diff(alpha)
    return bool(np.all(np.abs(np.diff(slope)) < JUMP_PER_DEG))


def differ(one: Point | None, other: Point | None) -> bool:
    """Two solutions at one angle that are not the same flow."""
    if one is None or other is None:
        return False
    if abs(one.cl - other.cl) > SAME_CL:
        return True
    shapes = zip(one.tail_shape, other.tail_shape, strict=True)
    return any(abs(a - b) > SAME_SHAPE * max(a, b) for a, b in shapes)
