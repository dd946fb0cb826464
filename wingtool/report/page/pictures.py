"""The pictures of a study's page: angle ruler, forces, pressure around the section, stall along the span."""

import numpy as np

from wingtool.report.answer_text import both_ends, reference_speed_m_s
from wingtool.report.page import svg
from wingtool.report.page.content import ruler_ends
from wingtool.report.text import (
    degrees,
    force_scale,
    own_speed,
    plan_unit,
    speed,
    speed_scale,
    tenths,
)
from wingtool.study import UNKNOWN_ROOF_DEG, StudyResult, off_for_roof_deg


def angle_ruler(result: StudyResult) -> str:
    """The advised range, the margin and the stall with its band on one strip of angle."""
    advice, (first, last) = result.advice, ruler_ends(result)
    start, high = advice.start_deg, advice.high_deg
    frame = svg.Frame((first, last), (0.0, 1.0), left=14, top=34, width=312, height=26)
    band = UNKNOWN_ROOF_DEG if advice.roof_band_deg is None else advice.roof_band_deg
    above = band if advice.roof_band_deg is not None else 0.0  # air that nobody measured comes down, not up
    stall = advice.stall_deg if np.isfinite(advice.stall_deg) else last
    zones = (  # what matters most gets its name first
        (start, high, *(("margin", "provisional") if result.doubts else ("go", "run here"))),
        (stall, last, "stop", "stalls"),
        (high, stall, "margin", "keep off"),
        (first, start, "margin", "too little"),
        (max(stall - band, high), min(stall + above, last), "unsure", ""),
    )
    parts = [svg.box(frame.left, frame.top, frame.width, frame.height, "strip")]
    names = []
    for low, end, kind, name in zones:
        if not (np.isfinite(low) and end > low):
            continue
        x, right = frame.at(low, 0.0)[0], frame.at(end, 0.0)[0]
        parts.append(svg.box(x, frame.top, right - x, frame.height, kind))
        if kind != "margin" or right - x > 0.5 * svg.LETTER * len(name):
            names.append((0.5 * (x + right), name, "" if kind == "margin" else "strong"))
    stalls = f"{degrees(stall)} ±{degrees(band)}" if above else f"{degrees(stall - band)} to {degrees(stall)}"
    stalls = stalls if band else degrees(stall)
    marks = [(start, degrees(start)), (high, degrees(high)), (advice.stall_deg, stalls)]
    marks += [(end, degrees(end)) for end in (first, last)]
    shown = [(frame.at(angle, 0.0)[0], text, "") for angle, text in marks if first <= angle <= last]
    floor = frame.top + frame.height
    parts += [svg.segment(x, floor, x, floor + 5) for x, *_ in shown]
    parts += [*_spaced(names, 24.0), *_spaced(shown, floor + 18.0)]
    at = f"M{frame.at(start, 0.0)[0]:.1f} 60l-6 -30h12Z" if np.isfinite(start) else ""
    parts.append(f'<path class="marker" id="ruler-marker" d="{at}" />')
    sentence = (
        f"Advised {degrees(start)} to {degrees(high)}; the stall starts at {stalls};"
        f" the strip runs from {degrees(first)} to {degrees(last)}."
    )
    return svg.picture(parts, 84, "Wing angle: where to run", sentence)


def _spaced(wanted: list[tuple[float, str, str]], y: float) -> list[str]:
    """Middle, text and class of texts on one line; one that would lie over an earlier one is left out."""
    parts, taken = [], list[tuple[float, float]]()
    for x, text, kind in wanted:
        half = 0.5 * svg.LETTER * len(text)
        middle = min(max(x, half + 2.0), svg.WIDTH - half - 2.0)
        if text and all(abs(middle - other) > half + wide for other, wide in taken):
            parts.append(svg.word(middle, y, text, kind=kind))
            taken.append((middle, half))
    return parts


def _ends(result: StudyResult) -> tuple[list[tuple[str, int]], list[tuple[str, str]]]:
    """Line style and column, and the legend, of both ends of the advice."""
    ends = list(zip(svg.KINDS, both_ends(result), strict=False))
    columns = [(kind, result.wing.nearest_angle(angle)) for kind, angle in ends]
    return columns, [(kind, f"at {degrees(angle)}") for kind, angle in ends]


def force_over_speed(result: StudyResult) -> svg.Figure:
    """Downforce over speed at the two ends of the advised range, with bands, in the study's units."""
    wing, units, (columns, names) = result.wing, result.study.units, _ends(result)
    own, shown = wing.downforce.each(lambda n: n / force_scale(units)), wing.speed_m_s / speed_scale(units)
    top = max(float(np.fmax.reduce(own.high_n[:, m], initial=1.0)) for _, m in columns)
    slowest = float(shown[0]) if len(shown) > 1 else 0.0
    frame = svg.Frame((slowest, float(shown[-1])), (0.0, 1.05 * top), top=24, height=130)
    parts = [svg.axes(frame, f"speed [{units.speed}]", f"downforce [{units.force}]")]
    parts += [svg.band(frame, shown, own.low_n[:, m], own.high_n[:, m], kind) for kind, m in columns]
    parts += [svg.curve(frame, shown, own.n[:, m], kind) for kind, m in columns]
    parts.append(svg.legend(names, frame.left + 10, frame.top + 12))
    text = "Shaded: the likely range. In slow corners there is little of it."
    return svg.figure("downforce_over_speed", parts, 192, "Double the speed, four times the force", text)


