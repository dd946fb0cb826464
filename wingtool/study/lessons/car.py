"""Lessons about the car: what drag costs and pays, the see-saw, and the page of myths."""

import numpy as np

from wingtool.car import total
from wingtool.study.car.lap import LapAnswer
from wingtool.study.car.result import CarResult
from wingtool.study.lessons.air import PER_CENT, in_free_air, newton
from wingtool.study.lessons.flow import race
from wingtool.study.lessons.lesson import Basis, Lesson, lesson_of
from wingtool.study.page_loads import wing_loads_at
from wingtool.track import lap, lap_difference
from wingtool.units import WATT_PER_HP, DisplayUnits


def drag(basis: Basis) -> Lesson:
    """What the wing takes on the straight, and where it pays."""
    car = basis.car
    m, at = shown_column(basis), at_reference(basis.result.study.units)
    power = 0.5 * car.density_kg_m3 * car.reference_speed_m_s**3 * float(car.wing.middle.at(m).cda_m2)
    parts = _won_and_lost(car, car.lap, m) if car.lap else ()
    won = sum(part.gain_s for part in parts if part.gain_s > 0)
    lost = -sum(part.gain_s for part in parts if part.gain_s < 0)
    angle_deg = float(car.wing.wing_angle_deg[m])
    asked, net = f"How much power does this wing take at {at}, set to {angle_deg:g}°?", ""
    if car.lap:
        lap_of = f"A lap of {car.lap.circuit.name}, wing at {angle_deg:g}°"
        asked = f"{lap_of}: how many seconds do the parts gain or lose in all?"
        half = 0.5 * (car.lap.fitted.gain.high - car.lap.fitted.gain.low)
        known = angle_deg in (car.set_angle_deg, car.lap.best[0].best_deg)  # as the page's table
        told = f"±{half:.1f} or so" if known else "no range at this angle"
        net = f"Net gain {won - lost:.2f} s ({told}): {won:.2f} s won and {lost:.2f} s lost. "
    return lesson_of(
        "drag", {"parts": parts, "power_w": power}, asked=asked, net=net, at=at, kilowatt=power / 1e3,
        horsepower=power / WATT_PER_HP, angle_deg=angle_deg, whose_car=basis.whose_car,
    )  # fmt: skip


def shown_column(basis: Basis) -> int:
    """Column of the last advised angle in the car's table; of the set angle when none is advised."""
    high, car = basis.with_car.advice.high_deg, basis.car
    return car.wing.index(high if np.isfinite(high) else car.set_angle_deg)


def _won_and_lost(car: CarResult, lap_answer: LapAnswer, m: int):
    """Seconds by part of the circuit, with the wing at its angle m against the bare car."""
    areas = total(car.body, car.wing.middle.at(m), *(part.middle for part in car.front))
    driven = lap(car.car, areas, lap_answer.circuit, car.density_kg_m3)
    return lap_difference(driven, lap_answer.fitted.without).parts


def at_reference(units: DisplayUnits) -> str:
    """The speed at which parts are compared, in the study's own unit first."""
    return "100 mph (160 km/h)" if units.speed == "mph" else "160 km/h (100 mph)"


def balance(basis: Basis) -> Lesson:
    """The car as a see-saw."""
    car = basis.car
    m, units = shown_column(basis), basis.with_car.study.units
    at_angle = (car.reference_speed_m_s, float(car.wing.wing_angle_deg[m]))
    front, rear = (load.value for load in wing_loads_at(car, basis.with_car.wing, *at_angle))
    data = {"rear_n": rear, "front_n": front, "units": units}
    return lesson_of(
        "balance", data | {"wing_x_m": car.wing.x_m, "wheelbase_m": car.car.wheelbase_m},
        rear=newton(rear, units), front=newton(abs(front), units), at=at_reference(units),
        verb="lifts" if front < 0 else "loads", angle_deg=car.wing.wing_angle_deg[m],
        whose_car=basis.whose_car,
    )  # fmt: skip


def myths(basis: Basis) -> Lesson:
    """What people say, and what the numbers say."""
    result, car = basis.result, basis.car
    paths, below, above = race(result.flow)
    sooner = PER_CENT * (1.0 - below / above)
    wing = in_free_air(result, result.wing.wing.endplate)
    ratio = float(wing.downforce.n[0, 0] / wing.drag.n[0, 0])
    facts = {"sooner": sooner, "ratio": ratio, "steeper": _steeper(result), "power": _power(car)}
    return lesson_of("myths", {"paths": paths}, **facts)


def _steeper(result) -> str:
    stall = result.advice.stall_deg
    if np.isfinite(stall):
        beyond = "beyond it the flow separates, the force turns unsteady and the drag climbs."
        return f"Only up to the stall, computed here at {stall:.0f}°; {beyond}"
    return "Only up to the stall, which lies beyond this study's table."


def _power(car) -> str:
    if car.lap is None:
        return "Power decides the straight only; without a circuit in the study the lap cannot be told."
    gain = float(car.lap.fitted.without.lap_time_s[0]) - car.lap.best[0].best_time_s
    word = "faster" if gain > 0 else "slower"
    return (
        f"With {car.car.power_w / 1e3:.0f} kW the lap of {car.lap.circuit.name} is at best {abs(gain):.1f} s"
        f" {word} with the parts: corners decide."
    )
