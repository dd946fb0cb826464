"""Pictures of a study as files: the page's, and those that the page has no room for.

Among them the wing at other places: fields of numbers over its height and how far back it stands.
"""

from pathlib import Path

import numpy as np

from wingtool.report.page import svg
from wingtool.report.page.svg import Figure, Frame, axes, box, captioned, circle, word
from wingtool.report.page.write import figures_of, write_figures
from wingtool.report.text import degrees, distance_unit, force_scale, plan_unit, sentence, speed, speed_scale
from wingtool.study import CarResult, LapAnswer, StudyResult
from wingtool.units import DisplayUnits

MOST_COLUMNS, MOST_ROWS = 7, 9  # numbers that stand side by side and are still read
ROW_HEIGHT = 22.0
LEAST_G = 0.15  # from which a car turns
FEWEST_PLACES = 8  # with a number, for a picture
RADII = (12, 25, 50, 100, 200, 400, 800, 1600)  # ticks, metres or feet


def field(
    at_m: tuple[np.ndarray, np.ndarray],
    value: np.ndarray,
    here_m: tuple[float, float],
    top: float,
    titles: tuple[str, str],
    digits: int,
    units: DisplayUnits,
    allowed: np.ndarray | None = None,
) -> tuple[list[str], float]:
    """Parts of a picture with `value` (y, x) on cells at places across and up, and the y below them.

    A ring stands at `here_m`. A cell without a number is grey, and so is one that is not allowed.
    """
    unit, scale = plan_unit(units)
    x, y = (places / scale for places in at_m)
    columns, rows = _some(len(x), MOST_COLUMNS), _some(len(y), MOST_ROWS)
    x_edge, y_edge = _edges(x[columns]), _edges(y[rows])
    frame = Frame((x_edge[0], x_edge[-1]), (y_edge[0], y_edge[-1]), top=top, height=ROW_HEIGHT * len(rows))
    low, span = np.nanmin(value), np.ptp(value[np.isfinite(value)]) or 1.0
    parts = [axes(frame, *(f"{title} [{unit}]" for title in titles))]
    for n, j in enumerate(rows):
        for m, k in enumerate(columns):
            left, lower = frame.at(x_edge[m], y_edge[n])
            right, upper = frame.at(x_edge[m + 1], y_edge[n + 1])
            known = np.isfinite(value[j, k])
            tinted = known and (allowed is None or allowed[j, k])
            tint = 0.1 + 0.8 * (value[j, k] - low) / span if tinted else 1.0
            cell = box(left, upper, right - left, lower - upper, "suction" if tinted else "margin")
            parts.append(f'<g opacity="{tint:.2f}">{cell}</g>')
            if known:
                parts.append(
                    word(0.5 * (left + right), 0.5 * (lower + upper) + 4.0, f"{value[j, k]:.{digits}g}")
                )
    x_here, y_here = frame.at(here_m[0] / scale, here_m[1] / scale)
    parts.append(circle(x_here, y_here, 9, "line two"))
    return parts, top + frame.height + 34.0


def _some(count: int, most: int) -> np.ndarray:
    return np.unique(np.linspace(0, count - 1, min(count, most)).round().astype(int))


def _edges(middle: np.ndarray) -> np.ndarray:
    """Ends of the cells around two points and more."""
    half = 0.5 * np.diff(middle)
    return np.r_[middle[0] - half[0], middle[:-1] + half, middle[-1] + half[-1]]


def wing_place(car: CarResult, units: DisplayUnits) -> Figure:
    """Front share of the load over height and setback of the wing; grey: against the user's rules."""
    p, wing = car.place, car.wing
    here = (wing.x_m - car.car.wheelbase_m, wing.height_m[wing.index(car.set_angle_deg)])
    titles, at_m = ("wing behind the rear axle", "wing above the ground"), (p.setback_m, p.wing_height_m)
    parts, floor = field(at_m, 100.0 * p.front_share, here, 26.0, titles, 3, units, p.allowed)
    sentences = [
        f"Front share of the load [%] at {speed(p.speed_m_s, units)}; ring: the wing as in the study.",
        sentence(p.note),
    ]
    sentences += [] if p.allowed.all() else ["Grey: your rules forbid."]
    return captioned("wing_place", parts, floor, "Balance over the place of the wing", *sentences)


