"""The best angle for the circuit with each tab height: every angle of every tab goes round at once."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from wingtool.car import joined, total
from wingtool.study.car.parts import wing_on_car
from wingtool.track import BestAngle, best_angle, laps

if TYPE_CHECKING:
    from wingtool.study.car.run import CarResult
    from wingtool.study.schema.study import Study
    from wingtool.wing import WingPolar

LAWS = {"as fitted": "weaker axle", "retuned": "retuned"}


def with_tab_laps(
    car: CarResult | None, study: Study, tabs: tuple[tuple[float, WingPolar], ...]
) -> CarResult | None:
    """The car's result with `lap.best_tabs` filled in; unchanged without a lap or with a single tab."""
    if car is None or car.lap is None or len(tabs) < 2:
        return car
    return replace(car, lap=replace(car.lap, best_tabs=best_tab_angles(car, study, tabs)))


def best_tab_angles(
    car: CarResult, study: Study, tabs: tuple[tuple[float, WingPolar], ...]
) -> tuple[BestAngle, ...]:
    """Lap time over angle for each tab, as fitted and retuned, all driven side by side.

    Parameters
    ----------
    tabs : tuple of (tab height [m], wing)
    """
    assert car.lap is not None
    behind = study.mounts.behind_rear_axle_m if study.mounts else 0.0
    wings = [wing_on_car(wing, car.car, behind, car.wing.speed_m_s, study.correction) for _, wing in tabs]
    every = joined([wing.middle for wing in wings], np.concatenate)
    whole = total(car.body, car.splitter.middle, car.air_dam.middle, every)
    ends = np.cumsum([len(wing.wing_angle_deg) for wing in wings])[:-1]
    found = []
    asked = [(whole, law) for law in LAWS.values()]
    for how, driven in zip(LAWS, laps(car.car, asked, car.lap.circuit, car.density_kg_m3), strict=True):
        for (tab_m, _), wing, row in zip(tabs, wings, np.split(driven.lap_time_s, ends), strict=True):
            word = f"tab of {1e3 * tab_m:.1f} mm" if tab_m else "no tab"
            found.append(best_angle(f"{word}, {how}", wing.wing_angle_deg, row, allowed=wing.allowed))
    return tuple(found)
