"""The user's rules at every advised angle: what passes at the first may stand too high at the last."""

from types import SimpleNamespace
from typing import Any

from wingtool.car import RuleCheck, check_rules
from wingtool.study.advice import Advice
from wingtool.study.car.limits import limits_of, rule_facts
from wingtool.study.schema.study import Study
from wingtool.wing import WingPolar

WORST_FIRST = ("fail", "not checked", "pass")
NO_CAR: Any = SimpleNamespace(roof_height_m=None)


def rules_over_angles(study: Study, wing: WingPolar, advice: Advice) -> tuple[RuleCheck, ...]:
    """Each rule with its worst verdict over the advised angles, with or without [car]."""
    limits = limits_of(study)
    if limits is None:
        return ()
    car = study.car.value(wing.air.density_kg_m3) if study.car else NO_CAR
    asked = wing.wing_angle_deg
    if advice.given:
        asked = asked[(asked >= advice.start_deg) & (asked <= advice.high_deg)]
    found = [check_rules(limits, rule_facts(study, wing, car, float(angle))) for angle in asked]
    return tuple(min(checks, key=_badness) for checks in zip(*found, strict=True))


def _badness(check: RuleCheck) -> tuple[int, float]:
    """Order: the worst verdict first, then the value nearest to its limit."""
    sign = -1.0 if check.rule == "at most" else 1.0
    return WORST_FIRST.index(check.verdict), sign * (check.value or 0.0)
