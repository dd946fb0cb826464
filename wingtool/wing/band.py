"""The band of a wing's forces: errors of section data, inflow and method, in quadrature."""

from dataclasses import replace

import numpy as np

from wingtool.wing.forces import Solved
from wingtool.wing.newton import Cases, State, jacobian
from wingtool.wing.planes import Layout
from wingtool.wing.planform import RoofInflow

METHOD_LIFT = 0.03  # plates, ground and free wake against measured wings: common practice, no source
METHOD_INDUCED = 0.05
DRAG_STEP_DEG = 0.5  # to either side, for the slope of cd over angle


def half_widths(solved: Solved, acting: dict[str, np.ndarray], inflow: RoofInflow) -> tuple[np.ndarray, str]:
    """Linear response of the coupled strips to each cause, by the Jacobian that Newton's method ends with.

    Parameters
    ----------
    solved : Solved
    acting : dict
        Of `areas`.
    inflow : RoofInflow
        Its bands count.

    Returns
    -------
    ndarray, shape (4, k, m)
        Half widths over dynamic pressure [m^2]: lift below and above, drag below and above.
    str
        Their origin.
    """
    layout, cases, state = solved.layout, solved.cases, solved.state
    width = 2 * layout.strips.width_m
    local = inflow.at(layout.strips.span_fraction)
    angle, speed = np.radians(local["angle_band_deg"]), local["speed_ratio_band"]
    cl_low, cl_high, cd_low, cd_high = _section_band(solved)
    # past stall the falling lift curve would make the response grow without limit: it counts as level there
    zero = np.zeros_like(state.smoothing_slope)
    level = replace(state, slope=np.maximum(state.slope, 0.0), smoothing_slope=zero)
    causes = _causes(cases, level, (cl_low, cl_high), angle, speed)
    response = np.linalg.solve(jacobian(cases, level, solved.solution.circulation), causes)
    lifts = 2 * np.einsum("nsc,ns,s->nc", response, state.ratio, width)
    lifts[:, 3] += (cases.chord * cases.load * state.ratio * state.value * speed) @ width
    drags = _drag_response(solved, response) + _profile_response(solved, response, angle, speed)
    tip = np.flatnonzero(layout.plane == 0)[-1]
    plates = (acting["plates"] + acting["base"]).ravel()
    drags[:, 3] += 2 * plates * speed[tip] / cases.ratio[:, tip]  # friction's own fall with speed is slight
    lift, far_wake_lift, induced = (acting[name].ravel() for name in ("lift", "far_wake_lift", "induced"))
    ground = (lift - far_wake_lift) / 2 if np.isfinite(layout.planes[0].wing.height_m) else 0.0 * lift
    rest = _ends(lifts[:, 2], inflow.one_sided) + lifts[:, 3] ** 2 + (METHOD_LIFT * lift) ** 2 + ground**2
    drag_rest = _ends(drags[:, 2], inflow.one_sided) + drags[:, 3] ** 2 + (METHOD_INDUCED * induced) ** 2
    profile = (state.ratio**2 * layout.strips.chord_m)[..., None] * np.stack([cd_low, cd_high], axis=-1)
    lift_squared = lifts[:, :2].T ** 2 + rest
    drag_squared = np.einsum("nsc,s->cn", profile, width) ** 2 + drags[:, :2].T ** 2 + drag_rest
    widths = np.sqrt(np.concatenate([lift_squared, drag_squared])).reshape(4, *solved.shape)
    return widths, _origin(layout, angle, speed, inflow.origin)


def _ends(change: np.ndarray, one_sided: bool) -> np.ndarray:
    """Squares of a change (2, n), below and above; each at its own end where it can only go one way."""
    low, high = (np.minimum(change, 0.0), np.maximum(change, 0.0)) if one_sided else (change, change)
    return np.stack([low, high]) ** 2


def _causes(cases: Cases, state: State, cl: tuple, angle: np.ndarray, speed: np.ndarray) -> np.ndarray:
    """What each doubt adds to the strip equations: section low and high, inflow angle, inflow speed."""
    half_chord_speed = 0.5 * state.ratio * cases.chord * cases.load
    slope = half_chord_speed * state.slope * cases.sec_sweep
    relief = cases.theta - state.alpha / cases.sec_sweep  # downwash angle, which faster air lessens
    faster = (half_chord_speed * state.value + slope * relief) / state.ratio * speed
    return np.stack([half_chord_speed * cl[0], half_chord_speed * cl[1], slope * angle, faster], axis=-1)


def _drag_response(solved: Solved, response: np.ndarray) -> np.ndarray:
    circulation, form = solved.solution.circulation, solved.influence.drag
    gradient = 2 * np.matmul(circulation.reshape(-1, len(form), 1, circulation.shape[1]), form)
    return np.einsum("ns,nsc->nc", gradient.reshape(circulation.shape), response)


def _profile_response(solved: Solved, response: np.ndarray, angle, speed) -> np.ndarray:
    """Section drag that follows from each doubt's change of local angle and speed [m^2], shape ``(n, 4)``.

    Where a mount takes circulation the sections' drag is bounded elsewhere, and nothing is added here.
    """
    cases, state, strips = solved.cases, solved.state, solved.layout.strips
    local, steps = state.ratio[..., None], np.zeros((2, 4))
    steps[0, 2] = steps[1, 3] = 1.0
    turned, faster = angle[:, None] * steps[0], speed[:, None] * steps[1]
    faster, wash = faster + np.matmul(cases.speed, response), np.matmul(cases.induced_angle, response)
    relief = (cases.theta - state.alpha / cases.sec_sweep)[..., None]
    alpha = cases.sec_sweep[:, None] * (turned + (relief * faster - wash) / local)
    cd, slope = (row[..., None] for row in _section_drag(solved))
    change = 2 * local * cd * faster + local**2 * slope * alpha
    whole = np.where(cases.load < 1.0, 0.0, 2 * strips.width_m * strips.chord_m)
    return np.einsum("nsc,s->nc", change, whole)


def _section_drag(solved: Solved) -> tuple[np.ndarray, np.ndarray]:
    """cd of the strips and its slope [1/rad] over an angle that is small and wider than the data's kinks."""
    degrees, data = np.degrees(solved.state.alpha), solved.layout.data
    below, here, above = (
        data.blend([p.at(degrees + d, solved.reynolds).cd for p in data.polars])
        for d in (-DRAG_STEP_DEG, 0.0, DRAG_STEP_DEG)
    )
    return here, (above - below) / np.radians(2 * DRAG_STEP_DEG)


def _section_band(solved: Solved) -> tuple[np.ndarray, ...]:
    """Half widths of cl and cd below and above, shape ``(n, s)``."""
    degrees, data = np.degrees(solved.state.alpha), solved.layout.data
    widths = [p.polar.half_widths(degrees, solved.reynolds) for p in data.polars]
    return tuple(map(data.blend, zip(*widths, strict=True)))


def _origin(layout: Layout, angle: np.ndarray, speed: np.ndarray, inflow_origin: str) -> str:
    named = dict.fromkeys(p.polar.band_origin for p in layout.data.polars if p.polar.cl_low is not None)
    parts = [f"section data ({name or 'origin not stated'})" for name in named] or [
        "section data without a band"
    ]
    if np.any(angle) or np.any(speed):
        parts.append(f"roof inflow ({inflow_origin})")
    if np.isfinite(layout.planes[0].wing.height_m):
        parts.append("ground (half the difference of local velocity and far wake)")
    parts.append("method (3 % of downforce, 5 % of induced drag; common practice, no source)")
    return "; ".join(parts)
