"""The wing somewhere else behind the roof: forces over height and setback, from the car's side view."""

from dataclasses import dataclass, replace

import numpy as np

from wingtool.study.schema.study import Study
from wingtool.study.wing.correction import corrected
from wingtool.study.wing.roof import side_view, spread
from wingtool.wing import Force, WingPolar, solve_planes

LEAST_HEIGHT_CHORDS = 1.5  # below it section data depend on the height
NO_NUMBER = "not converged: the side view gives no number there"
BY_SIDE_VIEW = "wing computed at each place with the flow of the side view; wide band, tufts decide"


@dataclass(frozen=True, eq=False)
class WingPlaces:
    """One wing angle and speed at heights (h,) by distances behind the roof edge (b,).

    Forces [N], section margin [deg], flow angle [deg] and speed ratio of the centre plane have shape
    ``(h, b)`` and are nan where the side view gives no number: in the wake, or inside the car.
    """

    height_m: np.ndarray
    behind_roof_m: np.ndarray
    wing_angle_deg: float
    speed_m_s: float
    inflow_deg: np.ndarray
    speed_ratio: np.ndarray
    downforce: Force
    drag: Force
    pitching_moment_nm: np.ndarray
    stall_margin_deg: np.ndarray
    status: np.ndarray
    origin: str = BY_SIDE_VIEW


def wing_places(
    study: Study,
    wing: WingPolar,
    wing_angle_deg: float,
    speed_m_s: float,
    height_m: np.ndarray,
    behind_roof_m: np.ndarray,
) -> WingPlaces | None:
    """Solve the wing at every place of a grid; None when the study has no side view.

    The section data are those that the wing was solved with: places must be high enough above the ground
    that they don't change (one and a half chords).

    Parameters
    ----------
    wing : WingPolar
        The wing at its own place.
    height_m, behind_roof_m : ndarray, shapes (h,) and (b,)
        Lowest point above the ground, and quarter chord behind the roof edge [m].
    """
    high, behind = np.meshgrid(height_m, behind_roof_m, indexing="ij")
    flow = side_view(study, np.column_stack([behind.ravel(), high.ravel()]))
    if flow is None:
        return None
    shape = (len(height_m), len(behind_roof_m))
    values = np.full((8, *shape), np.nan)
    status = np.full(shape, NO_NUMBER, dtype=object)
    for number in np.flatnonzero(np.isfinite(flow.angle_deg)):
        row, column = np.unravel_index(number, shape)
        first = replace(wing.planes[0], wing=replace(wing.wing, height_m=float(height_m[row])))
        planes = [first, *wing.planes[1:]]
        solved = solve_planes(planes, [wing_angle_deg], [speed_m_s], wing.air, spread(flow, number))
        found = corrected(solved, study.correction)
        status[row, column] = found.status[0, 0]
        columns = (*found.downforce, *found.drag, found.pitching_moment_nm, found.stall_margin_deg)
        values[:, row, column] = [column[0, 0] for column in columns]
    inflow, ratio = flow.angle_deg.reshape(shape), flow.speed_ratio.reshape(shape)
    where = (height_m, behind_roof_m, wing_angle_deg, speed_m_s)
    forces = Force(*values[:3]), Force(*values[3:6])
    return WingPlaces(*where, inflow, ratio, *forces, values[6], values[7], status)


def places_of(study: Study, wing: WingPolar, wing_angle_deg: float) -> WingPlaces | None:
    """The map about the study's own place at the table's middle speed; None without side view or advice."""
    if study.roof is None or not np.isfinite(wing_angle_deg):
        return None
    lowest = LEAST_HEIGHT_CHORDS * study.wing.chord_m
    heights = np.maximum(study.wing.height_m + np.linspace(-0.3, 0.3, 7), lowest)
    behind = study.roof.wing_behind_m + np.linspace(-0.3, 0.6, 7)
    speed = float(wing.speed_m_s[wing.middle_speed])
    return wing_places(study, wing, wing_angle_deg, speed, np.unique(heights), behind)
