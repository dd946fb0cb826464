"""The wing at other places: fields of numbers over its height and how far back it stands."""

import numpy as np

from wingtool.report.page.svg import Figure, Frame, axes, box, captioned, circle, word
from wingtool.report.text import degrees, force_scale, plan_unit, sentence, speed
from wingtool.study import CarResult, StudyResult
from wingtool.units import DisplayUnits

MOST_COLUMNS, MOST_ROWS = 7, 9  # numbers that stand side by side and are still read
ROW_HEIGHT = 22.0


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
