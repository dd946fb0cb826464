"""The air behind the roof: from the user's tufts, else from a side view of the car."""

from functools import lru_cache
from typing import Any

import numpy as np

from wingtool.errors import StudyError
from wingtool.section import RoofFlow, roof_flow
from wingtool.study.advice import UNKNOWN_ROOF_DEG
from wingtool.study.schema.study import InflowInput, Study
from wingtool.wing import INFLOW_COLUMNS, RoofInflow

# Disturbance at the wing tips over that of the centre: none to all of it. Common practice, no source.
TIP_SHARE = 0.5
SIDE_VIEW = "side view: potential flow over the outline, three wakes, relief from ellipsoid to plane flow"

UNKNOWN_ROOF = RoofInflow(
    span_fraction=np.zeros(1),
    angle_deg=np.zeros(1),
    angle_band_deg=np.array([UNKNOWN_ROOF_DEG]),
    speed_ratio=np.ones(1),
    speed_ratio_band=np.array([InflowInput.model_fields["speed_ratio_band"].default]),
    origin=f"not measured: level to {UNKNOWN_ROOF_DEG:g} degrees down; common practice, no source",
    one_sided=True,
)


def air_at_wing(study: Study) -> RoofInflow:
    """The air behind the roof, level and with a wide band where nobody measured it."""
    return roof_inflow(study) or UNKNOWN_ROOF


def roof_inflow(study: Study) -> RoofInflow | None:
    """The air behind the roof; None when the study says nothing about it.

    Tufts win: the side view is used only where no ``[[roof.inflow]]`` is given.

    Raises
    ------
    StudyError
        The wing stands in the wake or inside the car, so that the side view gives no number.
    """
    if study.roof is None:
        return None
    rows = sorted(study.roof.inflow, key=lambda row: row.span_fraction)
    if rows:
        columns: dict[str, Any] = {n: np.array([getattr(row, n) for row in rows]) for n in INFLOW_COLUMNS}
        return RoofInflow(**columns)
    flow = side_view(study)
    return None if flow is None else spread(flow)


def side_view(study: Study, points: np.ndarray | None = None) -> RoofFlow | None:
    """Flow in the centre plane from the car's side outline; None without one.

    Parameters
    ----------
    points : ndarray, shape (n, 2), optional
        Behind the roof edge and above the ground [m]; the wing's own place if left out.
    """
    roof = study.roof
    if roof is None or not roof.side:
        return None
    if points is None:
        points = np.array([[roof.wing_behind_m, study.wing.height_m]])
    return _side_flow(roof.side, tuple(map(tuple, points.tolist())), roof.width_m, roof.edge_m)


@lru_cache(maxsize=8)  # a run asks for the wing's own place nine times
def _side_flow(side: tuple, points: tuple, width_m: float, edge_m: tuple[float, float] | None) -> RoofFlow:
    return roof_flow(np.array(side), np.array(points), width_m, edge_m)


def spread(flow: RoofFlow, point: int | np.integer = 0) -> RoofInflow:
    """Inflow along the span from one point of the centre plane; at the tips half the disturbance."""
    if not np.isfinite(flow.angle_deg[point]):
        place = flow.status[point].split(":")[0]
        raise StudyError(f"roof.side: the wing stands {place}; raise it, move it back, or give tufts")
    angle, speed = flow.angle_deg[point], flow.speed_ratio[point]
    share = np.array([1.0, TIP_SHARE])
    angle_band, speed_band = flow.angle_band_deg[point], flow.speed_ratio_band[point]
    return RoofInflow(
        span_fraction=np.array([0.0, 1.0]),
        angle_deg=share * angle,
        angle_band_deg=np.array([angle_band, max(angle_band * TIP_SHARE, abs(angle) * TIP_SHARE)]),
        speed_ratio=1 + share * (speed - 1),
        speed_ratio_band=np.array([speed_band, max(speed_band * TIP_SHARE, abs(speed - 1) * TIP_SHARE)]),
        origin=SIDE_VIEW,
    )
