"""Several elements with their boundary layers: the coupled solver on each in turn, in the flow of all.

The outer flow answers to the displacement of every element and wake (`wingtool.panels.edge_response`). One
element at a time is solved by the Newton iteration of `wingtool.section.coupled`, the mass defects of the
others held, until nothing changes; a few rounds suffice. Each element is solved on its own chord, and its
wake is one own chord long.

Limits: the wake of an element ahead does not merge with the layer below it, and lies on the streamline of
potential flow; one branch only, no search for a second solution. No published measurement of such a section
is among the checks.
"""

from dataclasses import dataclass

import numpy as np

from wingtool.panels import (
    EdgeResponse,
    PanelSystem,
    as_nodes,
    circulation,
    forces,
    part_of_response,
)
from wingtool.section.coupled.case import Case, State, wake_gap
from wingtool.section.coupled.flow import (
    Flow,
    Prepared,
    outer_flow,
    prepare_outlines,
    solve_flow,
    trip_places,
    wake_drag,
)
from wingtool.section.multi.placement import along_chord
from wingtool.section.surface import Surface

ROUNDS = 15
SETTLED = 1e-6  # change of mass defect from one round to the next [chord x speed]
STEP_DEG = 1.0
LEAST_STEP_DEG = 0.5
FIRST_DEG = (0.0, 2.0, -2.0, 4.0, -4.0, 6.0)
EXCESS = 0.15  # circulation beyond that without viscosity that a solution may have


@dataclass(frozen=True, eq=False)
class GroupPoint:
    """One angle solved.

    Parameters
    ----------
    alpha_deg : float
    cl, cd, cm, circulation : float
        Of all elements, on the main chord.
    mass : ndarray, shape (S,)
    states : tuple of State
    """

    alpha_deg: float
    cl: float
    cd: float
    cm: float
    circulation: float
    mass: np.ndarray
    states: tuple[State, ...]


def prepare_elements(outlines: tuple[np.ndarray, ...], height_chord: float = np.inf) -> Prepared:
    """Factor the system of placed elements once; each wake is as long as its element's chord."""
    return prepare_outlines(outlines, height_chord, tuple(along_chord(xy)[1] for xy in outlines))


def solve_elements(
    group: Prepared,
    alpha_deg: float,
    reynolds: float,
    surface: Surface,
    trip_x: float | None = None,
    start: GroupPoint | None = None,
    pseudo_transient: bool = False,
) -> tuple[GroupPoint | None, str]:
    """Solve one angle from a neighbour's solution or from nothing; the reason where there is none.

    Parameters
    ----------
    group : Prepared
    alpha_deg : float
    reynolds : float
        On the main chord.
    surface : Surface
    trip_x : float, optional
        Trip on every element at this share of its own chord, in place of the surface's own.
    start : GroupPoint, optional
    pseudo_transient : bool
        From a neighbour's solution go by steps in time.
    """
    system, response = outer_flow(group, alpha_deg)
    chords = group.wake_lengths
    trip = surface.trip_x if trip_x is None else trip_x
    mass = np.zeros(len(response.ue_inviscid)) if start is None else start.mass.copy()
    states: list[State | None] = [None] * len(group.outlines) if start is None else list(start.states)
    drag = np.zeros(len(group.outlines))
    for _ in range(ROUNDS):
        before = mass.copy()
        for own in range(len(group.outlines)):
            case = _case(group, system, response, own, mass, reynolds, surface, trip)
            flow = Flow(group.outlines[own], system, case, alpha_deg, group.height_chord)
            solution = solve_flow(flow, states[own], pseudo_transient)
            if not solution.converged:
                return None, f"element {own + 1}: {solution.why}"
            states[own] = solution.state
            mass[np.r_[response.slices[own]]] = solution.state.mass * chords[own]
            last = solution.ordering.wake[-1]
            layer = solution.state.theta[last], solution.edge.displacement[last], solution.edge.speed[last]
            drag[own] = chords[own] * wake_drag(*layer)
        if np.abs(mass - before).max() < SETTLED:
            break
    else:
        return None, "the elements do not settle on each other"
    return _checked(group, system, response, mass, drag, states, alpha_deg)


