"""What stands on a study's page, as plain values: the answer, the sliders' tables, inputs, bands."""

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from wingtool.files import words_beside
from wingtool.report import answer_text
from wingtool.report.text import (
    degrees,
    force,
    force_band,
    length,
    own_force,
    own_speed,
    sentence,
    speed,
    speed_scale,
)
from wingtool.report.trace.text import traced_lines
from wingtool.study import (
    CAUTIONS,
    INSTALLED_ORIGIN,
    RAISE_BY_DEG,
    StudyResult,
    WingPlaces,
    axle_areas,
    drag_measured_on_car,
    end_deg,
    least_left,
    off_for_roof_deg,
)
from wingtool.units import M_S_PER_KM_H, M_S_PER_MPH, METRE_PER_INCH, NEWTON_PER_LBF, DisplayUnits
from wingtool.wing import WingPolar

FORCES = ("downforce", "drag")
WORDS = words_beside(__file__, "content")


def answer(result: StudyResult) -> dict[str, Any]:
    """Headline, whether it is faster, a table of the advised angles, and the reasons of both ends."""
    advice, units = result.advice, result.study.units
    if not math.isfinite(advice.start_deg):
        none = {"headline": "No angle can be advised.", "reasons": [sentence(advice.doubt)]}
        return none | {"faster": "", "head": (), "rows": []}
    provisional = "Provisional: s" if result.doubts else "S"
    best = answer_text.fastest_words(result.car) if result.car else ""
    at = own_speed(answer_text.reference_speed_m_s(result), units)
    start = f"{provisional}tart at {degrees(advice.start_deg)}."
    begin, laid = answer_text.start_words(result), answer_text.gauge_words(result)
    return {
        "headline": f"{start} Never go beyond {degrees(advice.high_deg)}.",
        "faster": sentence(f"{answer_text.faster_words(result)} {best}".strip()),
        "head": [f"{name} {degrees(angle)}" for name, angle in answer_text.advised_angles(result)],
        "caption": f"At {at}, car as fitted; below: the range ({answer_text.SURE}).",
        "rows": answer_text.angle_table(result),
        "reasons": [
            f"{begin} Then nose down by {degrees(RAISE_BY_DEG)} while the car is balanced.",
            f"End: {answer_text.degree_sum(advice)}.",
            answer_text.ANGLES_ARE,
            *([f"Straightedge {laid}. {answer_text.gauge_doubt(result)}"] if laid else []),
        ],
    }


def force_block(result: StudyResult) -> dict[str, Any]:
    """Forces at three speeds and both ends of the advice, in all units, as a block."""
    units = result.study.units
    rows = [
        (
            f"{speed(v, units)} at {degrees(angle)}",
            force(down.n, units),
            force_band(down.low_n, down.high_n, units),
            force(drag.n, units),
            force_band(drag.low_n, drag.high_n, units),
        )
        for angle in answer_text.both_ends(result)
        for v in answer_text.three_speeds(result)
        for down, drag in [answer_text.forces_at(result, v, angle)]
    ]
    return {"head": ("speed", "downforce", "likely", "drag", "likely"), "rows": rows}


def slider_table(result: StudyResult, wings: tuple[tuple[float, WingPolar], ...]) -> dict[str, Any]:
    """The study's tables for the sliders: force over dynamic pressure, so that rows come back exactly.

    Parameters
    ----------
    wings : tuple of (tab_m, WingPolar)
        The same angles and speeds for each tab height [m].

    With a car also its axle areas, the band of the front's share, and what the weight puts on each axle.
    """
    first, car = wings[0][1], result.car
    words: list[str] = sorted({str(word) for _, wing in wings for word in np.unique(wing.status)})
    return {
        "wing_angle_deg": _plain(first.wing_angle_deg),
        "speed_m_s": _plain(first.speed_m_s),
        "words": words,
        "tabs": [_one_tab(tab_m, wing, words, result) for tab_m, wing in wings],
        "units": vars(result.study.units),
        "si": {"lbf": NEWTON_PER_LBF, "mph": M_S_PER_MPH, "km_h": M_S_PER_KM_H, "inch": METRE_PER_INCH},
        "roof_band_deg": result.advice.roof_band_deg or 0.0,
        "roof_off_deg": off_for_roof_deg(result.advice.roof_band_deg),
        "reliable": _reliable(result),
        "advised": result.advice.given,
        "weight_n": [car.car.static_front_n, car.car.static_rear_n] if car else None,
        "section": _section(result),
        "ruler_deg": list(ruler_ends(result)),
    }


