"""The car's single numbers, and rows on front end, clearance and springs."""

import math
import re

from wingtool.car import NOT_INCLUDED, Estimate, MountLoads, ProofRecipe
from wingtool.files import words_beside
from wingtool.report.text import METRIC, force_band, force_scale, own_force, own_length, own_speed, speed
from wingtool.study import CarResult
from wingtool.units import METRE_PER_INCH, NEWTON_PER_KGF, DisplayUnits, rounded_up

WORDS = words_beside(__file__, "car_text")
TOP_BAND = "car.cda_band (a tenth is common practice, no source) and the parts' own bands, all at once"
Row = tuple[str, float | None, str, str]  # None: no number


def car_numbers(car: CarResult) -> list[Row]:
    """Quantity, number, unit, caution: everything of the car that is one number."""
    rows: list[Row] = [
        ("wing angle of these numbers", car.set_angle_deg, "degree", ""),
        ("top speed with the parts", car.straight.top_with_m_s, "m s-1", ""),
        ("top speed with the parts, low end", car.top_band_m_s[0], "m s-1", TOP_BAND),
        ("top speed with the parts, high end", car.top_band_m_s[1], "m s-1", TOP_BAND),
        ("top speed without the parts", car.straight.top_without_m_s, "m s-1", ""),
    ]
    run = f"{car.straight.length_m:.0f} m long, from equal entry speed"
    rows += _with_ends("top speed lost", car.straight.top_lost_m_s, "m s-1", "")
    rows += _with_ends("time lost on the straight", car.straight.time_lost_s, "s", run)
    rows += _with_ends(
        "power that the parts take", car.straight.power_w, "W", speed(car.straight.power_speed_m_s)
    )
    rows += _with_ends("felt from this speed on, as fitted", car.felt_fitted, "m s-1", car.corners.note)
    rows += _with_ends("felt from this speed on, retuned", car.felt_retuned, "m s-1", car.corners.note)
    rows += _with_ends("speed lost at the end of the straight", car.straight.end_lost_m_s, "m s-1", run)
    rows += _with_ends("front axle's share with the parts", car.share, "1", speed(car.reference_speed_m_s))
    return rows + _front_numbers(car) + _spring_numbers(car) + _lap_numbers(car) + _mount_numbers(car)


def _front_numbers(car: CarResult) -> list[Row]:
    q = 0.5 * car.density_kg_m3 * car.reference_speed_m_s**2
    rows: list[Row] = []
    for part in car.front:
        note = f"{speed(car.reference_speed_m_s)}; {part.origin}"
        for end, area in zip(("low", "middle", "high"), part.cla_m2, strict=True):
            rows.append((f"{part.name} downforce, {end}", q * area, "N", note))
    if car.blade is not None:
        note = f"{speed(car.blade.speed_m_s)}; {car.blade.caution}"
        rows += [
            ("load on the splitter's blade, high end", car.blade.load_n, "N", note),
            ("pull in one splitter rod", car.blade.rod_n, "N", note),
            ("sag of the splitter's front edge", car.blade.sag_m, "m", note),
        ]
    for gap in car.clearances:
        note = f"{gap.note}; {gap.caution}" if gap.caution else gap.note
        rows.append((f"clearance left under the {gap.part}", gap.left_m, "m", note))
        rows.append((f"clearance left under the {gap.part}, high end", gap.most_left_m, "m", gap.note))
    return rows


def _spring_numbers(car: CarResult) -> list[Row]:
    rows: list[Row] = []
    for one in car.springs:
        note = one.warning or speed(one.speed_m_s)
        for name, value, unit in (
            (f"load that the air adds to a {one.axle} wheel", one.load_n, "N"),
            (f"the same over the {one.axle} wheel's load at rest", one.load_change_ratio, "1"),
            (f"{one.axle} ride height lost", one.drop_m, "m"),
            (f"{one.axle} bump travel left", one.bump_left_m, "m"),
            (f"{one.axle} outer tyre over its load rating", one.tyre_share, "1"),
        ):
            rows.append((name, value, unit, note))
    return rows


