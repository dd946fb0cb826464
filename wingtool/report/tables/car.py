"""The tables of a car: axle loads, matched settings, corners, lap, sideways load, beam, proof load, rules."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.report.car_text import car_numbers
from wingtool.report.tables.names import table_of
from wingtool.report.tables.table import Table

if TYPE_CHECKING:
    from wingtool.study import CarResult, LapAnswer

BEAM_ROWS = 101


def car_tables(car: CarResult, facts: dict[str, Any] | None = None) -> list[Table]:
    """Every table of the car that the study gives rise to."""
    told = (facts or {}) | car_facts(car)
    tables = [loads_table(car, told), matched_table(car, told), left_table(car, told), place_table(car, told)]
    tables.append(corners_table(car, told))
    if car.lap is not None:
        tables += lap_tables(car.lap, told)
    if car.beam is not None:
        tables.append(beam_table(car, told))
    if car.proof is not None:
        tables.append(proof_table(car, told))
    tables.append(numbers_table(car, told))
    return [*tables, rules_table(car, told)] if car.rules else tables


def car_facts(car: CarResult) -> dict[str, Any]:
    """What every row of the car's tables stands on."""
    return {
        "car": car.car.name,
        "set_angle_deg": car.set_angle_deg,
        "density_kg_m3": car.density_kg_m3,
        "front_end_origin": car.splitter.origin,
        "caution": "; ".join(text for beside, text in car.cautions if beside in ("car", "balance")),
    }


def loads_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """Axle loads over speed and angle."""
    loads = car.loads
    names = ("front_n", "rear_n", "front_air_n", "rear_air_n", "front_share", "air_front_share")
    values: dict[str, Any] = {
        "speed_m_s": loads.speed_m_s[:, None],
        "wing_angle_deg": loads.wing_angle_deg[None, :],
    }
    values |= {name: getattr(loads, name) for name in names}
    values["static_front_share"] = loads.static_front_share
    return table_of("axle_loads", "Axle loads", values, facts, ("speed_m_s", "wing_angle_deg"))


def matched_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """The front that keeps the balance, angle by angle."""
    m = car.matched
    values = {
        "wing_angle_deg": m.wing_angle_deg,
        "speed_m_s": m.speed_m_s,
        "wing_downforce_n": m.wing_downforce_n,
        "wing_drag_n": m.drag_n,
        "matched_front_n": m.front_force_n,
        "over_fitted": m.over_fitted,
        "fitted_front_low_n": m.fitted_low_n,
        "fitted_front_high_n": m.fitted_high_n,
    }
    return table_of("matched_settings", "Matched front and rear, low to high downforce", values, facts)


def left_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """What is left if a part comes off."""
    values: dict[str, Any] = {"speed_m_s": car.reference_speed_m_s}
    for name in ("lost_part", "front_n", "rear_n", "front_share", "shift_percent", "words"):
        values[name] = np.array([getattr(case, name) for case in car.left])
    return table_of("part_losses", "If one part comes off", values, facts)


def place_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """Balance over the wing's height and setback."""
    place = car.place
    values = {
        "wing_height_m": place.height_m[:, None],
        "setback_m": place.setback_m[None, :],
        "speed_m_s": place.speed_m_s,
        "wing_downforce_n": place.downforce_n,
        "front_air_n": place.front_air_n,
        "rear_air_n": place.rear_air_n,
        "front_share": place.front_share,
        "allowed": np.where(place.allowed, "yes", "no"),
    }
    told = facts | {"note": place.note}
    return table_of("wing_place", "Where the wing stands", values, told, ("wing_height_m", "setback_m"))


def corners_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """Speed against radius."""
    names = (
        "radius_m", "with_m_s", "without_m_s", "retuned_m_s", "retuned_without_m_s", "with_g", "without_g",
        "weaker",
    )  # fmt: skip
    values = {name: getattr(car.corners, name) for name in names}
    told = facts | {"felt_from_m_s": car.felt_fitted.value, "note": car.corners.note}
    return table_of("corners", "Corner speed over radius", values, told)


