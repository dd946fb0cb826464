"""Panels and boundary layer solved together: one section at one angle.

The outer flow is that of `wingtool.panels`, the layer that of `wingtool.boundary_layer`; one Newton step
serves all unknowns of both (Drela & Giles, AIAA J. 25(10), 1987). Incompressible: no correction for Mach
number.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from wingtool.boundary_layer import Stations, intermittency, wall_friction
from wingtool.geometry import Section, repanel
from wingtool.panels import (
    EdgeResponse,
    PanelSystem,
    circulation,
    edge_response,
    forces,
    free_air,
    place,
    surface_response,
    wake_lines,
)
from wingtool.section.coupled.case import Case, State, wake_gap
from wingtool.section.coupled.solve import Request, Solution, Solving, solve_together
from wingtool.section.coupled.start import first_guess
from wingtool.section.surface import Surface

PANELS = 200  # cl within 0.2 % of 240 panels (DEVELOPERS); 160 stall early from a small nose
WAKE_PANELS = 24
WAKE_LENGTH = 1.0
FIRST_DT = 0.1  # [chord over stream speed]
MOST_ANGLES = 64  # remembered by a prepared section: 0.4 MB each
MOST_PSEUDO_STEPS = 60  # steps; solutions found in time took up to 40


@dataclass(frozen=True, eq=False)
class Prepared:
    """Placed elements with all that does not depend on the angle, and the outer flows of the last angles.

    Near the ground the system does depend on the angle; then `system` and `response` are None. `outer` is
    filled by `outer_flow`: all Reynolds numbers and surfaces share it.
    """

    outlines: tuple[np.ndarray, ...]
    height_chord: float
    system: PanelSystem | None
    response: np.ndarray | None
    wake_lengths: tuple[float, ...] = (WAKE_LENGTH,)
    outer: dict[float, tuple[PanelSystem, EdgeResponse]] = field(default_factory=dict)

    @property
    def outline(self) -> np.ndarray:
        """That of the first element."""
        return self.outlines[0]


def prepare(section: Section, panels: int = PANELS, height_chord: float = np.inf) -> Prepared:
    """Panel a section and factor its system once."""
    return prepare_outlines((np.asarray(repanel(section, panels).xy),), height_chord)


def prepare_outlines(
    outlines: tuple[np.ndarray, ...], height_chord: float, wake_lengths: tuple[float, ...] = (WAKE_LENGTH,)
) -> Prepared:
    """Factor the system of placed elements once; lengths of their wakes [chord]."""
    if np.isfinite(height_chord):
        return Prepared(outlines, height_chord, None, None, wake_lengths)
    system, _ = place(outlines, 0.0)
    return Prepared(outlines, height_chord, system, surface_response(system), wake_lengths)


@dataclass(frozen=True, eq=False)
class Flow:
    """One angle of a prepared section: its system, the case to solve, the stream's angle in its frame."""

    outline: np.ndarray
    system: PanelSystem
    case: Case
    alpha_deg: float
    height_chord: float = np.inf


def outer_flow(prepared: Prepared, alpha_deg: float) -> tuple[PanelSystem, EdgeResponse]:
    """System and edge response at an angle; those of the last `MOST_ANGLES` angles are remembered."""
    found = prepared.outer.get(alpha_deg)
    if found is not None:
        return found
    system, response, stream_deg = prepared.system, prepared.response, alpha_deg
    if system is None or response is None:
        system, stream_deg = place(prepared.outlines, alpha_deg, prepared.height_chord)
        response = surface_response(system)
    gamma = free_air(system, np.array([stream_deg]))[0]
    wake = wake_lines(system, gamma, stream_deg, panels=WAKE_PANELS, length=prepared.wake_lengths)
    if len(prepared.outer) >= MOST_ANGLES:
        del prepared.outer[next(iter(prepared.outer))]
    prepared.outer[alpha_deg] = system, edge_response(system, response, wake, gamma, stream_deg)
    return prepared.outer[alpha_deg]


def flow_at(
    prepared: Prepared,
    alpha_deg: float,
    reynolds: float,
    surface: Surface,
    trip_x: float | None = None,
) -> Flow:
    """Set up one angle."""
    system, response = outer_flow(prepared, alpha_deg)
    nodes, gap = len(prepared.outline), abs(system.nodes[0] - system.nodes[-1])
    case = Case(
        response=response,
        nodes=nodes,
        viscosity=1.0 / reynolds,
        critical=surface.critical,
        trip=trip_places(prepared.outline[:, 0], surface.trip_x if trip_x is None else trip_x),
        wake_gap=wake_gap(response.arc, nodes, 0.0 if system.closing[0].sharp else gap),
        roughness_theta=surface.roughness_theta,
    )
    return Flow(prepared.outline, system, case, alpha_deg, prepared.height_chord)


def trip_places(x: np.ndarray, trip_x: float) -> tuple[float, float]:
    """Places of trips on upper and lower side, in nodes from the first; x/c of the nodes, shape (N,)."""
    if trip_x >= 1:
        return -np.inf, np.inf
    nose, index = int(np.argmin(x)), np.arange(len(x), dtype=float)
    upper = np.interp(-trip_x, -x[: nose + 1], index[: nose + 1])
    return float(upper), float(np.interp(trip_x, x[nose:], index[nose:]))