def _lap_numbers(car: CarResult) -> list[Row]:
    if car.lap is None:
        return []
    lap = car.lap
    rows: list[Row] = [
        (
            "lap without the parts",
            float(lap.fitted.without.lap_time_s[0]),
            "s",
            "an estimate; differences are worth more",
        ),
        *_with_ends("lap gain as fitted", lap.fitted.gain, "s", "against the bare car as fitted"),
        *_with_ends("lap gain retuned", lap.retuned.gain, "s", "against the bare car retuned"),
        ("g-seconds of a lap without, retuned", lap.sustained[1].g_seconds, "s", lap.oil_cautions[-1]),
        ("g-seconds of a lap with, retuned", lap.sustained[0].g_seconds, "s", lap.oil_cautions[-1]),
    ]
    kept = "margin to the stall kept"
    for best, reach in zip(lap.best, lap.best_range_deg, strict=True):
        rows += _with_ends(f"best angle {best.name}", reach, "degree", kept)
    return rows


def _with_ends(name: str, found: Estimate, unit: str, note: str) -> list[Row]:
    """Value and both ends of the band; the first caution names the largest doubt."""
    doubt = f"largest doubt: {found.largest_doubt}" if found.largest_doubt else ""
    first = "; ".join(text for text in (note, doubt) if text)
    return [
        (name, found.value, unit, first),
        (f"{name}, low end", found.low, unit, note),
        (f"{name}, high end", found.high, unit, note),
    ]


def fixing_words(mounts, units: DisplayUnits = METRIC) -> str:
    """What a bolt's pull rests on: it grows as bolts are fewer or rows closer."""
    return f"{mounts.bolts_per_foot} bolts a foot in two rows {own_length(mounts.bolt_rows_m, units)} apart"


def mass_unit(units: DisplayUnits) -> tuple[str, tuple[int, int]]:
    """The unit of mass in which sand is weighed, and the bags as sold."""
    return ("lb", (50, 60)) if units.force == "lbf" else ("kg", (25, 20))


def proof_bags(proof: ProofRecipe, loads: MountLoads, units: DisplayUnits) -> list[float]:
    """The bags' masses as shown, which together are never below the proof load as printed."""
    shown = proof_force(loads.proof_down_n, loads.mounts.proof_factor, units)
    least = float(re.findall(r"[\d.]+", shown)[-1])  # in kgf or lbf
    share = proof.bag_kg / proof.bag_kg.sum()
    return [math.ceil(round(10 * least * float(one), 6)) / 10 for one in share]


def proof_words(loads: MountLoads, units: DisplayUnits = METRIC) -> str:
    """How the proof load is laid on."""
    aft_m, pull = loads.proof_aft_m, proof_force(loads.proof_drag_n, loads.mounts.proof_factor, units)
    side = "behind" if aft_m >= 0.0 else "ahead of"
    one_stand = math.floor(10.0 * loads.proof_down_n / loads.mounts.stands / loads.down_n + 1e-9) / 10.0
    tilt = WORDS["tilt"].format(one_stand) if loads.mounts.stands > 1 else ""
    aft = own_length(abs(aft_m), units)
    return WORDS["proof"].format(aft, side, pull, loads.mounts.proof_factor, tilt)


def worst_load(newton: float, units: DisplayUnits = METRIC) -> str:
    """A load that must be borne, in the study's unit, to three figures rounded up.

    Examples
    --------
    >>> worst_load(2604.0), worst_load(714.0)
    ('2610', '714')
    """
    return rounded_up(newton / force_scale(units))


def most_force(newton: float, units: DisplayUnits = METRIC) -> str:
    """The high end of a load, rounded up, in the study's own unit."""
    return f"{worst_load(newton, units)} {units.force}"


