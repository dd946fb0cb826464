"""The cautions of a car's numbers, each beside the number that it belongs to."""

from wingtool.car import (
    BALANCE_CAUTION,
    BODY_LIFT,
    HOW_TO_MEASURE,
    MOUNT_CAUTION,
    NOT_INCLUDED,
    TRACK_ONLY,
    TYRE_CAUTION,
    BladeLoad,
    Limits,
    MountLoads,
)
from wingtool.study.car.lap import LapAnswer
from wingtool.study.cautions import WORDS
from wingtool.study.schema.study import Study

OF_CAR = WORDS["car"]


def part_cautions(
    study: Study, front, clearances, springs, blade: BladeLoad | None, mount: MountLoads | None,
    laps: LapAnswer | None, limits: Limits | None,
) -> tuple[tuple[str, str], ...]:  # fmt: skip
    """Cautions on front end, balance, springs, mounts, oil and rules: (beside, text)."""
    us = study.units.length == "in"
    cautions: list[tuple[str, str]] = []
    if laps and BODY_LIFT in (laps.fitted.gain.largest_doubt, laps.retuned.gain.largest_doubt):
        text = f"the {BODY_LIFT} is the largest doubt of the lap gain: {HOW_TO_MEASURE}"
        cautions.append(("balance", text))
    cautions += [("front", gap.caution) for gap in clearances if gap.caution]
    cautions += [("car", OF_CAR["estimate_caution"]), ("balance", BALANCE_CAUTION)]
    cautions += [("springs", TYRE_CAUTION)] if any(one.load_n > 0.0 for one in springs) else []
    if front:
        cautions.append(("front", OF_CAR["front_caution"]))
    if blade and study.splitter:
        cautions += [("front", text) for text in (study.splitter.taken(us), blade.caution) if text]
    if study.mounts:
        beside = (study.mounts.taken(us), NOT_INCLUDED) if mount else (OF_CAR["it_lifts"],)
        cautions += [("mounts", text) for text in (*beside, MOUNT_CAUTION) if text]
    else:
        cautions.append(("balance", OF_CAR["no_place"]))
    if laps:
        cautions += [("oil", text) for text in laps.oil_cautions if text]
    cautions.append(("rules", TRACK_ONLY if limits else f"no rules are written in [limits]; {TRACK_ONLY}"))
    return tuple(cautions)