def solving(
    flow: Flow, start: State | None = None, pseudo_transient: bool = False, most_steps: int = 40
) -> Solving[Solution]:
    """Solve one angle, from the state of a neighbour or from nothing; for `solve_together`.

    From nothing the layers are first made turbulent where the guess says and led there by pseudo-time steps,
    then let go. A `pseudo_transient` solution goes by such steps from a neighbour's state as well.
    """
    if start is not None and not pseudo_transient:
        return (yield Request(flow.case, start, most_steps))
    if start is not None:
        return (yield Request(flow.case, start, MOST_PSEUDO_STEPS, FIRST_DT))
    guess = first_guess(flow.case)
    upper, lower = flow.case.trip
    held = (
        max(upper, guess.stagnation_node - guess.transition[0]),
        min(lower, guess.stagnation_node + 1 + guess.transition[1]),
    )
    first = yield Request(replace(flow.case, trip=held), guess, MOST_PSEUDO_STEPS, FIRST_DT)
    if not first.converged:
        return first
    second = yield Request(flow.case, first.state, MOST_PSEUDO_STEPS)
    return replace(second, steps=first.steps + second.steps)


def solve_flow(
    flow: Flow, start: State | None = None, pseudo_transient: bool = False, most_steps: int = 40
) -> Solution:
    """Solve one angle alone; see `solving`."""
    return solve_together([solving(flow, start, pseudo_transient, most_steps)])[0]


@dataclass(frozen=True, eq=False)
class Point:
    """What a solution says.

    Parameters
    ----------
    alpha_deg, cl, cd, cd_friction, cm : float
        Angle [deg] and coefficients; pressure drag is cd - cd_friction.
    circulation : float
        2 Gamma / (U c).
    transition, separation : (float, float)
        x/c on upper and lower side; 1 where there is none.
    re_theta : (float, float)
        Momentum-thickness Reynolds number at transition, with what a rough nose adds, on both sides.
    tail_shape, tail_theta : (float, float)
        H and momentum thickness [chord] at the tail on upper and lower side.
    gap_blockage : float
        Greatest displacement thickness of the upper side (the lower, turned over) over the ground clearance.
    solution : Solution
    """

    alpha_deg: float
    cl: float
    cd: float
    cd_friction: float
    cm: float
    circulation: float
    transition: tuple[float, float]
    separation: tuple[float, float]
    re_theta: tuple[float, float]
    tail_shape: tuple[float, float]
    tail_theta: tuple[float, float]
    gap_blockage: float
    solution: Solution


def point(flow: Flow, solution: Solution) -> Point:
    """Coefficients of a solution: lift and moment from surface pressure, drag from the wake's end."""
    case, state, edge = flow.case, solution.state, solution.edge
    gamma = edge.gamma[None, : case.nodes]
    cl, _, cm = forces(
        (flow.outline[:, 0] + 1j * flow.outline[:, 1],), flow.system, gamma, np.array([flow.alpha_deg])
    )
    last, shape = solution.ordering.wake[-1], edge.displacement / state.theta
    friction, separation = _friction(flow, solution)
    turned = (state.stagnation_node - state.transition[0], state.stagnation_node + 1 + state.transition[1])

    def at_transition(values: np.ndarray) -> tuple[float, float]:
        upper, lower = np.interp(turned, np.arange(case.nodes), values[: case.nodes])
        return float(upper), float(lower)

    return Point(
        alpha_deg=flow.alpha_deg,
        cl=float(cl[0, 0]),
        cd=wake_drag(state.theta[last], edge.displacement[last], edge.speed[last]),
        cd_friction=friction,
        cm=float(cm[0, 0]),
        circulation=float(circulation(flow.system, gamma)[0, 0]),
        transition=at_transition(flow.outline[:, 0]),
        separation=separation,
        re_theta=at_transition((state.theta + case.roughness_theta) * edge.speed / case.viscosity),
        tail_shape=(float(shape[0]), float(shape[case.nodes - 1])),
        tail_theta=(float(state.theta[0]), float(state.theta[case.nodes - 1])),
        gap_blockage=float(edge.displacement[solution.ordering.upper].max() / flow.height_chord),
        solution=solution,
    )


def wake_drag(theta: float, displacement: float, speed: float) -> float:
    """Drag coefficient from the end of a wake: 2 theta u^((H + 5)/2) (Squire & Young, R&M 1838, 1938)."""
    return float(2 * theta * speed ** (0.5 * (displacement / theta + 5)))


def _friction(flow: Flow, solution: Solution) -> tuple[float, tuple[float, float]]:
    """Friction drag, and x/c of turbulent separation (friction negative up to the tail) on both sides."""
    case, state, ordering = flow.case, solution.state, solution.ordering
    edge = solution.edge
    stations = Stations(state.theta, edge.displacement, state.shear, edge.speed, case.wake_gap)
    laminar, turbulent = wall_friction(stations.take(np.arange(case.nodes)), case.viscosity)
    points = flow.outline[:, 0] + 1j * flow.outline[:, 1]
    wind = np.exp(-1j * np.radians(flow.alpha_deg))
    drag, separation = 0.0, []
    for which in (0, 1):
        side = ordering.part(which)
        part, _ = intermittency(np.arange(len(side)), state.transition[which])
        friction = (1 - part) * laminar[side] + part * turbulent[side]
        along_wind = (np.diff(points[side]) * wind).real
        drag += 2 * float(np.sum(0.5 * (friction[1:] + friction[:-1]) * along_wind))
        attached = np.nonzero(friction >= 0)[0]
        last = int(attached[-1]) if len(attached) else 0
        separation.append(float(points[side[last]].real) if last < len(side) - 1 else 1.0)
    return drag, (separation[0], separation[1])