def _reliable(result: StudyResult) -> str:
    """What the sliders say where the flow was computed soundly, up to the last advised angle."""
    if not result.advice.given:
        return "no angle can be advised"
    missing = [] if result.study.wing.section_known else ["section not known"]
    missing += ["roof not measured"] if result.advice.roof_band_deg is None else []
    return f"provisional, {', '.join(missing)}" if missing else "yes"


def _section(result: StudyResult) -> dict[str, Any]:
    """Outlines and surface speeds at 0 and 90 degrees, which give the pressure at any angle exactly.

    `alpha_deg` is the middle strip's angle to the air for each angle of the wing, at the top speed.
    """
    flow, first, elements = result.flow, 0, []
    for xy in flow.elements:
        thin = slice(None, None, 2)
        along, across = (flow.gamma[row, first : first + len(xy)][thin] for row in (1, 2))
        columns = (xy[thin, 0], xy[thin, 1], along, across)
        elements.append([[round(float(v), 4) for v in column] for column in columns])
        first += len(xy)
    alpha_deg = result.wing.strip_alpha_deg[-1, :, result.wing.middle_strip]
    return {"elements": elements, "alpha_deg": _plain(alpha_deg, 4)}


def ruler_ends(result: StudyResult) -> tuple[float, float]:
    """First and last angle [deg] of the angle scale: some way below the start, some way into the stall."""
    angles, advice = result.wing.wing_angle_deg, result.advice
    first, last = float(angles[0]), float(angles[-1])
    if not math.isfinite(advice.start_deg):
        return first, last
    end = advice.stall_deg if math.isfinite(advice.stall_deg) else advice.high_deg
    return min(first, advice.start_deg - 3.0), max(min(last, end + 6.0), advice.high_deg + 1.0)


def _one_tab(tab_m: float, wing: WingPolar, words: list[str], result: StudyResult) -> dict[str, Any]:
    car, advice = result.car, result.advice
    own = tab_m == (result.study.wing.tab_m or 0.0)
    last_deg = advice.high_deg if own else end_deg(wing, advice.roof_band_deg)
    pressure = wing.air.dynamic_pressure_pa(wing.speed_m_s)[:, None]
    table: dict[str, Any] = {"tab_m": tab_m, "stall_margin_deg": _plain(wing.stall_margin_deg)}
    table["least_left"] = least_left(wing).astype(int).tolist()
    table["end_deg"] = last_deg if math.isfinite(last_deg) else None
    for name in FORCES:
        for end, newton in zip(("", "_low", "_high"), getattr(wing, name), strict=True):
            table[f"{name}_area_m2{end}"] = _plain(newton / pressure)
    if car is not None:
        areas, down, up = axle_areas(car, wing)
        table |= {
            "front_area_m2": _plain(areas.cla_front_m2, 5),
            "rear_area_m2": _plain(areas.cla_rear_m2, 5),
        }
        table |= {"share_down_1_pa": _plain(down, 4), "share_up_1_pa": _plain(up, 4)}
    table["status"] = [[words.index(str(word)) for word in row] for row in wing.status]
    return table


def _plain(values: np.ndarray, digits: int = 7) -> Any:
    """Nested lists of so many significant digits, None for nan."""
    if values.ndim > 1:
        return [_plain(row, digits) for row in values]
    return [float(f"{v:.{digits}g}") if math.isfinite(v) else None for v in values.tolist()]


def slider(result: StudyResult) -> dict[str, Any]:
    """Where the sliders start and end, in the study's units; the air of the table."""
    air, advice, scale = result.wing.air, result.advice, speed_scale(result.study.units)
    slowest, fastest = (float(result.wing.speed_m_s[end]) for end in (0, -1))
    if result.car:  # nothing is read off above the likely top speed
        fastest = min(fastest, max(result.car.top_band_m_s[1], slowest))
    weather = f"{air.temperature_k - 273.15:.0f} °C, {air.pressure_pa / 100:.0f} hPa"
    return {
        "start_deg": advice.start_deg if math.isfinite(advice.start_deg) else result.wing.wing_angle_deg[0],
        "slowest": math.ceil(slowest / scale - 0.01),
        "fastest": math.floor(fastest / scale + 0.01),
        "speed": round(answer_text.reference_speed_m_s(result) / scale),
        "density": float(f"{air.density_kg_m3:.5g}"),
        "density_text": f"{air.density_kg_m3:.2f} kg/m³ ({weather})",
    }


