"""What the answer says, once for the screen and the page: angles, forces at them, axle loads, time."""

import math

import numpy as np

from wingtool.car import Estimate
from wingtool.report.text import (
    between,
    change_band,
    degrees,
    figures,
    force_scale,
    own_distance,
    own_force,
    own_length,
    own_speed,
    signed,
    speed_scale,
)
from wingtool.study import (
    INSTALLED_DRAG,
    STALL_MARGIN_DEG,
    UNKNOWN_ROOF_DEG,
    Advice,
    CarResult,
    LapAnswer,
    StudyResult,
    axle_loads_at,
    drag_measured_on_car,
    top_face,
    wing_loads_at,
)
from wingtool.units import METRE_PER_INCH, DisplayUnits
from wingtool.wing import Force

WHOLE_TOP = 0.99
ANGLES_ARE = "Angles: chord line to the horizontal, car on a level floor; plus is nose down, more downforce."
SURE = "likely: meant to hold 19 times in 20"
Row = tuple[str, list[tuple[str, str]]]  # its name; for each angle the value and what stands below it


def reference_speed_m_s(result: StudyResult) -> float:
    """The one speed of the answer [m/s]: the car's for comparing parts, else the middle of the table."""
    speeds = result.wing.speed_m_s
    wanted = result.car.reference_speed_m_s if result.car else np.inf
    return float(wanted if speeds[0] <= wanted <= speeds[-1] else speeds[result.wing.middle_speed])


def at_speed(result: StudyResult, newton: np.ndarray, speed_m_s: float, angle_deg: float) -> float:
    """A force over speeds and angles (k, m) [N] at one of each.

    The coefficient is taken straight between the table's speeds, as the page's sliders do.
    """
    area = newton[:, result.wing.nearest_angle(angle_deg)] / result.wing.speed_m_s**2
    return float(np.interp(speed_m_s, result.wing.speed_m_s, area)) * speed_m_s**2


def both_ends(result: StudyResult) -> list[float]:
    """First and last advised angle [deg], once if they are one; the table's first where none is advised."""
    wanted = result.advice.start_deg, result.advice.high_deg
    return list(dict.fromkeys(a for a in wanted if np.isfinite(a))) or [float(result.wing.wing_angle_deg[0])]


def forces_at(result: StudyResult, speed_m_s: float, angle_deg: float) -> list[Force]:
    """Downforce and drag [N] at one speed and angle."""
    both = result.wing.downforce, result.wing.drag
    return [force.each(lambda n: at_speed(result, n, speed_m_s, angle_deg)) for force in both]


def three_speeds(result: StudyResult) -> list[float]:
    """The slowest, the reference and the fastest speed [m/s] that the car reaches, each once."""
    speeds = result.wing.speed_m_s
    top = max(result.car.straight.top_with_m_s, speeds[0]) if result.car else np.inf
    wanted = (float(speeds[0]), reference_speed_m_s(result), float(speeds[-1]))
    return list(dict.fromkeys(float(np.fmin(speed, top)) for speed in wanted))


def installed_drag(result: StudyResult, angle_deg: float) -> str:
    """What stands and wake add to the bare wing's drag at the reference speed; empty where measured."""
    if drag_measured_on_car(result.study.correction):
        return ""
    down, _ = forces_at(result, reference_speed_m_s(result), angle_deg)
    units = result.study.units
    low, _, high = (share * abs(down.n) / force_scale(units) for share in INSTALLED_DRAG)
    return f"{between(low, high)} {units.force}"


def drag_words(result: StudyResult) -> str:
    """That the drag is the bare wing's, and what comes to it at the last advised angle."""
    end = both_ends(result)[-1]
    more = installed_drag(result, end)
    at = f"at {degrees(end)}, {own_speed(reference_speed_m_s(result), result.study.units)}"
    return f"Drag: bare wing; stands and wake add {more} {at}." if more else ""


def start_words(result: StudyResult) -> str:
    """Why the first angle is the first, and which is the fastest where a lap tells."""
    fastest = dict(advised_angles(result)).get("fastest")
    told = "" if fastest is None else f"; {degrees(fastest)} is fastest"
    return f"Start: {result.advice.starts_because}{told}."


def advised_angles(result: StudyResult) -> list[tuple[str, float]]:
    """Name and angle [deg] of the start, of the fastest lap where it lies between, and of the end."""
    start, end, lap = result.advice.start_deg, result.advice.high_deg, result.car and result.car.lap
    found = [("start", start)]
    if lap and start < lap.best[0].best_deg < end:
        found.append(("fastest", lap.best[0].best_deg))
    return [*found, ("end", end)] if start < end else found


