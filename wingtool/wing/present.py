"""From areas and angles of the strips to a table in the car's signs, with a status for each row."""

from typing import Any

import numpy as np

from wingtool.section import BEYOND_STALL, CONVERGED, LOW_CONFIDENCE, NOT_CONVERGED, TWO_SOLUTIONS
from wingtool.wing.forces import Solved
from wingtool.wing.result import Force, WingPolar

NOT_TRUSTWORTHY = "not trustworthy"
LEAST_HEIGHT = 0.1  # chords; below it measured wings lose force: Zerihan & Zhang, J. Aircraft 37(6), 2000
LEAST_HEIGHT_FREE_AIR = 0.2  # chords, for data computed in free air: tests/test_wing_ground.py, exact flow
TOO_LOW = f"{NOT_TRUSTWORTHY}: lower than 0.1 chord, where measured wings lose downforce that theory keeps"

DRAG_PARTS = ("induced", "profile", "plates", "base", "mounts")
Areas = dict[str, np.ndarray]  # of `areas`


def wing_polar(solved: Solved, acting: Areas, half_widths: np.ndarray, band_origin: str) -> WingPolar:
    """The table; every number of a row that did not converge is nan."""
    first = solved.layout.planes[0].wing
    area = sum(p.wing.area_m2 for p in solved.layout.planes)
    chord = first.mean_chord_m
    return WingPolar(
        wing=first,
        planes=solved.layout.planes,
        air=solved.air,
        inflow=solved.inflow,
        wing_angle_deg=solved.angles_deg,
        speed_m_s=solved.speeds_m_s,
        **_coefficients(solved, acting, area, chord),
        **_forces(solved, acting, half_widths),
        **_stall(solved, acting),
        **_strips(solved, acting),
        reynolds=np.broadcast_to(solved.air.reynolds(solved.speeds_m_s, chord)[:, None], solved.shape),
        reference_area_m2=area,
        reference_chord_m=chord,
        band_origin=band_origin,
    )


def _drag(acting: Areas) -> np.ndarray:
    return sum(acting[part] for part in DRAG_PARTS)  # type: ignore[return-value]


def _coefficients(solved: Solved, acting: Areas, area: float, chord: float) -> dict[str, Any]:
    other = 2 * (solved.solution.other * solved.state.ratio) @ (2 * solved.layout.strips.width_m)
    parts = {"CL": acting["lift"], "CL_far_wake": acting["far_wake_lift"], "CL_other": solved.table(other)}
    parts |= {"CD": _drag(acting), "CM": acting["moment"] / chord}
    parts |= {f"CD_{part}": acting[part] for part in DRAG_PARTS}
    return {name: solved.masked(column) / area for name, column in parts.items()}


def _forces(solved: Solved, acting: Areas, half_widths: np.ndarray) -> dict[str, Any]:
    pressure = solved.pressure_pa
    lift, drag = solved.masked(acting["lift"]), solved.masked(_drag(acting))
    lift_low, lift_high, drag_low, drag_high = half_widths
    ends = {
        "downforce": (lift, lift - lift_low, lift + lift_high),
        "drag": (drag, np.maximum(drag - drag_low, 0.0), drag + drag_high),
    }
    forces: dict[str, Any] = {name: Force(*(pressure * end for end in three)) for name, three in ends.items()}
    return forces | {"pitching_moment_nm": pressure * solved.masked(acting["moment"])}


def _stall(solved: Solved, acting: Areas) -> dict[str, Any]:
    """Margins by strip and row, and the status. Strips that a mount disturbs set no margin."""
    cases = solved.cases
    margin = np.where(cases.load < 1.0, np.nan, np.degrees(cases.stall - solved.state.alpha))
    margin = solved.table(margin)
    shown = solved.table(solved.layout.data.shows_stall(solved.reynolds))
    return {
        "strip_margin_deg": solved.masked(margin),
        "stall_margin_deg": solved.masked(np.where(np.isnan(margin), np.inf, margin).min(axis=-1)),
        "status": _status(solved, acting, margin, shown),
    }


def _status(solved: Solved, acting: Areas, margin: np.ndarray, shown: np.ndarray) -> np.ndarray:
    """One word a row; the gravest wins."""
    solution = solved.solution
    height = solved.layout.planes[0].wing.height_over_chord
    status = np.full(solved.shape, CONVERGED, dtype=object)
    status[acting["doubt"]] = LOW_CONFIDENCE
    if height < LEAST_HEIGHT_FREE_AIR and np.isinf(solved.layout.data.height_chord).any():
        status[:] = LOW_CONFIDENCE
    past = margin < 0
    status[acting["outside"] | past.any(axis=-1)] = LOW_CONFIDENCE  # the data end before they show a stall
    status[(past & shown).any(axis=-1)] = BEYOND_STALL
    status[solved.table(np.isfinite(solution.other[:, 0]))] = TWO_SOLUTIONS
    if height < LEAST_HEIGHT:
        status[:] = TOO_LOW
    status[~solved.table(solution.converged)] = f"{NOT_CONVERGED}: the spanwise iteration did not converge"
    return status


def _strips(solved: Solved, acting: Areas) -> dict[str, Any]:
    masked, pressure = solved.masked, solved.pressure_pa[..., None]
    return {
        "strip_y_m": solved.layout.strips.y_m,
        "strip_width_m": solved.layout.strips.width_m,
        "strip_plane": solved.layout.plane,
        "strip_cl": masked(acting["strip_cl"]),
        "strip_alpha_deg": masked(solved.table(np.degrees(solved.state.alpha))),
        "strip_load_n_m": pressure * masked(acting["strip_lift"]),
        "strip_moment_n": pressure * masked(acting["strip_moment"]),
    }
