"""The tables of a car: axle loads, matched settings, corners, lap, lateral load, beam, proof load, rules."""

from typing import Any

import numpy as np

from wingtool.car import BeamLoads, MountLoads, ProofRecipe
from wingtool.report.car_text import car_numbers, mass_unit, proof_bags, proof_words
from wingtool.report.tables.table import Table, fields_of, table_of
from wingtool.report.text import METRIC
from wingtool.study import CarResult, LapAnswer
from wingtool.units import USUAL, DisplayUnits

BEAM_ROWS = 101


def car_tables(car: CarResult, facts: dict[str, Any], units: DisplayUnits = METRIC) -> list[Table]:
    """Every table of the car that the study gives rise to, in SI; the bags are those shown in `units`."""
    facts = facts | car_facts(car)
    loads, place, corners = car.loads, dict(vars(car.place)), dict(vars(car.corners))
    over_speed = vars(loads) | {"speed_m_s": loads.speed_m_s[:, None]}
    left = {"speed_m_s": car.reference_speed_m_s} | fields_of(car.left)
    place |= {"wing_height_m": car.place.wing_height_m[:, None]}
    place |= {"allowed": np.where(car.place.allowed, "yes", "no")}
    place_facts = facts | {"note": place.pop("note")}
    corner_facts = facts | {"felt_from_m_s": car.felt_fitted.value, "note": corners.pop("note")}
    over_place = ("wing_height_m", "setback_m")
    matched = "Matched front and rear, low to high downforce"
    tables = [
        table_of("axle_loads", "Axle loads", over_speed, facts, ("speed_m_s", "wing_angle_deg")),
        table_of("matched_settings", matched, vars(car.matched), facts),
        table_of("part_losses", "If one part comes off", left, facts),
        table_of("wing_place", "Where the wing stands", place, place_facts, over_place),
        table_of("corners", "Corner speed over radius", corners, corner_facts),
    ]
    if car.lap is not None:
        tables += lap_tables(car.lap, facts)
    if car.beam and car.proof and car.mounts:
        tables += mount_tables(car.mounts, car.beam, car.proof, facts, units)
    names = ("quantity", "number", "unit", "caution")
    numbers = dict(zip(names, zip(*car_numbers(car), strict=True), strict=True))
    tables.append(table_of("car_numbers", "The car's single numbers", numbers, facts))
    if car.rules:
        rules = fields_of(car.rules, "measure", "rule", "limit", "verdict", "value")
        facts = facts | {"rules_source": car.limits.source if car.limits else ""}
        tables.append(table_of("rules", "The user's rules", rules, facts))
    return tables


def car_facts(car: CarResult) -> dict[str, Any]:
    """What every row of the car's tables stands on."""
    return {
        "car": car.car.name,
        "set_angle_deg": car.set_angle_deg,
        "density_kg_m3": car.density_kg_m3,
        "front_end_origin": car.front[0].origin if car.front else "not fitted",
        "caution": "; ".join(text for beside, text in car.cautions if beside in ("car", "balance")),
    }


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
    gains = fields_of(difference.parts)
    parts = {"part": gains.pop("name")} | gains
    every = (*lap.best, *lap.best_tabs)
    angles = {"front_end": np.repeat([best.name for best in every], [best.lap_time_s.size for best in every])}
    for name in ("wing_angle_deg", "lap_time_s"):
        angles[name] = np.concatenate([getattr(best, name) for best in every])
    oil_facts = facts | {"caution": "; ".join(lap.oil_cautions)}
    return [
        table_of("lap_trace", "Lap with and without the parts", trace, facts),
        table_of("lap_parts", "Time gained in each part of the lap", parts, facts),
        table_of("lap_over_angle", "Lap time over wing angle", angles, facts),
        table_of("sideways", "Seconds at each lateral load in a lap", _sideways(lap), oil_facts),
        table_of("corner_holds", "Lateral load held in each corner", _holds(lap), oil_facts),
    ]


def _sideways(lap: LapAnswer) -> dict[str, np.ndarray]:
    """Seconds at each lateral load before and after."""
    one, two = lap.sustained
    level = max(one.level_g, two.level_g, key=len)
    columns = {
        "seconds_with": one.seconds,
        "seconds_without": two.seconds,
        "longest_with_s": one.longest_s,
        "longest_without_s": two.longest_s,
    }
    padded = {name: np.pad(column, (0, len(level) - len(column))) for name, column in columns.items()}
    return {"level_g": level} | padded


def _holds(lap: LapAnswer) -> dict[str, Any]:
    """Each corner's lateral load before and after."""
    with_parts, without = lap.holds
    before = {hold.name: hold for hold in without}
    pairs = tuple((hold, before[hold.name]) for hold in with_parts if hold.name in before)
    values: dict[str, Any] = {"part": np.array([hold.name for hold, _ in pairs])}
    for side, word in enumerate(("with", "without")):
        values |= fields_of(
            tuple(pair[side] for pair in pairs),
            **{f"peak_{word}_g": "peak_g", f"held_{word}_s": "held_s", f"g_seconds_{word}": "g_seconds",
               f"over_{word}_s": "over_s"},
        )  # fmt: skip
    return values


def mount_tables(
    mounts: MountLoads, beam: BeamLoads, proof: ProofRecipe, facts: dict[str, Any], units: DisplayUnits
) -> list[Table]:
    """Shear, bending, torsion and sag along the span; sandbags along it."""
    facts = facts | fields_of(mounts, "speed_m_s", "wing_angle_deg", "factor_origin", mount_caution="caution")
    keep = np.unique(np.linspace(0, len(beam.y_m) - 1, BEAM_ROWS).astype(int))
    whole = fields_of(beam, span_y_m="y_m", line_load_n_m="load_n_m", shear_n="shear_n",
                      bending_nm="bending_nm", torsion_nm="torsion_nm", sag_m="sag_m",
                      beam_twist_deg="twist_deg")  # fmt: skip
    values = {name: column[keep] for name, column in whole.items()}
    one_kg = USUAL["mass"][mass_unit(units)[0]]
    bags = {"span_y_m": proof.station_y_m, "bag_kg": one_kg * np.array(proof_bags(proof, mounts, units))}
    recipe = facts | {"recipe": proof_words(mounts)}
    return [
        table_of("wing_beam", "The wing as a beam on its stands", values, facts),
        table_of("proof_load", "Proof load in sandbags", bags, recipe),
    ]