def angle_table(result: StudyResult) -> list[Row]:
    """Gauge, forces and axle loads at the reference speed, and the lap, at each of the advised angles."""
    units, speed = result.study.units, reference_speed_m_s(result)
    scale = force_scale(units)
    angles = [angle for _, angle in advised_angles(result)]
    rows: list[Row] = []
    forces = [forces_at(result, speed, angle) for angle in angles]
    more = [installed_drag(result, angle) for angle in angles]
    for k, name in enumerate(("downforce", "drag, bare wing" if more[0] else "drag")):
        cells = []
        for one in forces:
            band = between(one[k].low_n / scale, one[k].high_n / scale)
            cells.append((own_force(one[k].n, units), band))
        rows.append((name, cells))
    if more[0]:
        rows.append(("stands and wake", [(text, "") for text in more]))
    place, shown = gauge(result, angles)
    if place:
        rows.insert(0, ("gauge", [(text, "") for text in shown]))
    if result.car:
        rows += _axle_rows(result, angles)
    if result.car and (lap := result.car.lap):
        rows.append(("lap", [_lap_cell(lap, angle == result.car.set_angle_deg, angle) for angle in angles]))
        if lap.part_gains:
            front = lap.part_gains[1].name.removesuffix(" alone")
            rows.append((f"of that, {front}", [(_front_seconds(lap, angle), "") for angle in angles]))
    return rows


def _axle_rows(result: StudyResult, angles: list[float]) -> list[Row]:
    units, at_angles = result.study.units, [axle_loads(result, angle) for angle in angles]
    per_unit, rows = 1.0 / force_scale(units), list[Row]()
    for axle in ("rear", "front"):
        for which, name in enumerate(("wing alone", "all and body")):
            loads = [found[axle][which] for found in at_angles]
            cells = [(added(one.value, units), change_band(one.times(per_unit), figures)) for one in loads]
            rows.append((f"{axle} axle, {name}", cells))
    return rows


def added(newton: float, units: DisplayUnits) -> str:
    """A change of load with its sign, in the study's own unit."""
    return f"{signed(newton / force_scale(units), figures)} {units.force}"


def axle_loads(result: StudyResult, angle_deg: float) -> dict[str, tuple[Estimate, Estimate]]:
    """By axle what the wing alone, and all parts with the body's lift, add at the reference speed [N]."""
    assert result.car is not None
    at = (result.car, result.wing, reference_speed_m_s(result), angle_deg)
    front, rear = zip(wing_loads_at(*at), axle_loads_at(*at), strict=True)
    return {"rear": rear, "front": front}


def _told(band: str, word: str = "") -> str:
    """A band in brackets behind its value; nothing where there is none to show."""
    return band and f" ({word}{band})"


def axle_words(result: StudyResult) -> str:
    """What the wing alone, and all parts with the body's lift, add to each axle at the start angle."""
    per_unit = 1.0 / force_scale(result.study.units)
    alone, whole = list[str](), list[str]()
    for axle, both in axle_loads(result, result.advice.start_deg).items():
        for told, load in zip((alone, whole), (one.times(per_unit) for one in both), strict=True):
            told.append(f"{axle} {signed(load.value, figures)}{_told(change_band(load, figures))}")
    unit = result.study.units.force
    return f"Wing alone, {unit}: {', '.join(alone)}; all parts and the body's lift: {', '.join(whole)}."


def _lap_cell(lap: LapAnswer, as_set: bool, angle_deg: float) -> tuple[str, str]:
    if as_set:
        gain = lap.fitted.gain
        return f"{signed(-gain.value)} s", change_band(gain.times(-1.0))
    best = lap.best[0]
    time = float(np.interp(angle_deg, best.wing_angle_deg, best.lap_time_s))
    below = f"±{_half(lap)} or so" if angle_deg == best.best_deg else "no range"
    return f"{signed(time - float(lap.fitted.without.lap_time_s[0]))} s", below


def _front_seconds(lap: LapAnswer, angle_deg: float) -> str:
    """What the front parts change in the lap beside the wing at an angle, as fitted [s]."""
    both = lap.best[0]
    times = both.lap_time_s - lap.wing_alone_s
    return f"{signed(float(np.interp(angle_deg, both.wing_angle_deg, times)))} s"


def _half(lap: LapAnswer) -> str:
    """Half the range of the lap's gain [s]; of parts at their best angles it is about as wide."""
    return f"{0.5 * (lap.fitted.gain.high - lap.fitted.gain.low):.1f}"


