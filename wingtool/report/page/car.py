"""What stands on a study's page about the car, block by block: tables, sentences, cautions."""

import math
from collections.abc import Callable
from typing import Any

from wingtool.car import NOTICED, Estimate
from wingtool.files import words_beside
from wingtool.report import car_text
from wingtool.report.text import (
    METRIC,
    both_ends_of,
    degrees,
    figures,
    moment,
    own_distance,
    own_length,
    own_speed,
    power_unit,
    seconds,
    sentence,
    speed,
    speed_scale,
    tenths,
)
from wingtool.study import CarResult
from wingtool.track import FLAT_S
from wingtool.units import METRE_PER_INCH, DisplayUnits

WORDS = words_beside(__file__, "car")
LAP = "Lap"
LIKELY = "likely (largest doubt)"
NOT_FELT = "not at your speeds"
LEAST_SHOWN_S = 0.005  # what a hundredth of a second still shows
PLAIN_NAMES = {"nothing": "all parts on", "all parts": "bare car"}
Rows = list[tuple[str, ...]]


def car_content(car: CarResult, units: DisplayUnits = METRIC) -> list[dict[str, Any]]:
    """Blocks of the car's answer: heading, a table (its headings and rows), sentences, cautions."""
    ground = [f"ground under the {gap.part}: {gap.note}" for gap in car.clearances]
    front = car_text.front_rows(car, units)
    blocks = [
        ("Balance", _balance(car, units), ("balance",)),
        ("Front end, clearance, springs", ((), front, ground), ("front", "springs")),
        ("Straights and corners", _time(car, units), ()),
        (LAP, _lap(car.lap) if car.lap else ((), [], []), ("oil",)),
        ("Mounts", _mounts(car, units), ("mounts",)),
        ("Rules and cost", _rules(car, units), ("rules",)),
        ("How far to trust the car's numbers", ((), [], list(car.car.notes)), ("car",)),
    ]
    shown = [
        {
            "heading": heading,
            "head": head,
            "rows": rows,
            "lines": [sentence(line) for line in lines],
            "cautions": [sentence(text) for place, text in car.cautions if place in places],
        }
        for heading, (head, rows, lines), places in blocks
    ]
    return [block for block in shown if block["lines"] or block["cautions"] or block["rows"]]


def _balance(car: CarResult, units: DisplayUnits) -> tuple[tuple[str, ...], Rows, list[str]]:
    at = speed(car.reference_speed_m_s, units)
    rows: Rows = [
        (
            case_name(case.lost_part),
            f"{100 * case.front_share:.1f} %",
            _banded(car.share.times(100.0), "%", tenths)[1] if case.lost_part == "nothing" else "",
            case.words,
        )
        for case in car.left
    ]
    return ("parts", "front axle", LIKELY, f"at {at}"), rows, []


def case_name(lost_part: str) -> str:
    """A case of the balance in words: all parts on, one lost, or the bare car."""
    return PLAIN_NAMES.get(lost_part, f"{lost_part} lost")


def _time(car: CarResult, units: DisplayUnits) -> tuple[tuple[str, ...], Rows, list[str]]:
    straight = car.straight
    slow, fast = (f"{end / speed_scale(units):.0f}" for end in car.top_band_m_s)
    per_unit, end_loss = 1.0 / speed_scale(units), straight.end_lost_m_s
    power_at = own_speed(straight.power_speed_m_s, units)
    unit, watt = power_unit(units)
    seen = "plain to see" if end_loss.value >= NOTICED * straight.end_without_m_s else "hardly noticed"
    rows: Rows = [
        ("top speed", own_speed(straight.top_with_m_s, units), f"{slow} to {fast}"),
        ("top speed lost", *_banded(straight.top_lost_m_s.times(per_unit), units.speed)),
        (
            f"lost on {own_distance(straight.length_m, units)} of straight, equal entry speed",
            *_banded(straight.time_lost_s, "s", seconds),
        ),
        (f"speed lost at the end of it, {seen}", *_banded(end_loss.times(per_unit), units.speed)),
        (f"power taken at {power_at}", *_banded(straight.power_w.times(1.0 / watt), unit)),
    ]
    for felt, how in ((car.felt_fitted, "as fitted"), (car.felt_retuned, "retuned")):
        value, low, high = (
            own_speed(speed, units) if speed <= straight.top_with_m_s else ""
            for speed in (felt.value, felt.low, felt.high)
        )
        reach = f"{low} to {high}" if high else f"from {low}, or not at all" if low else ""
        rows.append((f"felt in corners above, {how}", value or NOT_FELT, reach))
    return ("", "", LIKELY), rows, []


def _lap(lap: Any) -> tuple[tuple[str, ...], Rows, list[str]]:
    rows: Rows = [
        (f"gained {how}, of {pair.without.lap_time_s[0]:.1f} s", *_banded(pair.gain, "s", seconds))
        for pair, how in ((lap.fitted, "as fitted"), (lap.retuned, "retuned"))
    ]
    parts = sorted(lap.fitted.difference.parts, key=lambda part: part.gain_s)
    for part, most in ((parts[-1], "most gained"), (parts[0], "most lost")):
        if abs(part.gain_s) >= LEAST_SHOWN_S and (part.gain_s > 0) == (most == "most gained"):
            rows.append((most, f"{seconds(abs(part.gain_s))} s", part.name))
    for best, reach in zip(lap.best, lap.best_range_deg, strict=True):
        name = f"best angle {'as fitted, ' if best is lap.best[0] else ''}{best.name}"
        if not math.isfinite(best.best_deg):
            rows.append((name, "none", "no angle keeps the margin to the stall"))
            continue
        flat = f"{degrees(best.flat_from_deg)} to {degrees(best.flat_to_deg)} within {FLAT_S:g} s"
        edge = "limited by margin or range; " if best.at_edge else ""
        if reach.high > reach.low:
            edge += f"{degrees(reach.low)} to {degrees(reach.high)}; "
        rows.append((name, degrees(best.best_deg), edge + flat))
    rows += _tab_laps(lap)
    return (lap.circuit.name, "", LIKELY), rows, [WORDS["retuned"]]


