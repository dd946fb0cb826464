"""The pictures of a study's page: angle ruler, forces, pressure around the section, stall along the span."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from wingtool.report.page.svg import (
    WIDTH,
    Frame,
    arrow,
    axes,
    band,
    box,
    curve,
    legend,
    nice_ticks,
    picture,
    segment,
    shape,
    word,
)
from wingtool.report.text import degrees, figures, speed
from wingtool.units import M_S_PER_KM_H, NEWTON_PER_KGF

if TYPE_CHECKING:
    from wingtool.panels import InviscidFlow
    from wingtool.study import StudyResult

KINDS = ("one", "two", "three", "four")
ATTACHED_MARGIN_DEG = 1.0


def angle_ruler(result: StudyResult) -> str:
    """The advised range, the margin and the stall on one strip of angle."""
    advice, angles = result.advice, result.wing.wing_angle_deg
    frame = Frame((float(angles[0]), float(angles[-1])), (0.0, 1.0), left=14, top=34, width=312, height=26)
    parts = [box(frame.left, frame.top, frame.width, frame.height, "strip")]
    stall = advice.stall_deg if np.isfinite(advice.stall_deg) else float(angles[-1])
    for low, high, kind in (
        (advice.start_deg, advice.high_deg, "go"),
        (advice.high_deg, stall, "margin"),
        (stall, float(angles[-1]), "stop"),
    ):
        if np.isfinite(low) and high > low:
            x, _ = frame.at(low, 0.0)
            parts.append(box(x, frame.top, frame.at(high, 0.0)[0] - x, frame.height, kind))
    parts += _ruler_words(frame, advice, stall, float(angles[-1]))
    for tick in nice_ticks(*frame.x, about=8):
        x, y = frame.at(tick, 0.0)
        parts += [segment(x, y, x, y + 5), word(x, y + 18, degrees(tick))]
    parts.append('<path class="marker" id="ruler-marker" d="" />')
    told = (
        f"Advised {degrees(advice.start_deg)} to {degrees(advice.high_deg)}; the stall starts at "
        f"{degrees(advice.stall_deg)}; the strip runs from {degrees(angles[0])} to {degrees(angles[-1])}."
    )
    return picture(parts, 84, "Wing angle: where to run", told)


def _ruler_words(frame: Frame, advice, stall: float, last: float) -> list[str]:
    parts = []
    if np.isfinite(advice.start_deg):
        middle, _ = frame.at(0.5 * (advice.start_deg + advice.high_deg), 0.0)
        parts.append(word(middle, 24, "run here", kind="strong"))
    if stall < last:
        x, _ = frame.at(0.5 * (stall + last), 0.0)
        parts.append(word(min(x, WIDTH - 24), 24, "stall", kind="strong"))
    if np.isfinite(advice.high_deg) and frame.at(stall, 0)[0] - frame.at(advice.high_deg, 0)[0] > 44:
        middle, _ = frame.at(0.5 * (advice.high_deg + stall), 0.0)
        parts.append(word(middle, 24, "keep off"))
    return parts


def force_over_speed(result: StudyResult) -> str:
    """Downforce over speed at the two ends of the advised range, with bands, in kgf and N."""
    wing, advice = result.wing, result.advice
    wanted = [a for a in (advice.start_deg, advice.high_deg) if np.isfinite(a)] or [
        float(wing.wing_angle_deg[0])
    ]
    columns = [(a, int(np.argmin(np.abs(wing.wing_angle_deg - a)))) for a in dict.fromkeys(wanted)]
    km_h = wing.speed_m_s / M_S_PER_KM_H
    top = max(float(np.fmax.reduce(wing.downforce.high_n[:, m], initial=1.0)) for _, m in columns)
    slowest = float(km_h[0]) if len(km_h) > 1 else 0.0
    frame = Frame((slowest, float(km_h[-1])), (0.0, 1.05 * top), left=48, width=244, top=24)
    parts = [axes(frame, "speed [km/h]", "downforce [N]")]
    for tick in nice_ticks(0.0, frame.y[1] / NEWTON_PER_KGF):
        _, y = frame.at(frame.x[0], tick * NEWTON_PER_KGF)
        parts.append(word(frame.left + frame.width + 4, y + 4, f"{tick:g}", "start"))
    parts.append(word(WIDTH - 2, frame.top - 10, "[kgf]", "end"))
    for kind, (_, m) in zip(KINDS, columns, strict=False):
        parts.append(band(frame, km_h, wing.downforce.low_n[:, m], wing.downforce.high_n[:, m], kind))
    for kind, (_, m) in zip(KINDS, columns, strict=False):
        parts.append(curve(frame, km_h, wing.downforce.n[:, m], kind))
    names = [(kind, f"at {degrees(a)}") for kind, (a, _) in zip(KINDS, columns, strict=False)]
    parts.append(legend(names, frame.left + 10, frame.top + 12))
    told = "; ".join(
        f"at {degrees(a)} and {speed(wing.speed_m_s[-1])}: {figures(wing.downforce.n[-1, m])} newton"
        for a, m in columns
    )
    return picture(parts, 232, "Downforce over speed, with its band", told)


def force_over_angle(result: StudyResult) -> str:
    """Downforce over wing angle at the middle speed, stall region marked."""
    wing, advice = result.wing, result.advice
    k = len(wing.speed_m_s) // 2
    angles = wing.wing_angle_deg
    values = np.concatenate([wing.downforce.low_n[k], wing.downforce.high_n[k], [0.0]])
    low, high = float(np.fmin.reduce(values, initial=0.0)), float(np.fmax.reduce(values, initial=1.0))
    frame = Frame((float(angles[0]), float(angles[-1])), (1.05 * low, 1.08 * high), top=20)
    parts = []
    if np.isfinite(advice.stall_deg) and advice.stall_deg < angles[-1]:
        x, _ = frame.at(advice.stall_deg, 0.0)
        parts.append(box(x, frame.top, frame.left + frame.width - x, frame.height, "stop faint"))
        parts.append(word(x + 4, frame.top + frame.height - 8, "stall", "start"))
    parts.append(axes(frame, "wing angle [degrees]", f"downforce [N] at {speed(wing.speed_m_s[k])}"))
    parts.append(band(frame, angles, wing.downforce.low_n[k], wing.downforce.high_n[k], "one"))
    parts.append(curve(frame, angles, wing.downforce.n[k], "one"))
    best = int(np.argmax(np.where(np.isfinite(wing.downforce.n[k]), wing.downforce.n[k], -np.inf)))
    told = f"Largest value {figures(wing.downforce.n[k, best])} newton at {degrees(angles[best])}."
    return picture(parts, 226, "Downforce over wing angle", told)


def pressure_around(flow: InviscidFlow, title: str) -> str:
    """A coloured band along the outline: its width is the suction outside, the pressure inside the line."""
    xy = flow.elements[0]
    x, y, cp = _on_the_car(xy, float(flow.alpha_deg[0]), flow.cp[0, : len(xy)])
    along, across = _normals(x, y)
    scale, reach = 190.0, 62.0
    px, py = 75.0 + scale * x, 70.0 - scale * y
    width = np.clip(np.abs(cp) / max(1.5, float(np.nanmax(np.abs(cp)))), 0.0, 1.0) * reach
    pivot = f"{75.0 + scale * 0.25:.1f} {70.0:.1f}"
    parts = [f'<g id="section-turns" data-pivot="{pivot}">', shape(px, py, "section")]
    for further in flow.elements[1:]:
        fx, fy, _ = _on_the_car(further, float(flow.alpha_deg[0]), cp)
        parts.append(shape(75.0 + scale * fx, 70.0 - scale * fy, "section"))
    for pulls, kind in ((True, "suction"), (False, "pressing")):
        for run in _runs((cp < 0.0) == pulls):
            far = np.where(cp[run] < 0.0, width[run], 0.45 * width[run])
            edge_x, edge_y = px[run] + far * along[run], py[run] - far * across[run]
            parts.append(shape(np.r_[edge_x, px[run][::-1]], np.r_[edge_y, py[run][::-1]], kind))
    parts.append("</g>")
    bottom = float(np.max(py + np.where(cp < 0.0, width, 0.0) * np.maximum(-across, 0.0))) + 22
    parts += [
        box(10, bottom - 9, 22, 9, "suction"),
        word(38, bottom, "air pulls: the wider, the more", "start"),
    ]
    parts += [box(230, bottom - 9, 22, 9, "pressing"), word(258, bottom, "air presses", "start")]
    parts += [arrow(8, 24, 50, 24, "thin"), word(8, 16, "air", "start")]
    parts.append(f'<text id="stalled" class="strong" x="{WIDTH - 6:.0f}" y="16" text-anchor="end"></text>')
    least = float(np.nanmin(cp))
    told = f"Seen from the side, nose left. Strongest suction below: pressure coefficient {least:.1f}."
    return picture(parts, bottom + 10, title, told)


def _runs(chosen: np.ndarray) -> list[slice]:
    """Stretches of neighbouring nodes that are chosen, one node longer at each end so that they meet."""
    edges = np.flatnonzero(np.diff(np.r_[0, chosen.astype(int), 0]))
    pairs = zip(edges[::2], edges[1::2], strict=True)
    return [slice(max(first - 1, 0), min(last + 1, len(chosen))) for first, last in pairs]


def _on_the_car(xy: np.ndarray, alpha_deg: float, cp: np.ndarray):
    """Outline turned over and set at its angle (tail up), about mid-chord."""
    turn = np.radians(alpha_deg)
    x, y = xy[:, 0] - 0.5, -xy[:, 1]
    return 0.5 + x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn), cp


def _normals(x: np.ndarray, y: np.ndarray):
    """Outward normals of the turned-over (clockwise) outline."""
    tx, ty = np.gradient(x), np.gradient(y)
    size = np.hypot(tx, ty)
    return -ty / size, tx / size


def stall_along_span(result: StudyResult) -> str:
    """Seen from behind: the angle that each part of the span has left, at the two ends of the advice."""
    wing, advice = result.wing, result.advice
    wanted = [a for a in (advice.start_deg, advice.high_deg) if np.isfinite(a)] or [
        float(wing.wing_angle_deg[0])
    ]
    columns = [(a, int(np.argmin(np.abs(wing.wing_angle_deg - a)))) for a in dict.fromkeys(wanted)]
    half = 0.5 * wing.wing.span_m
    own = wing.strip_plane == 0
    right = wing.strip_y_m[own]
    y = np.r_[-right[::-1], right]
    margins = wing.strip_margin_deg[-1][[m for _, m in columns]][:, own]
    margins = np.hstack([margins[:, ::-1], margins])
    low, high = (float(f.reduce(margins, None, initial=v)) for f, v in ((np.fmin, 0.0), (np.fmax, 2.0)))
    frame = Frame((-half, half), (low, 1.1 * high), top=20, height=130)
    parts = [axes(frame, "across the car, left to right [m]", "angle left before stall [degrees]")]
    for kind, row in zip(KINDS, margins, strict=False):
        parts.append(curve(frame, y, row, kind))
    names = [(kind, f"at {degrees(a)}") for kind, (a, _) in zip(KINDS, columns, strict=False)]
    parts.append(legend(names, frame.left + 10, frame.top + frame.height - 26))
    worst = int(np.argmin(np.where(np.isnan(margins[-1]), np.inf, margins[-1])))
    where = first_to_stall(float(y[worst]), half)
    told = f"The part that stalls first is {where}, with {figures(float(margins[-1][worst]))} degrees left."
    return picture(parts, 186, "Where along the span it stalls first", told)


def first_to_stall(y_m: float, half_span_m: float) -> str:
    """The place of a strip in words.

    Examples
    --------
    >>> first_to_stall(0.05, 0.7), first_to_stall(-0.6, 0.7)
    ('the middle', 'the outer end')
    """
    share = abs(y_m) / half_span_m
    return "the middle" if share < 0.33 else "half way out" if share < 0.75 else "the outer end"