def faster_words(result: StudyResult) -> str:
    """Whether the parts make the car faster at the start angle, as far as the study can say."""
    car, units = result.car, result.study.units
    if car is None:
        return "the study says nothing of the car: add [car] and [circuit]."
    top = car.straight.top_lost_m_s.times(-1.0 / speed_scale(units))
    lost = f"top speed {signed(top.value, figures)} {units.speed}{_told(change_band(top, figures))}"
    if car.lap is None:
        length, time = own_distance(car.straight.length_m, units), car.straight.time_lost_s
        much = f"{signed(time.value)} s{_told(change_band(time), 'likely ')} on {length} of straight"
        return f"{much}, {lost}; for a lap add [circuit]."
    gain = car.lap.fitted.gain
    perhaps = "perhaps " if gain.low <= 0.0 <= gain.high else ""
    change = f"{signed(-gain.value)} s{_told(change_band(gain.times(-1.0)), 'likely ')}"
    verdict = f"{perhaps}{'faster' if gain.value > 0.0 else 'slower'} at {degrees(car.set_angle_deg)}"
    return f"{verdict}: {car.lap.circuit.name} {change}, {lost}."


def fastest_words(car: CarResult) -> str:
    """The best of each part alone and of all, over the advised angles; empty without front parts."""
    if car.lap is None or not car.lap.part_gains:
        return ""
    wing, front, both = car.lap.part_gains
    ranked = sorted((both, wing), key=lambda one: -one.best_s)  # front parts alone are told, never advised
    told = [f"{one.name} {signed(-one.best_s)} at {degrees(one.best_deg)}" for one in ranked]
    return f"Best (about ±{_half(car.lap)} s): {', '.join(told)}, {front.name} {signed(-front.best_s)}."


def degree_terms(advice: Advice) -> list[tuple[str, float]]:
    """Name and size [deg] of each term, to a tenth: stall, roof, its ±, margin; what is left is the end.

    The first is the angle of the chord against the air behind the roof where that is known. Empty where no
    stall was found.
    """
    if not math.isfinite(advice.stall_deg):
        return []
    stall, roof = round(advice.stall_deg, 1), round(advice.roof_deg, 1)
    terms = [("stall", stall + roof), ("roof", roof)] if roof else [("stall", stall)]
    if advice.roof_band_deg is None:
        terms.append(("roof not measured", UNKNOWN_ROOF_DEG))
    elif advice.roof_band_deg:
        terms.append(("roof's ±", round(advice.roof_band_deg, 1)))
    return [*terms, ("margin", STALL_MARGIN_DEG)]


def gauge(result: StudyResult, angles_deg: list[float]) -> tuple[str, list[str]]:
    """Where a straightedge lies on the top, and the angles that it shows; empty on a round top.

    The chord line is that of the section without its tab, which stands on the top at the tail edge and is in
    the straightedge's way where that touches there.
    """
    face, units, wing = top_face(result.section), result.study.units, result.study.wing
    if face is None:
        return "", []
    first, last = (own_length(share * wing.chord_m, units) for share in (face.first, face.last))
    rear = f"to {last} behind nose" if face.last < WHOLE_TOP else "behind nose to tail edge"
    off = ", tab off" if wing.tab_m and face.last >= WHOLE_TOP else ""
    shown = [degrees(angle - round(face.offset_deg, 1)) for angle in angles_deg]
    return f"on top{off}, {first} {rear}", shown


def gauge_words(result: StudyResult) -> str:
    """Where to lay the straightedge and what it shows at both ends of the advice; empty on a round top."""
    angles = both_ends(result)
    place, shown = gauge(result, angles)
    at = (f"{one} for {degrees(angle)}" for one, angle in zip(shown, angles, strict=False))
    half = f" (±{result.traced.gauge_half_deg:.1f}°)" if result.traced else ""
    return f"{place}: {', '.join(at)}{half}" if place and result.advice.given else ""


def gauge_doubt(result: StudyResult) -> str:
    """By how much the gauge differs where the wing is not as drawn; empty on a round top."""
    face, wing = top_face(result.section), result.study.wing
    if face is None or not gauge_words(result):
        return ""
    off_m, off = (METRE_PER_INCH / 16.0, "1/16 in") if result.study.units.length == "in" else (1e-3, "1 mm")
    turned = math.degrees(off_m / (wing.chord_m * (face.last - face.first)))
    return f"The gauge reading is for the outline as drawn; {off} off it there is {turned:.1f}°."


def degree_sum(advice: Advice) -> str:
    """The line for the screen: what is left of the stall, and why it ends there if it ends sooner."""
    terms = degree_terms(advice)
    if not terms:
        return f"{degrees(advice.high_deg)}, no stall was found; {advice.ends_because}"
    left, shown = terms[0][1], f"stall {terms[0][1]:.1f}"
    for name, size in terms[1:]:
        left -= size
        shown += f" - {name} {size:.1f}" + (f" = {left:.1f};" if name == "roof" else "")
    sooner = left >= advice.high_deg + 1.0
    return f"{shown} = {left:.1f}" + (f", but {advice.ends_because}" if sooner else "")
