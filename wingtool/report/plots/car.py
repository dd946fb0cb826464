"""Pictures of the car: matched settings, corners, place of the wing, sideways load, the wing as a beam."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wingtool.report.car_text import proof_force
from wingtool.report.page.svg import (
    KINDS,
    Figure,
    Frame,
    axes,
    band,
    box,
    curve,
    legend,
    nice_ticks,
    segment,
    word,
)
from wingtool.report.plots.parts import field, with_text
from wingtool.report.text import degrees, force_scale, speed, speed_scale

if TYPE_CHECKING:
    from wingtool.study import CarResult
    from wingtool.units import DisplayUnits

RADII_M = (12, 25, 50, 100, 200, 400)  # ticks


def car_pictures(car: CarResult, units: DisplayUnits) -> list[Figure]:
    """The car's pictures that the page has no room for."""
    pictures = [matched_settings(car, units), corner_speed(car, units), wing_place(car, units)]
    pictures += [sideways_load(car)] if car.lap is not None else []
    return pictures + ([wing_beam(car, units)] if car.beam is not None else [])


def matched_settings(car: CarResult, units: DisplayUnits) -> Figure:
    """Front downforce that keeps the balance for each wing angle; what the fitted front end may give."""
    m, scale = car.matched, force_scale(units)
    front, wing = m.front_force_n / scale, m.wing_downforce_n / scale
    fitted = (m.fitted_low_n / scale, m.fitted_high_n / scale)
    low, high = (f.reduce([*front, *wing, *fitted, 0.0]) for f in (np.fmin, np.fmax))
    frame = Frame((m.wing_angle_deg[0], m.wing_angle_deg[-1]), (1.05 * low, 1.05 * high), top=26)
    parts = [axes(frame, "wing angle [degrees]", f"downforce at {speed(m.speed_m_s, units)} [{units.force}]")]
    names = [("one", "front that keeps the balance"), ("two", "wing")]
    sentences = ["Run the angle whose front force your front end gives."]
    if m.fitted_high_n > 0.0:
        _, top = frame.at(0.0, fitted[1])
        _, floor = frame.at(0.0, fitted[0])
        parts.insert(0, box(frame.left, top, frame.width, floor - top, "go"))
        origin = (car.splitter if car.splitter.name != "none" else car.air_dam).origin
        sentences.append(f"Green: the fitted front end, an estimate ({origin}).")
    parts += [
        curve(frame, m.wing_angle_deg, values, kind)
        for (kind, _), values in zip(names, (front, wing), strict=True)
    ]
    parts.append(legend(names, frame.left + 70, frame.top + frame.height - 28))
    title = "Matched settings, from low to high downforce"
    return with_text("matched_settings", parts, frame.top + frame.height + 36, title, *sentences)


def corner_speed(car: CarResult, units: DisplayUnits) -> Figure:
    """Corner speeds over the radius, and what the parts gain."""
    c, scale = car.corners, speed_scale(units)
    rows = (
        ("three", c.without_m_s, c.without_m_s, "bare car, as fitted"),
        ("one", c.with_m_s, c.without_m_s, "with the parts, as fitted"),
        ("two", c.retuned_m_s, c.retuned_without_m_s, "with the parts, retuned"),
    )
    gains = [(kind, (value - bare) / scale) for kind, value, bare, _ in rows[1:]]
    low, high = (f.reduce([*gains[0][1], *gains[1][1], 0.0]) for f in (np.fmin, np.fmax))
    across = np.log10(c.radius_m)
    ends, top = (float(across[0]), float(across[-1])), max(np.nanmax(value) for _, value, *_ in rows) / scale
    upper = Frame(ends, (0.0, 1.05 * top), top=22, height=130)
    lower = Frame(ends, (low, 1.1 * high or 1.0), top=184, height=80)
    parts = [axes(upper, "", f"corner speed [{units.speed}]", x_ticks=())]
    titles = ("radius of the driven line [m]", f"gained [{units.speed}]")
    parts.append(axes(lower, *titles, (), nice_ticks(*lower.y, 3)))
    for radius in RADII_M:
        x, y = lower.at(np.log10(radius), low)
        parts += [segment(x, y, x, y + 4), word(x, y + 16, str(radius))]
    parts += [curve(upper, across, value / scale, kind) for kind, value, *_ in rows]
    parts += [curve(lower, across, gain, kind) for kind, gain in gains]
    parts.append(legend([(kind, name) for kind, *_, name in rows], upper.left + 8, upper.top + 10))
    levels = ((car.felt_fitted.value, "as fitted"), (car.felt_retuned.value, "retuned"))
    felt = [f"{speed(value, units)} {name}" for value, name in levels if np.isfinite(value)]
    sentence = f"Felt above {' and '.join(felt)}." if felt else "The parts are not felt."
    against = "Retuned gains are over the retuned bare car."
    return with_text("corner_speed", parts, 298, "Corner speed over the radius", sentence, against)


