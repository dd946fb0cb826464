"""What stands on a study's page, as plain values: the answer, the sliders' tables, inputs, bands."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.report.text import between, degrees, figures, force, length, sentence, speed
from wingtool.report.trace.text import traced_lines
from wingtool.units import M_S_PER_KM_H, M_S_PER_MPH, NEWTON_PER_KGF, NEWTON_PER_LBF

if TYPE_CHECKING:
    from wingtool.study import StudyResult
    from wingtool.wing import WingPolar

FORCES = ("downforce", "drag")


def answer(result: StudyResult) -> dict[str, Any]:
    """Headline, sentence, and the forces at three speeds."""
    advice = result.advice
    if not math.isfinite(advice.start_deg):
        none = {"headline": "No angle of this table can be advised.", "sentence": sentence(advice.doubt)}
        return none | {"forces": []}
    headline = f"Start at {degrees(advice.start_deg)}. Go no further than {degrees(advice.high_deg)}."
    stall = "No stall was met within the table's angles"
    if math.isfinite(advice.stall_deg):
        stall = f"The stall is computed at {degrees(advice.stall_deg)}"
    told = (
        f"{stall}. The range ends at {degrees(advice.high_deg)}: {advice.ends_because}."
        " Chord line against the horizontal; positive makes more downforce."
    )
    return {"headline": headline, "sentence": told, "forces": [_force_row(f) for f in advice.forces]}


def _force_row(one) -> dict[str, Any]:
    row: dict[str, Any] = {
        "km_h": f"{one.speed_m_s / M_S_PER_KM_H:.0f} km/h",
        "mph": f"{one.speed_m_s / M_S_PER_MPH:.0f} mph",
    }
    for name in FORCES:
        value, low, high = (getattr(one, f"{name}{end}_n") for end in ("", "_low", "_high"))
        row[name] = f"{figures(value)} N"
        row[f"{name}_other"] = (
            f"{figures(value / NEWTON_PER_KGF)} kgf",
            f"{figures(value / NEWTON_PER_LBF)} lbf",
        )
        row[f"{name}_band"] = between(low, high) + " N"
    return row


def slider_table(wings: tuple[tuple[float, WingPolar], ...]) -> dict[str, Any]:
    """The study's tables for the sliders: force over dynamic pressure, so that rows come back exactly.

    Parameters
    ----------
    wings : tuple of (tab_m, WingPolar)
        The same angles and speeds for each tab height [m].
    """
    first = wings[0][1]
    words: list[str] = sorted({str(word) for _, wing in wings for word in np.unique(wing.status)})
    return {
        "wing_angle_deg": _plain(first.wing_angle_deg),
        "speed_m_s": _plain(first.speed_m_s),
        "words": words,
        "tabs": [_one_tab(tab_m, wing, words) for tab_m, wing in wings],
    }


def _one_tab(tab_m: float, wing: WingPolar, words: list[str]) -> dict[str, Any]:
    pressure = wing.air.dynamic_pressure_pa(wing.speed_m_s)[:, None]
    table: dict[str, Any] = {"tab_m": tab_m, "stall_margin_deg": _plain(wing.stall_margin_deg)}
    for name in FORCES:
        for end in ("", "_low", "_high"):
            table[f"{name}_area_m2{end}"] = _plain(getattr(wing, f"{name}{end}_n") / pressure)
    table["status"] = [[words.index(str(word)) for word in row] for row in wing.status]
    return table


def _plain(values: np.ndarray) -> Any:
    """Nested lists of seven significant digits, None for nan."""
    if values.ndim > 1:
        return [_plain(row) for row in values]
    return [float(f"{v:.7g}") if math.isfinite(v) else None for v in values.tolist()]


def slider(result: StudyResult, tabs: int, tab_start: int) -> dict[str, Any]:
    """Ends, steps and starting places of the sliders."""
    wing, advice = result.wing, result.advice
    angles = wing.wing_angle_deg
    km_h = wing.speed_m_s / M_S_PER_KM_H
    start = advice.start_deg if math.isfinite(advice.start_deg) else float(angles[0])
    density = wing.air.density_kg_m3
    weather = f"{wing.air.temperature_k - 273.15:.0f} °C, {wing.air.pressure_pa / 100:.0f} hPa"
    return {
        "angle": {"low": float(angles[0]), "high": float(angles[-1]), "step": 0.25, "start": start},
        "speed": {
            "low": math.ceil(km_h[0] - 0.01),
            "high": math.floor(km_h[-1] + 0.01),
            "start": round(float(km_h[len(km_h) // 2])),
        },
        "density": float(f"{density:.5g}"),
        "density_text": f"{density:.2f} kg/m³ ({weather})",
        "tabs": tabs,
        "tab_start": tab_start,
    }


def grid(result: StudyResult, columns: tuple[int, ...]) -> dict[str, Any]:
    """Downforce by angle at a few speeds, for the page without sliders."""
    wing = result.wing
    margin = np.nanmin(np.where(np.isfinite(wing.stall_margin_deg), wing.stall_margin_deg, np.inf), axis=0)
    return {
        "heads": [f"{wing.speed_m_s[k] / M_S_PER_KM_H:.0f} km/h" for k in columns],
        "rows": [
            {
                "angle": degrees(float(angle)),
                "forces": [figures(float(wing.downforce_n[k, m])) for k in columns],
                "margin": degrees(float(margin[m])),
            }
            for m, angle in enumerate(wing.wing_angle_deg)
        ],
    }


def tab_rows(result: StudyResult) -> dict[str, Any] | None:
    """More angle or a tab: what each tab asks at the middle one of the wanted downforces."""
    choice = result.tab_choice
    if choice is None:
        return None
    d = len(choice.wanted_n) // 2
    rows = [
        {
            "tab": "none" if tab == 0.0 else f"{1000 * tab:.1f} mm",
            "angle": degrees(float(choice.wing_angle_deg[t, d])),
            "drag": f"{figures(float(choice.drag_n[t, d]))} N",
            "band": between(float(choice.drag_low_n[t, d]), float(choice.drag_high_n[t, d])) + " N",
            "margin": degrees(float(choice.stall_margin_deg[t, d])),
            "note": "" if choice.status[t, d] == "converged" else str(choice.status[t, d]),
        }
        for t, tab in enumerate(choice.tab_m)
    ]
    return {"downforce": force(float(choice.wanted_n[d])), "speed": speed(choice.speed_m_s), "rows": rows}


def inputs(result: StudyResult) -> list[tuple[str, str]]:
    """What the study said, in words."""
    wing, measures = result.study.wing, result.measures
    rows = [
        (
            "Section",
            f"{result.section.name}: {100 * measures.thickness:.1f} % thick,"
            f" {100 * measures.camber:.1f} % camber",
        ),
        ("Outline from", result.section.origin or "not stated"),
        ("Span, chord", f"{length(wing.span_m)}, {length(wing.chord_m)}"),
        ("Lowest point above ground", length(wing.height_m)),
        ("Surface", wing.surface),
    ]
    if wing.endplate is not None:
        rows.append(("Endplates", f"{length(wing.endplate.height_m)} high"))
    for element in wing.element:
        told = f"{element.section}, chord {length(element.chord_m)} at {degrees(element.angle_deg)}"
        rows.append(("Element behind it", told))
    for plane in wing.plane:
        rows.append(("Further plane", f"{plane.section}, chord {length(plane.chord_m)}"))
    if wing.tab_m:
        rows.append(("Tab", length(wing.tab_m)))
    first = result.wing.polars[0]
    reynolds = result.wing.reynolds
    rows += [
        (
            "Reynolds number",
            between(
                float(np.fmin.reduce(reynolds, axis=None)) / 1e6,
                float(np.fmax.reduce(reynolds, axis=None)) / 1e6,
            )
            + " million",
        ),
        ("Section data by", f"{first.method} method, surface {first.surface}"),
        ("Speeds", f"{speed(result.wing.speed_m_s[0])} to {speed(result.wing.speed_m_s[-1])}"),
        (
            "Reference",
            f"area {result.wing.reference_area_m2:.3g} m², chord {result.wing.reference_chord_m:.3g} m, "
            f"{_point(result.wing)}",
        ),
    ]
    return rows


def _point(wing: WingPolar) -> str:
    aft, above = wing.moment_point
    if aft == above == 0.0:
        return "moments about the quarter-chord point of the middle"
    return f"moments about {length(aft)} aft and {length(above)} above the quarter-chord point of the middle"


def bands(result: StudyResult) -> list[str]:
    """Where each band comes from; the second opinion beside the section data."""
    lines = [f"Downforce and drag: {result.wing.band_origin}."]
    origins = dict.fromkeys(polar.band_origin for polar in result.wing.polars if polar.band_origin)
    lines += [f"Section data: {origin}." for origin in origins]
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
    return (
        f"Second opinion, the learned surrogate: greatest section lift {theirs:.2f}, against {ours:.2f} used"
        f" here ({100 * (theirs / ours - 1):+.0f} %)."
    )


def cautions(result: StudyResult) -> dict[str, list[str]]:
    """Cautions by the number they belong to."""
    return {
        place: [c.text for c in result.advice.cautions if c.beside == place]
        for place in ("angle", "force", "drag", "height")
    }