def _case(
    group: Prepared,
    system: PanelSystem,
    response: EdgeResponse,
    own: int,
    mass: np.ndarray,
    reynolds: float,
    surface: Surface,
    trip_x: float,
) -> Case:
    """One element on its own chord."""
    chord = group.wake_lengths[own]
    part = part_of_response(response, own, mass, chord)
    count = len(group.outlines[own])
    tail = system.closing[own]
    gap = 0.0 if tail.sharp else abs(tail.end - tail.start) / chord
    return Case(
        response=part,
        nodes=count,
        viscosity=1.0 / (reynolds * chord),
        critical=surface.critical,
        trip=trip_places(along_chord(group.outlines[own])[0], trip_x),
        wake_gap=wake_gap(part.arc, count, gap),
        roughness_theta=surface.roughness_theta,
    )


def _checked(group, system, response, mass, drag, states, alpha_deg) -> tuple[GroupPoint | None, str]:
    inviscid = response.ue_inviscid[: system.node_count]
    ue = inviscid + response.influence[: system.node_count] @ mass
    plain, coupled = circulation(system, np.vstack([inviscid, ue])).sum(axis=1)
    if not np.isfinite(coupled) or coupled * np.sign(plain) > abs(plain) + EXCESS:
        return None, "more lift than without viscosity"
    cl, _, cm = forces(as_nodes(group.outlines), system, ue[None], np.array([alpha_deg]))
    sums = float(cl.sum()), float(drag.sum()), float(cm.sum()), float(coupled)
    return GroupPoint(alpha_deg, *sums, mass, tuple(states)), ""


def march_elements(
    group: Prepared, alpha_deg: np.ndarray, reynolds: float, surface: Surface, trip_x: float | None = None
) -> tuple[list[GroupPoint | None], list[str]]:
    """Solutions over increasing angles (m,), outward from one near zero; reasons where there is none."""
    points: list[GroupPoint | None] = [None] * len(alpha_deg)
    setting = (reynolds, surface, trip_x)
    first, why = None, ""
    for start_deg in np.clip(FIRST_DEG, alpha_deg[0], alpha_deg[-1]):
        first, why = solve_elements(group, float(start_deg), *setting)
        if first is not None:
            break
    reasons = [why] * len(alpha_deg)
    if first is None:
        return points, reasons
    up = alpha_deg >= first.alpha_deg
    for path in (np.flatnonzero(up), np.flatnonzero(~up)[::-1]):
        here = first
        for nth, i in enumerate(path):
            reached, reasons[i] = _reach(group, float(alpha_deg[i]), here, setting)
            if reached is None:
                for further in path[nth + 1 :]:
                    reasons[further] = f"no solution from {alpha_deg[i]:g} deg on"
                break
            points[i] = here = reached
    return points, reasons


def _reach(
    group: Prepared, alpha_deg: float, start: GroupPoint, setting: tuple[float, Surface, float | None]
) -> tuple[GroupPoint | None, str]:
    """From a solution to an angle, in steps as long as they succeed."""
    here, step = start, STEP_DEG
    while abs(alpha_deg - here.alpha_deg) > 1e-9:
        left = alpha_deg - here.alpha_deg
        size = min(step, abs(left))
        reached, why = solve_elements(group, here.alpha_deg + np.sign(left) * size, *setting, start=here)
        if reached is None and size <= LEAST_STEP_DEG:
            reached, why = solve_elements(group, here.alpha_deg + np.sign(left) * size, *setting, here, True)
        if reached is not None:
            here, step = reached, min(2 * step, STEP_DEG)
        elif size > LEAST_STEP_DEG:
            step = size / 2
        else:
            return None, why
    return here, ""
