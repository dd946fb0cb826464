"""A solved wing from the cache, where the same planes were solved before over the same angles and speeds."""

from collections.abc import Sequence
from dataclasses import fields
from typing import Any

import numpy as np

from wingtool.air import Air
from wingtool.section import cached_rows
from wingtool.wing import Force, Plane, RoofInflow, WingPolar, solve_planes

GIVEN = ("wing", "planes", "air", "inflow")
FORCES = ("downforce", "drag")
COMPUTED = tuple(field.name for field in fields(WingPolar) if field.name not in GIVEN)


def cached_planes(
    planes: Sequence[Plane],
    wing_angle_deg: Sequence[float],
    speed_m_s: Sequence[float],
    air: Air,
    inflow: RoofInflow | None,
) -> WingPolar:
    """As `solve_planes`."""
    question = (tuple(planes), tuple(wing_angle_deg), tuple(speed_m_s), air, inflow)

    def solved(_missing) -> list[dict[str, np.ndarray]]:
        found = solve_planes(*question)
        return [{name: _as_array(getattr(found, name)) for name in COMPUTED}]

    (row,) = cached_rows([("wing", *question)], COMPUTED, solved)
    columns: dict[str, Any] = {name: value if value.ndim else value.item() for name, value in row.items()}
    columns |= {name: Force(*row[name]) for name in FORCES}
    columns["status"] = row["status"].astype(object)
    return WingPolar(wing=planes[0].wing, planes=tuple(planes), air=air, inflow=inflow, **columns)


def _as_array(value: Any) -> np.ndarray:
    array = np.stack(list(value)) if isinstance(value, Force) else np.asarray(value)
    return array.astype(str) if array.dtype == object else array
