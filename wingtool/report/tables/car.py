"""The tables of a car: axle loads, matched settings, corners, lap, lateral load, beam, proof load, rules."""

from typing import Any

import numpy as np

from wingtool.report.car_text import car_numbers, proof_words
from wingtool.report.tables.names import fields_of, table_of
from wingtool.report.tables.table import Table
from wingtool.study import CarResult, LapAnswer

BEAM_ROWS = 101


def car_tables(car: CarResult, facts: dict[str, Any] | None = None) -> list[Table]:
    """Every table of the car that the study gives rise to."""
    facts = (facts or {}) | car_facts(car)
    always = (loads_table, matched_table, left_table, place_table, corners_table)
    tables = [table(car, facts) for table in always]
    if car.lap is not None:
        tables += lap_tables(car.lap, facts)
    if car.beam is not None:
        tables.append(beam_table(car, facts))
    if car.proof is not None:
        tables.append(proof_table(car, facts))
    tables.append(numbers_table(car, facts))
    return [*tables, rules_table(car, facts)] if car.rules else tables


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
    values = {"speed_m_s": loads.speed_m_s[:, None], "wing_angle_deg": loads.wing_angle_deg[None, :]}
    values |= fields_of(
        loads, "front_n", "rear_n", "front_air_n", "rear_air_n", "front_share", "air_front_share",
        "static_front_share",
    )  # fmt: skip
    return table_of("axle_loads", "Axle loads", values, facts, ("speed_m_s", "wing_angle_deg"))


def matched_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """The front that keeps the balance, angle by angle."""
    values = fields_of(
        car.matched, "wing_angle_deg", "speed_m_s", "wing_downforce_n", wing_drag_n="drag_n",
        matched_front_n="front_force_n", over_fitted="over_fitted", fitted_front_low_n="fitted_low_n",
        fitted_front_high_n="fitted_high_n",
    )  # fmt: skip
    return table_of("matched_settings", "Matched front and rear, low to high downforce", values, facts)


def left_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """What is left if a part comes off."""
    names = ("lost_part", "front_n", "rear_n", "front_share", "shift_percent", "words")
    values = {"speed_m_s": car.reference_speed_m_s} | fields_of(car.left, *names)
    return table_of("part_losses", "If one part comes off", values, facts)


def place_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """Balance over the wing's height and setback."""
    place = car.place
    values = {"wing_height_m": place.height_m[:, None], "setback_m": place.setback_m[None, :]}
    values |= fields_of(place, "speed_m_s", wing_downforce_n="downforce_n", front_air_n="front_air_n",
                        rear_air_n="rear_air_n", front_share="front_share")  # fmt: skip
    values["allowed"] = np.where(place.allowed, "yes", "no")
    facts = facts | {"note": place.note}
    return table_of("wing_place", "Where the wing stands", values, facts, ("wing_height_m", "setback_m"))


def corners_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """Speed against radius."""
    values = fields_of(
        car.corners, "radius_m", "with_m_s", "without_m_s", "retuned_m_s", "retuned_without_m_s", "with_g",
        "without_g", "weaker",
    )  # fmt: skip
    facts = facts | {"felt_from_m_s": car.felt_fitted.value, "note": car.corners.note}
    return table_of("corners", "Corner speed over radius", values, facts)


def lap_tables(lap: LapAnswer, facts: dict[str, Any]) -> list[Table]:
    """Trace, parts of the lap, lap time over angle, lateral load."""
    facts = facts | {"circuit": lap.circuit.name, "circuit_origin": lap.circuit.origin}
    difference = lap.fitted.difference
    trace = {
        "distance_m": difference.distance_m,
        "curvature_1_m": lap.circuit.curvature_1_m,
        "with_m_s": lap.fitted.with_parts.speed_m_s[0],
        "without_m_s": lap.fitted.without.speed_m_s[0],
        "with_g": lap.fitted.with_parts.lateral_g[0],
        "without_g": lap.fitted.without.lateral_g[0],
        "gain_s": difference.gain_s,
    }
    parts = fields_of(
        difference.parts, part="name", gain_s="gain_s", slowest_with_m_s="slowest_with_m_s",
        slowest_without_m_s="slowest_without_m_s", fastest_with_m_s="fastest_with_m_s",
        fastest_without_m_s="fastest_without_m_s",
    )  # fmt: skip
    every = (*lap.best, *lap.best_tabs)
    angles = {"front_end": np.repeat([best.name for best in every], [best.lap_time_s.size for best in every])}
    for name in ("wing_angle_deg", "lap_time_s"):
        angles[name] = np.concatenate([getattr(best, name) for best in every])
    return [
        table_of("lap_trace", "Lap with and without the parts", trace, facts),
        table_of("lap_parts", "Time gained in each part of the lap", parts, facts),
        table_of("lap_over_angle", "Lap time over wing angle", angles, facts),
        sideways_table(lap, facts),
        holds_table(lap, facts),
    ]