def wing_place(car: CarResult, units: DisplayUnits) -> Figure:
    """Front share of the load over height and setback of the wing; struck out: against the user's rules."""
    p, wing = car.place, car.wing
    here = (wing.x_m - car.car.wheelbase_m, wing.height_m[wing.index(car.set_angle_deg)])
    titles = ("wing behind the rear axle [m]", "wing above the ground [m]")
    parts, floor = field(p.setback_m, p.height_m, 100.0 * p.front_share, here, 26.0, *titles, 4, p.allowed)
    sentences = [
        f"Front share of the load [%] at {speed(p.speed_m_s, units)}; ring: the wing as in the study.",
        f"{p.note[:1].upper()}{p.note[1:]}.",
    ]
    sentences += [] if p.allowed.all() else ["Struck out: your rules forbid."]
    return with_text("wing_place", parts, floor, "Balance over the place of the wing", *sentences)


def sideways_load(car: CarResult) -> Figure:
    """Seconds of a lap at each sideways load, and the longest spell above each level."""
    assert car.lap is not None
    pairs = (
        ("three", car.lap.sustained_without, "bare car"),
        ("one", car.lap.sustained_with, "with, retuned (the harder case)"),
    )
    turning = [one.level_g >= 0.15 for _, one, _ in pairs]  # each its own: levels go on to the greatest load
    step = float(pairs[0][1].level_g[1] - pairs[0][1].level_g[0])
    last = max(float(one.level_g[one.seconds > 0].max()) for _, one, _ in pairs) + 0.1
    most = max(float(one.seconds[here].max()) for (_, one, _), here in zip(pairs, turning, strict=True))
    spells = [one.longest_s[here] for (_, one, _), here in zip(pairs, turning, strict=True)]
    longest = max(1.0, *(float(spell.max()) for spell in spells))
    upper = Frame((0.15, last), (0.0, 1.05 * most or 1.0), top=22, height=120)
    lower = Frame((0.15, last), (0.0, 1.05 * longest), top=186, height=110)
    parts = [
        axes(upper, "", "seconds a lap"),
        axes(lower, "sideways acceleration [g]", "longest unbroken spell above [s]"),
    ]
    for side, ((kind, one, _), here) in enumerate(zip(pairs, turning, strict=True)):
        for g, seconds in zip(one.level_g[here], one.seconds[here], strict=True):
            x, y = upper.at(g + (0.1 + 0.4 * side) * step, seconds)
            right, floor = upper.at(g + (0.45 + 0.4 * side) * step, 0.0)
            parts.append(box(x, y, right - x, floor - y, f"head {kind}"))
        shown = here & (one.level_g <= last)
        g, spell = np.repeat(one.level_g[shown], 2)[1:], np.repeat(one.longest_s[shown], 2)[:-1]
        parts.append(curve(lower, g, spell, kind))
    parts.append(legend([(kind, name) for kind, _, name in pairs], lower.left + 8, lower.top + 84))
    before, after = (one.g_seconds for _, one, _ in pairs)
    sentence = f"How hard, how long: {before:.1f} g-seconds a lap without, {after:.1f} with."
    return with_text("sideways_load", parts, 330, "Sideways load over a lap", sentence)


def wing_beam(car: CarResult, units: DisplayUnits) -> Figure:
    """Load, shear, bending and sag along the span at the worst case of the table."""
    beam, mounts = car.beam, car.mounts
    assert beam is not None
    rows = [("load [N/m]", beam.load_n_m), ("shear [N]", beam.shear_n), ("bending [N m]", beam.bending_nm)]
    rows += [("sag [mm]", 1000.0 * beam.sag_m)] if np.any(np.isfinite(beam.sag_m)) else []
    parts, top, ends = [], 22.0, (float(beam.y_m[0]), float(beam.y_m[-1]))
    for kind, (name, value) in zip(KINDS, rows, strict=False):
        low, high = np.fmin.reduce(value, initial=0.0), np.fmax.reduce(value, initial=0.0)
        limits = (high or 1.0, low) if name.startswith("sag") else (low, high or 1.0)
        frame = Frame(ends, limits, top=top, height=64)
        below = "along the span, from the middle [m]; dotted: stands" if name == rows[-1][0] else ""
        parts.append(axes(frame, below, name, None if below else (), nice_ticks(low, high or 1.0, 4)))
        for y in beam.support_y_m:
            x, _ = frame.at(y, 0.0)
            parts.append(segment(x, top, x, top + 64, "three"))
        parts += [
            band(frame, beam.y_m, np.zeros_like(value), value, kind),
            curve(frame, beam.y_m, value, kind),
        ]
        top += 92.0
    sentences = ["Without gust and shock."]
    if mounts is not None:
        case = f"{speed(mounts.speed_m_s, units)}, {degrees(mounts.wing_angle_deg)}, high end of the band"
        sentences = [
            f"Worst case of the table: {case}; without gust and shock.",
            f"Proof-load with sandbags to {proof_force(mounts.proof_down_n, units)} before you drive.",
        ]
    return with_text("wing_beam", parts, top + 8, "The wing as a beam", *sentences)