def force_over_place(result: StudyResult) -> Figure:
    """Downforce over height and distance behind the roof; grey where there is no number."""
    places, roof, units = result.places, result.study.roof, result.study.units
    assert places is not None
    assert roof is not None
    here, at_m = (roof.wing_behind_m, result.study.wing.height_m), (places.behind_roof_m, places.height_m)
    titles = ("quarter chord behind the roof edge", "lowest point above the ground")
    value = places.downforce.n / force_scale(units)
    parts, floor = field(at_m, value, here, 26.0, titles, 3, units)
    at = f"{degrees(places.wing_angle_deg)} and {speed(places.speed_m_s, units)}"
    sentences = (
        f"Downforce [{units.force}] at {at}; ring: as in the study; grey: wake or car.",
        "From the side view alone: wide band, tufts decide.",
    )
    return captioned("force_over_place", parts, floor, "Downforce over the wing's place", *sentences)


def write_plots(result: StudyResult, folder: Path | str) -> list[Path]:
    """Write the pictures as SVG files that stand alone; returns their paths."""
    more = []
    if result.places and np.isfinite(result.places.downforce.n).sum() > FEWEST_PLACES:
        more.append(force_over_place(result))
    more += car_pictures(result.car, result.study.units) if result.car else []
    return write_figures([*figures_of(result), *more], folder)


def car_pictures(car: CarResult, units: DisplayUnits) -> list[svg.Figure]:
    """The car's pictures that the page has no room for."""
    pictures = [matched_settings(car, units), corner_speed(car, units), wing_place(car, units)]
    return pictures + ([sideways_load(car.lap)] if car.lap else [])


def matched_settings(car: CarResult, units: DisplayUnits) -> svg.Figure:
    """Front downforce that keeps the balance for each wing angle; what the fitted front end may give."""
    m, scale = car.matched, force_scale(units)
    front, wing = m.matched_front_n / scale, m.wing_downforce_n / scale
    fitted = (m.fitted_front_low_n / scale, m.fitted_front_high_n / scale)
    low, high = (f.reduce([*front, *wing, *fitted, 0.0]) for f in (np.fmin, np.fmax))
    frame = svg.Frame((m.wing_angle_deg[0], m.wing_angle_deg[-1]), (1.05 * low, 1.05 * high), top=26)
    parts = [
        svg.axes(frame, "wing angle [degrees]", f"downforce at {speed(m.speed_m_s, units)} [{units.force}]")
    ]
    names = [("one", "front that keeps the balance"), ("two", "wing")]
    sentences = ["Run the angle whose front force your front end gives."]
    if m.fitted_front_high_n > 0.0:
        _, top = frame.at(0.0, fitted[1])
        _, floor = frame.at(0.0, fitted[0])
        parts.insert(0, svg.box(frame.left, top, frame.width, floor - top, "go"))
        sentences.append(f"Green: the fitted front end, an estimate ({car.front[0].origin}).")
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
    against = "Retuned gains are over the retuned bare car."
    return svg.captioned("corner_speed", parts, 298, "Corner speed over the radius", against)


def sideways_load(lap: LapAnswer) -> svg.Figure:
    """The longest unbroken spell of a lap above each lateral acceleration."""
    cases = (
        ("three", lap.sustained[1], "bare car"),
        ("one", lap.sustained[0], "with, retuned (the harder case)"),
    )
    last = max(float(one.level_g[one.seconds > 0].max()) for _, one, _ in cases) + 0.1
    shown = [(kind, (one.level_g >= LEAST_G) & (one.level_g <= last), one) for kind, one, _ in cases]
    longest = max(1.0, *(float(one.longest_s[here].max()) for _, here, one in shown))
    frame = svg.Frame((LEAST_G, last), (0.0, 1.05 * longest), top=22, height=150)
    parts = [svg.axes(frame, "lateral acceleration [g]", "longest unbroken spell above [s]")]
    for kind, here, one in shown:
        g, spell = np.repeat(one.level_g[here], 2)[1:], np.repeat(one.longest_s[here], 2)[:-1]
        parts.append(svg.curve(frame, g, spell, kind))
    parts.append(svg.legend([(kind, name) for kind, _, name in cases], frame.left + 8, frame.top + 124))
    before, after = (one.g_seconds for _, one, _ in cases)
    text = f"How hard, how long: {before:.1f} g-seconds a lap without, {after:.1f} with."
    return svg.captioned("sideways_load", parts, 206, "Lateral acceleration over a lap", text)