def proof_force(newton: float, factor: float, units: DisplayUnits = METRIC) -> str:
    """A force of the proof load: the factor times the worst load as printed, rounded up.

    Examples
    --------
    >>> proof_force(1425.0, 2.0), proof_force(5209.3, 2.0), proof_force(251.8, 2.0, DisplayUnits(force="lbf"))
    ('1430 N (146 kgf)', '5220 N (533 kgf)', '56.8 lbf')
    """
    shown = factor * float(worst_load(newton / factor, units).replace("−", "-"))
    kgf = f" ({rounded_up(shown / NEWTON_PER_KGF)} kgf)" if units.force == "N" else ""
    return f"{rounded_up(shown)} {units.force}{kgf}"


def _mount_numbers(car: CarResult) -> list[Row]:
    if car.mounts is None:
        return []
    one = car.mounts
    note = (
        f"{speed(one.speed_m_s)}, wing at {one.wing_angle_deg:g} degrees; {one.factor_origin};"
        f" {NOT_INCLUDED}; {one.caution}"
    )
    rows: list[Row] = [
        ("down on each foot", one.down_n, "N", note),
        ("aft on each foot", one.foot_drag_n, "N", note),
        ("sideways on each foot", one.side_n, "N", note),
        ("moment at each foot, nose up", one.moment_nm, "N m", note),
        ("moment at each foot, sideways", one.sideways_moment_nm, "N m", note),
        ("pull in one bolt", one.bolt_tension_n, "N", f"{fixing_words(one.mounts)}; {note}"),
        ("shear in one bolt", one.bolt_shear_n, "N", note),
        ("proof load down on the whole wing", one.proof_down_n, "N", note),
        ("proof load aft on the whole wing", one.proof_drag_n, "N", note),
    ]
    if (there := car.mounts_on_circuit) is not None:
        at = f"{speed(there.speed_m_s)}, fastest on the circuit; proof load for the car's own top speed"
        rows += [
            ("moment at each foot on the circuit", there.moment_nm, "N m", at),
            ("pull in one bolt on the circuit", there.bolt_tension_n, "N", at),
        ]
    return rows


def front_rows(car: CarResult, units: DisplayUnits = METRIC) -> list[tuple[str, ...]]:
    """Front parts, clearance and springs: what, how much, and its range, share, place or reason."""
    q, at = 0.5 * car.density_kg_m3 * car.reference_speed_m_s**2, own_speed(car.reference_speed_m_s, units)
    rows: list[tuple[str, ...]] = []
    for part in car.front:
        low, middle, high = (q * area for area in part.cla_m2)
        note = f"{force_band(low, high, units)}; {at}; {part.origin}"
        rows.append((f"{part.name} downforce", own_force(middle, units), note))
    if car.blade is not None:
        held = ("pull of each splitter rod", car.blade.rod_n)
        name, load_n = held if car.blade.rod_n else ("load on the splitter's blade, no rod", car.blade.load_n)
        rows.append((name, most_force(load_n, units), f"at most; {own_speed(car.blade.speed_m_s, units)}"))
    for gap in car.clearances:
        left = "not known" if gap.left_m is None else "nothing"
        if gap.left_m is not None and gap.left_m > 0.0:
            left = own_length(gap.left_m, units)
        if gap.most_left_m is not None and own_length(gap.most_left_m, units) != left:
            left = f"{left.split()[0]} to {own_length(max(gap.most_left_m, 0.0), units)}"
        rest = f"of {own_length(gap.at_rest_m, units)} at rest; top speed"
        rows.append((f"left under the {gap.part}, braking and cornering", left, rest))
    for one in car.springs:
        change = f"{100.0 * one.load_change_ratio:.1f} % of its load at rest".replace("-", "−")
        drop = ""
        if one.drop_m is not None:
            least_m = 0.1 * METRE_PER_INCH if units.length == "in" else 1e-3
            less = "" if abs(one.drop_m) >= least_m else "less than "
            much = f"{less}{own_length(max(abs(one.drop_m), least_m), units)}"
            drop = f"{'sinks' if one.drop_m >= 0.0 else 'rises'} {much}"
        note = "; ".join(filter(None, (change, own_speed(one.speed_m_s, units), drop, one.warning)))
        rows.append((f"added to each {one.axle} wheel by the air", own_force(one.load_n, units), note))
    return rows
