"""The user's own rules checked against the study; no rule is built in."""

from collections.abc import Mapping
from dataclasses import dataclass

TRACK_ONLY = "track only unless you have checked the law; only limits that you entered are checked"
PASS, FAIL, UNKNOWN = "pass", "fail", "not checked"


@dataclass(frozen=True)
class Limits:
    """What the rules allow: `most` and `least` map a measure (key of `FACTS`) to its limit in SI."""

    source: str
    most: Mapping[str, float]
    least: Mapping[str, float]


@dataclass(frozen=True)
class RuleCheck:
    """One line of the list; `value` is None where the study does not say, and then nothing is passed."""

    measure: str
    rule: str
    limit: float
    value: float | None
    verdict: str


# measure: (kind of unit, what it is)
FACTS = {
    "wing_span": ("length", "span of the wing, endplates excluded"),
    "wing_chord": ("length", "greatest chord"),
    "wing_area": ("area", "span times mean chord, of all planes"),
    "wing_top_height": ("length", "highest point of wing or endplate above the ground"),
    "wing_over_roof": ("length", "highest point above the roof"),
    "wing_behind_rear_axle": ("length", "rearmost point of wing or endplate behind the rear axle"),
    "tab_height": ("length", "trailing-edge tab"),
    "endplate_height": ("length", "total height of an endplate"),
    "endplate_area": ("area", "one side of one endplate"),
    "splitter_overhang": ("length", "ahead of the bumper"),
    "splitter_width": ("length", "width of the splitter"),
    "splitter_clearance": ("length", "splitter's underside above the ground at rest"),
    "air_dam_clearance": ("length", "air dam's lower edge above the ground at rest"),
    "stand_height": ("length", "foot to wing"),
}


def check_rules(limits: Limits, facts: Mapping[str, float | None]) -> tuple[RuleCheck, ...]:
    """Pass, fail or not checked for every rule, in the order written.

    Examples
    --------
    >>> rules = Limits("my rule book", {"wing_span": 1.6, "wing_over_roof": 0.2}, {})
    >>> [check.verdict for check in check_rules(rules, {"wing_span": 1.4})]
    ['pass', 'not checked']
    """
    most = [_check(name, "at most", limit, facts.get(name)) for name, limit in limits.most.items()]
    least = [_check(name, "at least", limit, facts.get(name)) for name, limit in limits.least.items()]
    return tuple(most + least)


def _check(name: str, rule: str, limit: float, value: float | None) -> RuleCheck:
    if value is None:
        return RuleCheck(name, rule, limit, None, UNKNOWN)
    tolerance = 1e-9 * max(abs(limit), 1.0)
    good = value <= limit + tolerance if rule == "at most" else value >= limit - tolerance
    return RuleCheck(name, rule, limit, value, PASS if good else FAIL)
