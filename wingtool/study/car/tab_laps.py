"""The best angle for the circuit with each tab height: every angle of every tab goes round at once."""

import numpy as np

from wingtool.car import body_areas, joined, total
from wingtool.study.car.parts import fitted_car, wing_on_car
from wingtool.study.schema.study import Study
from wingtool.study.wing.tabs import tab_wings
from wingtool.track import BestAngle, Circuit, best_angle, laps
from wingtool.wing import WingPolar

LAWS = {"as fitted": "weaker axle", "retuned": "retuned"}
TabWings = tuple[tuple[float, "WingPolar"], ...]


def tabs_and_laps(
    everywhere: Study, study: Study, wing: WingPolar, circuit: Circuit | None
) -> tuple[TabWings, tuple[BestAngle, ...]]:
    """The wing with each tab [m] at its own angles, and its best angles on the circuit.

    Parameters
    ----------
    everywhere : Study
        The study over the angles that the other tabs are computed at.
    study : Study
    wing : WingPolar
        With the study's own tab, over the study's angles.
    circuit : Circuit, optional
        The study's.
    """
    tabs = tuple(
        (height_m, wing if other is None else other.only(wing.wing_angle_deg))
        for height_m, other in tab_wings(everywhere)
    )
    return tabs, tab_laps(study, wing, tabs, circuit)


def tab_laps(study: Study, wing: WingPolar, tabs: TabWings, circuit: Circuit | None) -> tuple[BestAngle, ...]:
    """Lap time over angle for each tab, as fitted and retuned; none without a lap or with a single tab."""
    fit = fitted_car(study, wing) if study.car else None
    if fit is None or circuit is None or len(tabs) < 2:
        return ()
    car, speed = fit.car, fit.on_car.speed_m_s
    wings = [wing_on_car(tabbed, car, fit.behind_m, speed, study.correction) for _, tabbed in tabs]
    whole = total(body_areas(car), fit.front_parts, joined([each.middle for each in wings], np.concatenate))
    ends = np.cumsum([len(each.wing_angle_deg) for each in wings])[:-1]
    best = []
    driven = laps(car, [(whole, law) for law in LAWS.values()], circuit, fit.density_kg_m3)
    for how, all_laps in zip(LAWS, driven, strict=True):
        for (tab_m, _), each, times in zip(tabs, wings, np.split(all_laps.lap_time_s, ends), strict=True):
            name = f"tab of {1e3 * tab_m:.1f} mm" if tab_m else "no tab"
            best.append(best_angle(f"{name}, {how}", each.wing_angle_deg, times, allowed=each.allowed))
    return tuple(best)
