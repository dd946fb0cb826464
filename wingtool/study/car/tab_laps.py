"""The best angle for the circuit with each tab height: every angle of every tab goes round at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wingtool.car import body_areas, joined, total
from wingtool.study.car.lap import circuit_of
from wingtool.study.car.parts import wing_on_car
from wingtool.study.car.run import car_of, front_parts
from wingtool.study.wing.tabs import tab_wings
from wingtool.track import BestAngle, best_angle, laps

if TYPE_CHECKING:
    from wingtool.study.schema.study import Study
    from wingtool.wing import WingPolar

LAWS = {"as fitted": "weaker axle", "retuned": "retuned"}
TabWings = tuple[tuple[float, "WingPolar"], ...]


def tabs_and_laps(everywhere: Study, study: Study, wing: WingPolar) -> tuple[TabWings, tuple[BestAngle, ...]]:
    """The wing with each tab [m] at its own angles, and its best angles on the circuit.

    Parameters
    ----------
    everywhere : Study
        The study over the angles that the other tabs are computed at.
    study : Study
    wing : WingPolar
        With the study's own tab, over the study's angles.
    """
    tabs = tuple(
        (height_m, wing if other is None else other.only(wing.wing_angle_deg))
        for height_m, other in tab_wings(everywhere)
    )
    return tabs, tab_laps(study, wing, tabs)


def tab_laps(study: Study, wing: WingPolar, tabs: TabWings) -> tuple[BestAngle, ...]:
    """Lap time over angle for each tab, as fitted and retuned; none without a lap or with a single tab."""
    if study.car is None or study.circuit is None or len(tabs) < 2:
        return ()
    circuit, density = circuit_of(study), wing.air.density_kg_m3
    car, behind, on_car = car_of(study, wing)
    if circuit is None or not on_car.wing_angle_deg.size:
        return ()
    wings = [wing_on_car(other, car, behind, on_car.speed_m_s, study.correction) for _, other in tabs]
    every = joined([one.middle for one in wings], np.concatenate)
    whole = total(body_areas(car), *(part.middle for part in front_parts(study, car, density)), every)
    ends = np.cumsum([len(one.wing_angle_deg) for one in wings])[:-1]
    found = []
    for how, driven in zip(
        LAWS, laps(car, [(whole, law) for law in LAWS.values()], circuit, density), strict=True
    ):
        for (tab_m, _), one, row in zip(tabs, wings, np.split(driven.lap_time_s, ends), strict=True):
            word = f"tab of {1e3 * tab_m:.1f} mm" if tab_m else "no tab"
            found.append(best_angle(f"{word}, {how}", one.wing_angle_deg, row, allowed=one.allowed))
    return tuple(found)