def _tab_laps(lap: Any) -> Rows:
    """Best angle with each tab, retuned; one row where their laps differ by less than the gain's band."""
    found = [
        (best.name.split(",")[0], degrees(best.best_deg), best.best_time_s)
        for best in lap.best_tabs
        if best.name.endswith("retuned") and math.isfinite(best.best_deg)
    ]
    times, band = [time for *_, time in found], lap.retuned.gain
    if len(found) > 1 and max(times) - min(times) < 0.5 * (band.high - band.low):
        told = ", ".join(f"{name} {angle}" for name, angle, _ in found)
        return [("tab or more angle, retuned", "equal", f"best angles: {told}")]
    return [(f"best angle, {name}, retuned", angle, f"{time:.2f} s a lap") for name, angle, time in found]


def _banded(found: Estimate, unit: str, shown: Callable[[float], str] = figures) -> tuple[str, str]:
    """Value with its unit; both ends and the largest doubt, nothing where the ends show the same digits."""
    ends = both_ends_of(found, shown)
    doubt = f" ({found.largest_doubt})" if found.largest_doubt else ""
    return f"{shown(found.value)} {unit}", ends and ends + doubt


def _mounts(car: CarResult, units: DisplayUnits) -> tuple[tuple[str, ...], Rows, list[str]]:
    if car.mounts is None:
        return (), [], []
    one, fixing = car.mounts, car.mounts.mounts
    at = own_speed(one.speed_m_s, units)
    rows: Rows = [
        ("down on each foot", car_text.most_force(one.down_n, units)),
        (f"nose-up moment at each foot, most at {degrees(one.wing_angle_deg)}", moment(one.moment_nm, units)),
        ("pull in each bolt", car_text.most_force(one.bolt_tension_n, units)),
        ("proof load, down on the wing", car_text.proof_force(one.proof_down_n, fixing.proof_factor, units)),
        (
            "proof load, pull aft, with stands and wake",
            car_text.proof_force(one.proof_drag_n, fixing.proof_factor, units),
        ),
    ]
    head: tuple[str, ...] = ("high end, gust and kerb in it", at)
    if (there := car.mounts_on_circuit) is not None:
        down, bolt = (car_text.most_force(newton, units) for newton in (there.down_n, there.bolt_tension_n))
        more = (down, moment(there.moment_nm, units), bolt, "–", "–")
        rows = [(*row, text) for row, text in zip(rows, more, strict=True)]
        head = (*head, f"on the circuit, {own_speed(there.speed_m_s, units)}")
    lines = [WORDS["moment"].format(car_text.fixing_words(fixing, units))]
    if car.proof is not None:
        lines += [car_text.proof_words(one, units), bag_words(car, units)]
    return head, rows, lines


def bag_words(car: Any, units: DisplayUnits = METRIC) -> str:
    """The bags of the proof load: masses and places along the span."""
    unit, sold = car_text.mass_unit(units)
    bags = car_text.proof_bags(car.proof, car.mounts, units)
    places = ", ".join(own_length(y, units).split(" ")[0] for y in car.proof.station_y_m)
    needed = " or ".join(f"{math.ceil(sum(bags) / one)} bags of {one} {unit}" for one in sold)
    each = ", ".join(f"{mass:g}" for mass in bags)
    return WORDS["bags"].format(each, sum(bags), needed, places, units.length, unit=unit)


def _rules(car: CarResult, units: DisplayUnits) -> tuple[tuple[str, ...], Rows, list[str]]:
    rows: Rows = [_rule(check, units) for check in car.rules]
    low = car.lap.fitted.gain.low if car.lap else math.inf
    head = ("rule", "limit", "yours", "") if rows else ()
    return head, rows, [cost_line(car.cost, low, units)] if car.cost else []


def cost_line(cost: Any, gain_low_s: float = math.inf, units: DisplayUnits = METRIC) -> str:
    """What the parts cost and what that buys; said where the low end of the lap's gain buys nothing."""
    unit = f" {cost.currency}" if cost.currency else ""
    text = f"parts cost {cost.total:.0f}{unit}"
    if cost.per_tenth_second is not None:
        text += f", {figures(cost.per_tenth_second)}{unit} for each tenth of a second a lap"
        if gain_low_s <= 0.0:
            text += " (the range includes zero: they may gain no time at all)"
    if cost.per_kg_downforce is not None:
        text += (
            f", {figures(cost.per_kg_downforce)}{unit} for each kg of downforce of all parts"
            f" at {speed(cost.downforce_speed_m_s, units)}"
        )
    return text


def _rule(check: Any, units: DisplayUnits) -> tuple[str, ...]:
    def size(value: float) -> str:
        if not check.measure.endswith("_area"):
            return own_length(value, units)
        inches = f"{figures(value / METRE_PER_INCH**2)} in², " if units.length == "in" else ""
        return f"{inches}{value:.3g} m²"

    yours = "not in the study" if check.value is None else size(check.value)
    return check.measure.replace("_", " "), f"{check.rule} {size(check.limit)}", yours, check.verdict