def lap_tables(lap: LapAnswer, facts: dict[str, Any]) -> list[Table]:
    """Trace, parts of the lap, lap time over angle, sideways load."""
    told = facts | {"circuit": lap.circuit.name, "circuit_origin": lap.circuit.origin}
    trace = {
        "distance_m": lap.fitted.difference.distance_m,
        "curvature_1_m": lap.circuit.curvature_1_m,
        "with_m_s": lap.fitted.with_parts.speed_m_s[0],
        "without_m_s": lap.fitted.without.speed_m_s[0],
        "with_g": lap.fitted.with_parts.lateral_g[0],
        "without_g": lap.fitted.without.lateral_g[0],
        "gain_s": lap.fitted.difference.gain_s,
    }
    names = (
        "gain_s", "slowest_with_m_s", "slowest_without_m_s", "fastest_with_m_s", "fastest_without_m_s",
    )  # fmt: skip
    parts: dict[str, Any] = {"part": np.array([part.name for part in lap.fitted.difference.parts])}
    parts |= {name: np.array([getattr(part, name) for part in lap.fitted.difference.parts]) for name in names}
    every = (*lap.best, *lap.best_tabs)
    angles = {
        "front_end": np.concatenate([[best.name] * len(best.wing_angle_deg) for best in every]),
        "wing_angle_deg": np.concatenate([best.wing_angle_deg for best in every]),
        "lap_time_s": np.concatenate([best.lap_time_s for best in every]),
    }
    return [
        table_of("lap_trace", "Lap with and without the parts", trace, told),
        table_of("lap_parts", "Where the time is", parts, told),
        table_of("lap_over_angle", "Lap time over wing angle", angles, told),
        sideways_table(lap, told),
        holds_table(lap, told),
    ]


def sideways_table(lap: LapAnswer, facts: dict[str, Any]) -> Table:
    """Seconds at each sideways load before and after."""
    one, two = lap.sustained_with, lap.sustained_without
    rows = max(len(one.level_g), len(two.level_g))

    def padded(values: np.ndarray) -> np.ndarray:
        return np.pad(values, (0, rows - len(values)))

    values = {
        "level_g": max(one.level_g, two.level_g, key=len),
        "seconds_with": padded(one.seconds),
        "seconds_without": padded(two.seconds),
        "longest_with_s": padded(one.longest_s),
        "longest_without_s": padded(two.longest_s),
    }
    told = facts | {"caution": "; ".join(lap.oil_cautions)}
    return table_of("sideways", "Seconds at each sideways load in a lap", values, told)


def holds_table(lap: LapAnswer, facts: dict[str, Any]) -> Table:
    """Each corner's sideways load before and after."""
    before = {hold.name: hold for hold in lap.holds_without}
    pairs = [(hold, before[hold.name]) for hold in lap.holds_with if hold.name in before]
    values: dict[str, Any] = {"part": np.array([hold.name for hold, _ in pairs])}
    columns = (("peak", "g"), ("held", "s"), ("g_seconds", ""), ("over", "s"))
    for side, word in enumerate(("with", "without")):
        for name, unit in columns:
            field = f"{name}_{unit}" if unit else name
            key = f"{name}_{word}_{unit}" if unit else f"{name}_{word}"
            found = [getattr(pair[side], field) for pair in pairs]
            values[key] = np.array([np.nan if value is None else value for value in found])
    told = facts | {"caution": "; ".join(lap.oil_cautions)}
    return table_of("corner_holds", "Sideways load held in each corner", values, told)


def numbers_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """Every single number of the car with its unit and its caution."""
    rows = car_numbers(car)
    values = {
        "quantity": np.array([row[0] for row in rows]),
        "number": np.array([row[1] for row in rows], float),
        "unit": np.array([row[2] for row in rows]),
        "caution": np.array([row[3] for row in rows]),
    }
    return table_of("car_numbers", "The car's single numbers", values, facts)


def beam_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """Shear, bending, torsion and sag along the span."""
    beam = car.beam
    keep = np.unique(np.linspace(0, len(beam.y_m) - 1, BEAM_ROWS).astype(int))  # type: ignore[union-attr]
    columns = {
        "span_y_m": "y_m", "line_load_n_m": "load_n_m", "shear_n": "shear_n", "bending_nm": "bending_nm",
        "torsion_nm": "torsion_nm", "sag_m": "sag_m",
    }  # fmt: skip
    values = {name: getattr(beam, field)[keep] for name, field in columns.items()}
    return table_of("wing_beam", "The wing as a beam on its stands", values, facts | _mount_facts(car))


def proof_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """Sandbags along the span."""
    proof = car.proof
    values = {"span_y_m": proof.station_y_m, "bag_kg": proof.bag_kg}  # type: ignore[union-attr]
    told = facts | _mount_facts(car) | {"recipe": proof.text}  # type: ignore[union-attr]
    return table_of("proof_load", "Proof load in sandbags", values, told)


def _mount_facts(car: CarResult) -> dict[str, Any]:
    one = car.mounts
    if one is None:
        return {}
    return {
        "speed_m_s": one.speed_m_s,
        "wing_angle_deg": one.wing_angle_deg,
        "factor_origin": one.factor_origin,
        "mount_caution": one.caution,
    }


def rules_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """Pass and fail against the user's rules."""
    values: dict[str, Any] = {}
    for name in ("measure", "rule", "limit", "verdict"):
        values[name] = np.array([getattr(check, name) for check in car.rules])
    values["value"] = np.array([np.nan if check.value is None else check.value for check in car.rules])
    source = car.limits.source if car.limits else ""
    return table_of("rules", "The user's rules", values, facts | {"rules_source": source})
