"""Pictures of the car that the page has no room for: matched settings, corners, sideways load."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wingtool.report.page import svg
from wingtool.report.plots.places import wing_place
from wingtool.report.text import distance_unit, force_scale, speed, speed_scale

if TYPE_CHECKING:
    from wingtool.study import CarResult
    from wingtool.units import DisplayUnits

RADII = (12, 25, 50, 100, 200, 400, 800, 1600)  # ticks, metres or feet


def car_pictures(car: CarResult, units: DisplayUnits) -> list[svg.Figure]:
    """The car's pictures that the page has no room for."""
    pictures = [matched_settings(car, units), corner_speed(car, units), wing_place(car, units)]
    return pictures + ([sideways_load(car)] if car.lap is not None else [])


def matched_settings(car: CarResult, units: DisplayUnits) -> svg.Figure:
    """Front downforce that keeps the balance for each wing angle; what the fitted front end may give."""
    m, scale = car.matched, force_scale(units)
    front, wing = m.front_force_n / scale, m.wing_downforce_n / scale
    fitted = (m.fitted_low_n / scale, m.fitted_high_n / scale)
    low, high = (f.reduce([*front, *wing, *fitted, 0.0]) for f in (np.fmin, np.fmax))
    frame = svg.Frame((m.wing_angle_deg[0], m.wing_angle_deg[-1]), (1.05 * low, 1.05 * high), top=26)
    parts = [
        svg.axes(frame, "wing angle [degrees]", f"downforce at {speed(m.speed_m_s, units)} [{units.force}]")
    ]
    names = [("one", "front that keeps the balance"), ("two", "wing")]
    sentences = ["Run the angle whose front force your front end gives."]
    if m.fitted_high_n > 0.0:
        _, top = frame.at(0.0, fitted[1])
        _, floor = frame.at(0.0, fitted[0])
        parts.insert(0, svg.box(frame.left, top, frame.width, floor - top, "go"))
        origin = (car.splitter if car.splitter.name != "none" else car.air_dam).origin
        sentences.append(f"Green: the fitted front end, an estimate ({origin}).")
    parts += [
        svg.curve(frame, m.wing_angle_deg, values, kind)
        for (kind, _), values in zip(names, (front, wing), strict=True)
    ]
    parts.append(svg.legend(names, frame.left + 70, frame.top + frame.height - 28))
    title = "Matched settings, from low to high downforce"
    return svg.captioned("matched_settings", parts, frame.top + frame.height + 36, title, *sentences)


def corner_speed(car: CarResult, units: DisplayUnits) -> svg.Figure:
    """Corner speeds over the radius, and what the parts gain."""
    c, scale, (unit, metre) = car.corners, speed_scale(units), distance_unit(units)
    rows = (
        ("three", c.without_m_s, c.without_m_s, "bare car, as fitted"),
        ("one", c.with_m_s, c.without_m_s, "with the parts, as fitted"),
        ("two", c.retuned_m_s, c.retuned_without_m_s, "with the parts, retuned"),
    )
    gains = [(kind, (value - bare) / scale) for kind, value, bare, _ in rows[1:]]
    low, high = (f.reduce([*gains[0][1], *gains[1][1], 0.0]) for f in (np.fmin, np.fmax))
    across = np.log10(c.radius_m / metre)
    ends, top = (float(across[0]), float(across[-1])), max(np.nanmax(value) for _, value, *_ in rows) / scale
    upper = svg.Frame(ends, (0.0, 1.05 * top), top=22, height=130)
    lower = svg.Frame(ends, (low, 1.1 * high or 1.0), top=184, height=80)
    parts = [svg.axes(upper, "", f"corner speed [{units.speed}]", x_ticks=())]
    titles = (f"radius of the driven line [{unit}]", f"gained [{units.speed}]")
    parts.append(svg.axes(lower, *titles, (), svg.nice_ticks(*lower.y, 3)))
    for radius in (one for one in RADII if ends[0] <= np.log10(one) <= ends[1] + 1e-9):
        x, y = lower.at(np.log10(radius), low)
        parts += [svg.segment(x, y, x, y + 4), svg.word(x, y + 16, str(radius))]
    parts += [svg.curve(upper, across, value / scale, kind) for kind, value, *_ in rows]
    parts += [svg.curve(lower, across, gain, kind) for kind, gain in gains]
    parts.append(svg.legend([(kind, name) for kind, *_, name in rows], upper.left + 8, upper.top + 10))
    levels = ((car.felt_fitted.value, "as fitted"), (car.felt_retuned.value, "retuned"))
    felt = [f"{speed(value, units)} {name}" for value, name in levels if np.isfinite(value)]
    sentence = f"Felt above {' and '.join(felt)}." if felt else "The parts are not felt."
    against = "Retuned gains are over the retuned bare car."
    return svg.captioned("corner_speed", parts, 298, "Corner speed over the radius", sentence, against)


def sideways_load(car: CarResult) -> svg.Figure:
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
    upper = svg.Frame((0.15, last), (0.0, 1.05 * most or 1.0), top=22, height=120)
    lower = svg.Frame((0.15, last), (0.0, 1.05 * longest), top=186, height=110)
    parts = [
        svg.axes(upper, "", "seconds a lap"),
        svg.axes(lower, "sideways acceleration [g]", "longest unbroken spell above [s]"),
    ]
    for side, ((kind, one, _), here) in enumerate(zip(pairs, turning, strict=True)):
        for g, seconds in zip(one.level_g[here], one.seconds[here], strict=True):
            x, y = upper.at(g + (0.1 + 0.4 * side) * step, seconds)
            right, floor = upper.at(g + (0.45 + 0.4 * side) * step, 0.0)
            parts.append(svg.box(x, y, right - x, floor - y, f"head {kind}"))
        shown = here & (one.level_g <= last)
        g, spell = np.repeat(one.level_g[shown], 2)[1:], np.repeat(one.longest_s[shown], 2)[:-1]
        parts.append(svg.curve(lower, g, spell, kind))
    parts.append(svg.legend([(kind, name) for kind, _, name in pairs], lower.left + 8, lower.top + 84))
    before, after = (one.g_seconds for _, one, _ in pairs)
    sentence = f"How hard, how long: {before:.1f} g-seconds a lap without, {after:.1f} with."
    return svg.captioned("sideways_load", parts, 330, "Sideways load over a lap", sentence)