def force_over_angle(result: StudyResult) -> svg.Figure:
    """Downforce and drag over wing angle near the reference speed, advised angles and stall marked."""
    wing, units = result.wing, result.study.units
    angles = wing.wing_angle_deg
    k = int(np.argmin(np.abs(wing.speed_m_s - reference_speed_m_s(result))))
    parts, top = [], 20.0
    for name, force, height in (("downforce", wing.downforce, 94.0), ("drag", wing.drag, 48.0)):
        own = force[k].each(lambda n: n / force_scale(units))
        values = np.concatenate([own.low_n, own.high_n, [0.0]])
        low, high = (float(end.reduce(values, initial=v)) for end, v in ((np.fmin, 0.0), (np.fmax, 1.0)))
        ends = (float(angles[0]), float(angles[-1]))
        frame = svg.Frame(ends, (1.05 * low, 1.08 * high), top=top, height=height)
        names = list[str]()
        if result.advice.given:
            start, end = (
                frame.at(angle, 0.0)[0] for angle in (result.advice.start_deg, result.advice.high_deg)
            )
            parts.append(svg.box(start, top, end - start, height, "go faint"))
            if end - start > 8 * svg.LETTER:
                names.append(svg.word(0.5 * (start + end), top + height - 8, "advised"))
        if np.isfinite(result.advice.stall_deg) and result.advice.stall_deg < angles[-1]:
            x, _ = frame.at(result.advice.stall_deg, 0.0)
            wide = frame.left + frame.width - x
            parts.append(svg.box(x, top, wide, height, "stop faint"))
            shown = ["do not use", "stall:"] if wide > 10 * svg.LETTER else ["stall"]
            names += [svg.word(x + 4, top + height - 8 - 15 * k, t, "start") for k, t in enumerate(shown)]
        at = f" at {speed(wing.speed_m_s[k], units)}" if name == "downforce" else ""
        below = "wing angle [degrees]" if name == "drag" else ""
        ticks = svg.nice_ticks(*frame.y, about=5 if name == "downforce" else 3)
        along = () if name == "downforce" else None
        parts.append(svg.axes(frame, below, f"{name} [{units.force}]{at}", along, ticks))
        parts += [
            svg.band(frame, angles, own.low_n, own.high_n, "one"),
            svg.curve(frame, angles, own.n, "one"),
        ]
        parts += names if name == "downforce" else []
        top += height + 31.0
    text = "Keep out of the stall: steady flow cannot show how suddenly the downforce drops."
    return svg.figure("forces_over_angle", parts, top + 5, "Downforce and drag over the wing angle", text)


def pressure_around(result: StudyResult) -> str:
    """The section as on the car; the script turns it and draws suction and pressure as bands along it."""
    loops = ((75.0, 70.0) + 190.0 * xy for xy in result.flow.elements)
    turned = [svg.shape(loop[:, 0], loop[:, 1], "section") for loop in loops]
    kinds = ("suction", "pressing")
    turned += [f'<path id="{kind}" class="{kind}" fill-rule="evenodd" d=""/>' for kind in kinds]
    parts = [
        f'<g id="section-turns">{"".join(turned)}</g>',
        *(svg.box(10, 171, 22, 9, "suction"), svg.word(38, 180, "suction, by its width", "start")),
        *(svg.box(230, 171, 22, 9, "pressing"), svg.word(258, 180, "pressure", "start")),
        *(svg.arrow(8, 24, 50, 24, "thin"), svg.word(8, 16, "air", "start")),
        f'<text id="stalled" class="strong" x="{svg.WIDTH - 6:.0f}" y="16" text-anchor="end"></text>',
    ]
    sentence = "Seen from the side, nose left. The widest suction lies below, behind the nose."
    return svg.picture(parts, 190, "Pressure around the section", sentence)


def stall_along_span(result: StudyResult) -> svg.Figure:
    """Seen from behind: the angle that each part of the span has left, at the two ends of the advice."""
    wing, (columns, names) = result.wing, _ends(result)
    unit, scale = plan_unit(result.study.units)
    half = 0.5 * wing.wing.span_m / scale
    own = wing.strip_plane == 0
    right = wing.strip_y_m[own] / scale
    y = np.r_[-right[::-1], right]
    left_deg = wing.stall_margin_deg[:, columns[-1][1]]
    first = int(np.argmin(np.where(np.isnan(left_deg), np.inf, left_deg)))
    margins = wing.strip_margin_deg[first][[m for _, m in columns]][:, own]
    margins = np.hstack([margins[:, ::-1], margins])
    low, high = (float(f.reduce(margins, None, initial=v)) for f, v in ((np.fmin, 0.0), (np.fmax, 2.0)))
    frame = svg.Frame((-half, half), (low, 1.1 * high), top=20, height=130)
    left = "section angle left to the stall [degrees]"
    parts = [svg.axes(frame, f"across the car, seen from behind [{unit}]", left)]
    for kind, row in zip(svg.KINDS, margins, strict=False):
        parts.append(svg.curve(frame, y, row, kind))
    parts.append(svg.legend(names, frame.left + 10, frame.top + frame.height - 26))
    worst = int(np.argmin(np.where(np.isnan(margins[-1]), np.inf, margins[-1])))
    where = first_to_stall(float(y[worst]), half)
    left = tenths(float(left_deg[first]) - off_for_roof_deg(result.advice.roof_band_deg))
    at = own_speed(float(wing.speed_m_s[first]), result.study.units)
    text = f"At {at}: first at {where}, {left} degrees of wing angle beyond the end angle. Put tufts there."
    return svg.figure("stall_along_span", parts, 186, "Where along the span it stalls first", text)


def first_to_stall(y_m: float, half_span_m: float) -> str:
    """The place of a strip in words.

    Examples
    --------
    >>> first_to_stall(0.05, 0.7), first_to_stall(-0.6, 0.7)
    ('the middle', 'the outer end')
    """
    share = abs(y_m) / half_span_m
    return "the middle" if share < 0.33 else "half way out" if share < 0.75 else "the outer end"