def sideways_table(lap: LapAnswer, facts: dict[str, Any]) -> Table:
    """Seconds at each lateral load before and after."""
    one, two = lap.sustained_with, lap.sustained_without
    level = max(one.level_g, two.level_g, key=len)
    columns = {
        "seconds_with": one.seconds,
        "seconds_without": two.seconds,
        "longest_with_s": one.longest_s,
        "longest_without_s": two.longest_s,
    }
    values = {name: np.pad(column, (0, len(level) - len(column))) for name, column in columns.items()}
    facts = facts | {"caution": "; ".join(lap.oil_cautions)}
    title = "Seconds at each lateral load in a lap"
    return table_of("sideways", title, {"level_g": level} | values, facts)


def holds_table(lap: LapAnswer, facts: dict[str, Any]) -> Table:
    """Each corner's lateral load before and after."""
    before = {hold.name: hold for hold in lap.holds_without}
    pairs = tuple((hold, before[hold.name]) for hold in lap.holds_with if hold.name in before)
    values: dict[str, Any] = {"part": np.array([hold.name for hold, _ in pairs])}
    for side, word in enumerate(("with", "without")):
        values |= fields_of(
            tuple(pair[side] for pair in pairs),
            **{f"peak_{word}_g": "peak_g", f"held_{word}_s": "held_s", f"g_seconds_{word}": "g_seconds",
               f"over_{word}_s": "over_s"},
        )  # fmt: skip
    facts = facts | {"caution": "; ".join(lap.oil_cautions)}
    return table_of("corner_holds", "Lateral load held in each corner", values, facts)


def numbers_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """Every single number of the car with its unit and its caution."""
    rows = car_numbers(car)
    values = dict(zip(("quantity", "number", "unit", "caution"), zip(*rows, strict=True), strict=True))
    return table_of("car_numbers", "The car's single numbers", values, facts)


def beam_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """Shear, bending, torsion and sag along the span."""
    beam = car.beam
    keep = np.unique(np.linspace(0, len(beam.y_m) - 1, BEAM_ROWS).astype(int))  # type: ignore[union-attr]
    whole = fields_of(beam, span_y_m="y_m", line_load_n_m="load_n_m", shear_n="shear_n",
                      bending_nm="bending_nm", torsion_nm="torsion_nm", sag_m="sag_m",
                      beam_twist_deg="twist_deg")  # fmt: skip
    values = {name: column[keep] for name, column in whole.items()}
    return table_of("wing_beam", "The wing as a beam on its stands", values, facts | _mount_facts(car))


def proof_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """Sandbags along the span."""
    proof = car.proof
    values = {"span_y_m": proof.station_y_m, "bag_kg": proof.bag_kg}  # type: ignore[union-attr]
    facts = facts | _mount_facts(car) | {"recipe": proof_words(car.mounts)}  # type: ignore[arg-type]
    return table_of("proof_load", "Proof load in sandbags", values, facts)


def _mount_facts(car: CarResult) -> dict[str, Any]:
    return fields_of(car.mounts, "speed_m_s", "wing_angle_deg", "factor_origin", mount_caution="caution")


def rules_table(car: CarResult, facts: dict[str, Any]) -> Table:
    """Pass and fail against the user's rules."""
    values = fields_of(car.rules, "measure", "rule", "limit", "verdict", "value")
    source = car.limits.source if car.limits else ""
    return table_of("rules", "The user's rules", values, facts | {"rules_source": source})
