"""From areas and angles of the strips to a table in the car's signs, with a status for each row."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from wingtool.air import Air
from wingtool.section import BEYOND_STALL, CONVERGED, LOW_CONFIDENCE, NOT_CONVERGED, TWO_SOLUTIONS
from wingtool.wing.branches import Solution
from wingtool.wing.force import Force
from wingtool.wing.forces import Areas
from wingtool.wing.newton import Cases, State
from wingtool.wing.planes import Layout
from wingtool.wing.planform import RoofInflow
from wingtool.wing.result import WingPolar

NOT_TRUSTWORTHY = "not trustworthy"
LEAST_HEIGHT = 0.1  # chords; below it measured wings lose force: Zerihan & Zhang, J. Aircraft 37(6), 2000
LEAST_HEIGHT_FREE_AIR = 0.2  # chords, for data computed in free air: tests/test_wing_ground.py, exact flow
TOO_LOW = f"{NOT_TRUSTWORTHY}: lower than 0.1 chord, where measured wings lose downforce that theory keeps"

COEFFICIENTS = {
    "CL": "lift",
    "CL_far_wake": "far_wake_lift",
    **{f"CD_{part}": part for part in ("induced", "profile", "plates", "base", "mounts")},
}


@dataclass(frozen=True, eq=False)
class Solved:
    """Everything that a table is made from; k speeds by m angles, n = k m cases of s strips."""

    layout: Layout
    angles_deg: np.ndarray
    speeds_m_s: np.ndarray
    air: Air
    inflow: RoofInflow | None
    cases: Cases
    solution: Solution
    state: State
    acting: Areas
    half_widths: np.ndarray
    band_origin: str

    @property
    def shape(self) -> tuple[int, int]:
        """Speeds by angles."""
        return self.speeds_m_s.size, self.angles_deg.size

    @property
    def pressure_pa(self) -> np.ndarray:
        """Dynamic pressure of each speed [Pa], shape ``(k, 1)``."""
        return self.air.dynamic_pressure_pa(self.speeds_m_s)[:, None]

    def masked(self, column: np.ndarray) -> np.ndarray:
        """A column with nan where the spanwise iteration did not converge."""
        failed = ~self.solution.converged.reshape(self.shape)
        return np.where(failed if column.ndim == 2 else failed[..., None], np.nan, column)

    def strips(self, column: np.ndarray) -> np.ndarray:
        """A column of the cases as ``(k, m, s)``."""
        return column.reshape(*self.shape, -1)


def wing_polar(solved: Solved) -> WingPolar:
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
        **_coefficients(solved, area, chord),
        **_forces(solved),
        **_stall(solved),
        **_strips(solved),
        reynolds=np.broadcast_to(solved.air.reynolds(solved.speeds_m_s, chord)[:, None], solved.shape),
        height_over_chord=np.full(solved.angles_deg.size, first.height_over_chord),
        reference_area_m2=area,
        reference_chord_m=chord,
        moment_point=first.moment_point_m,
        band_origin=solved.band_origin,
    )


def _drag(acting: Areas) -> np.ndarray:
    return acting.induced + acting.profile + acting.plates + acting.base + acting.mounts


def _coefficients(solved: Solved, area: float, chord: float) -> dict[str, Any]:
    acting, strips = solved.acting, solved.layout.strips
    other = 2 * (solved.solution.other * solved.state.ratio) @ (2 * strips.width_m)
    parts = {name: getattr(acting, column) for name, column in COEFFICIENTS.items()}
    areas = {"CD": _drag(acting), "CM": acting.moment / chord, "CL_other": other.reshape(solved.shape)}
    return {name: solved.masked(column) / area for name, column in (parts | areas).items()}


def _forces(solved: Solved) -> dict[str, Any]:
    pressure = solved.pressure_pa
    lift, drag = solved.masked(solved.acting.lift), solved.masked(_drag(solved.acting))
    lift_low, lift_high, drag_low, drag_high = solved.half_widths.reshape(4, *solved.shape)
    ends = {
        "downforce": (lift, lift - lift_low, lift + lift_high),
        "drag": (drag, np.maximum(drag - drag_low, 0.0), drag + drag_high),
    }
    forces: dict[str, Any] = {name: Force(*(pressure * end for end in three)) for name, three in ends.items()}
    return forces | {"pitching_moment_nm": pressure * solved.masked(solved.acting.moment)}


def _stall(solved: Solved) -> dict[str, Any]:
    """Margins by strip and row, and the status. Strips that a mount disturbs set no margin."""
    cases, state = solved.cases, solved.state
    margin = np.where(cases.load < 1.0, np.nan, np.degrees(cases.stall - state.alpha))
    margin = solved.strips(margin)
    shown = solved.strips(solved.layout.data.shows_stall(cases.reynolds * state.ratio))
    return {
        "strip_margin_deg": solved.masked(margin),
        "stall_margin_deg": solved.masked(np.where(np.isnan(margin), np.inf, margin).min(axis=-1)),
        "status": _status(solved, margin, shown),
    }


def _status(solved: Solved, margin: np.ndarray, shown: np.ndarray) -> np.ndarray:
    """One word a row; the gravest wins."""
    shape, acting, solution = solved.shape, solved.acting, solved.solution
    height = solved.layout.planes[0].wing.height_over_chord
    status = np.full(shape, CONVERGED, dtype=object)
    status[acting.doubt] = LOW_CONFIDENCE
    if height < LEAST_HEIGHT_FREE_AIR and np.isinf(solved.layout.data.height_chord).any():
        status[:] = LOW_CONFIDENCE
    past = margin < 0
    status[acting.outside | past.any(axis=-1)] = LOW_CONFIDENCE  # the data end before they show a stall
    status[(past & shown).any(axis=-1)] = BEYOND_STALL
    status[np.isfinite(solution.other[:, 0]).reshape(shape)] = TWO_SOLUTIONS
    if height < LEAST_HEIGHT:
        status[:] = TOO_LOW
    status[~solution.converged.reshape(shape)] = f"{NOT_CONVERGED}: the spanwise iteration did not converge"
    return status


def _strips(solved: Solved) -> dict[str, Any]:
    acting, masked, pressure = solved.acting, solved.masked, solved.pressure_pa[..., None]
    return {
        "strip_y_m": solved.layout.strips.y_m,
        "strip_width_m": solved.layout.strips.width_m,
        "strip_plane": solved.layout.plane,
        "strip_cl": masked(acting.strip_cl),
        "strip_alpha_deg": masked(solved.strips(np.degrees(solved.state.alpha))),
        "strip_load_n_m": pressure * masked(acting.strip_lift),
        "strip_moment_n": pressure * masked(acting.strip_moment),
    }