def place_content(places: WingPlaces | None, units: DisplayUnits) -> list[dict[str, Any]]:
    """Block on height and setback: heading, table, caution; none without a number."""
    if places is None or not np.isfinite(places.downforce.n).any():
        return []
    rows = [
        (f"{word} position tried", *_place(places, find(places.downforce.n), units))
        for word, find in (("worst", np.nanargmin), ("best", np.nanargmax))
    ]
    at = f"at {degrees(places.wing_angle_deg)} and {speed(places.speed_m_s, units)}"
    head = (at, "downforce", "lowest point above ground", "quarter chord and roof edge", "section to stall")
    block = {"heading": "Height and setback", "head": head, "rows": rows, "lines": []}
    return [block | {"cautions": [WORDS["place"]]}]


def _place(places: WingPlaces, number: int | np.integer, units: DisplayUnits) -> tuple[str, ...]:
    row, column = np.unravel_index(number, places.downforce.n.shape)
    behind = float(places.behind_roof_m[column])
    return (
        force(float(places.downforce.n[row, column]), units),
        length(float(places.height_m[row]), units),
        f"{length(abs(behind), units)} {'behind' if behind >= 0 else 'ahead'}",
        degrees(float(places.stall_margin_deg[row, column])),
    )


def tab_block(result: StudyResult) -> list[dict[str, Any]]:
    """More angle or a tab: what each tab asks at the middle one of the wanted downforces, as a block."""
    choice, units = result.tab_choice, result.study.units
    if choice is None:
        return []
    d, off = len(choice.wanted_n) // 2, off_for_roof_deg(result.advice.roof_band_deg)
    rows = []
    for t, tab in enumerate(choice.tab_m):
        drag = choice.drag[t, d].each(float)
        sentences = (
            degrees(float(choice.wing_angle_deg[t, d])),
            f"{own_force(drag.n, units)}, {force_band(drag.low_n, drag.high_n, units)}",
            ">" * bool(choice.least_left[t, d]) + degrees(float(choice.stall_margin_deg[t, d]) - off),
        )
        sound = choice.status[t, d] == "converged"
        name = tab_height(tab, units) if tab else "none"
        rows.append((name, *(sentences if sound else (choice.status[t, d], "", ""))))
    line = f"All make {force(float(choice.wanted_n[d]), units)} at {speed(choice.speed_m_s, units)}."
    head = ("tab", "angle", "drag", "to stall")
    return [{"heading": "More angle or a tab", "head": head, "rows": rows, "lines": [line], "cautions": []}]


def tab_height(metre: float, units: DisplayUnits) -> str:
    """The height of a tab, finer than other lengths."""
    return f"{metre / METRE_PER_INCH:.2f} in" if units.length == "in" else f"{1000 * metre:.1f} mm"


def bands(result: StudyResult) -> list[str]:
    """Where each band comes from; the second opinion beside the section data."""
    lines = [f"Downforce and drag: {result.wing.band_origin}."]
    if not drag_measured_on_car(result.study.correction):
        lines.append(sentence(INSTALLED_ORIGIN))
    origins = dict.fromkeys(polar.band_origin for polar in result.wing.polars if polar.band_origin)
    lines += [f"Section data: {origin}." for origin in origins if origin not in result.wing.band_origin]
    if any("published" in line for line in lines):
        lines.append("“wingtool trust” recomputes that comparison, source by source, for this build.")
    if other := _second_opinion(result):
        lines.append(other)
    lines += traced_lines(result.traced) if result.traced else []
    lines += [f"Outline: {text}." for text in (*result.section.repairs, *result.measures.warnings)]
    return [line.replace("..", ".") for line in lines]


def _second_opinion(result: StudyResult) -> str:
    other, own = result.second_opinion, result.wing.polars[0]
    if other is None or own.method == other.method:
        return ""
    row = int(np.argmin(np.abs(own.reynolds - other.reynolds[0])))
    ours, theirs = float(np.fmax.reduce(own.cl[row])), float(np.fmax.reduce(other.cl[0]))
    return WORDS["second"].format(theirs, ours, 100 * (theirs / ours - 1))


def caution_texts(result: StudyResult, first: Sequence[str] = ()) -> dict[str, list[str]]:
    """By the number they stand at, without those told `first`; the car's blocks hold some of them."""
    of_car = ("balance", "estimate", "mounts", "road") if result.car else ()
    with_car = [CAUTIONS[name] for name in of_car]
    shown = [c for c in result.advice.cautions if c not in with_car and c.text not in first]
    places = ("angle", "force", "drag", "height")
    return {place: [c.text for c in shown if c.beside == place] for place in places}
