"""The answer of a choice in words, and as a table for machines."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.report.tables.names import table_of
from wingtool.report.text import degrees, figures, force, seconds, speed
from wingtool.version import __version__

if TYPE_CHECKING:
    from wingtool.report.tables.table import Table
    from wingtool.study import Choice, Finalist

AIMS = {
    "lap": "lap time gained over the car without a wing, springs and bars retuned to each",
    "downforce": "downforce",
    "spare": "angle to spare beyond the advised margin",
}
HEADINGS = (
    "group", "gain", "±", "angle", "downforce N", "±", "drag N", "thick mm", "lost past stall", "dirt",
    "errors", "lap s", "section",
)  # fmt: skip
NO_SPAR = "Thin sections have weak spars: proof-load wing and mounts before you drive, whatever stands first."
MOST_ROWS = 30


def value_text(choice: Choice, value: float) -> str:
    """A value of the aim with few figures."""
    return {"lap": seconds, "spare": degrees}.get(choice.aim.kind, figures)(value)


def short_name(one: Finalist) -> str:
    """A section's name without the folder of its file."""
    return one.name.rsplit("/", 1)[-1]


def percent(part: float) -> str:
    """A part in per cent; a dash where there is no number."""
    return "–" if not np.isfinite(part) else f"{100 * part:.0f} %".replace("-", "−")


def rows(choice: Choice) -> list[tuple[str, ...]]:
    """One row a section, best group first."""
    chord_mm = 1000.0 * choice.study.wing.chord_m
    found: list[tuple[str, ...]] = []
    for number, group in enumerate(choice.groups, start=1):
        for one in group:
            thickness = float(np.ptp(np.asarray(one.section.xy)[:, 1])) * chord_mm
            found.append((
                str(number), value_text(choice, one.value), value_text(choice, one.half_width),
                degrees(one.wing_angle_deg), figures(one.downforce_n[1]), figures(one.own_downforce_n),
                figures(one.drag_n[1]), f"{thickness:.0f}", percent(one.stall_drop), percent(one.dirt_loss),
                percent(one.error_loss), seconds(one.lap_time_s),
                short_name(one) + (" (the study's own)" if one.origin == "own" else "")
                + (" (designed)" if one.origin == "designed" else ""),
            ))  # fmt: skip
    return found[:MOST_ROWS]


def group_lines(choice: Choice) -> list[str]:
    """The answer first: the best group, its gentlest section, then what was left out."""
    if not choice.groups:
        return ["No section has a sound answer from the coupled solver; see what was left out below."]
    group = choice.groups[0]
    best = group[0]
    names = ", ".join(short_name(one) for one in group[1:])
    told = [
        f"Build {short_name(best)}: {degrees(best.wing_angle_deg)}, {force(best.downforce_n[1])} at"
        f" {speed(choice.speed_m_s)}, drag {force(best.drag_n[1])}."
    ]
    if names:
        told.append(
            f"It stands first of {len(group)} between which there is no difference that you could measure,"
            f" because it forgives most; the others: {names}."
        )
    told.append(
        f"Aim: {AIMS[choice.aim.kind]}, every section with {choice.aim.margin_deg:.2g}° kept from the stall;"
        f" less than {value_text(choice, choice.repeat)} or than the band is no difference."
    )
    if choice.own is not None and np.isfinite(choice.own.value):
        change = best.value - choice.own.value
        half = float(np.hypot(best.half_width, choice.own.half_width))
        unit = {"lap": " s", "downforce": " N", "spare": ""}[choice.aim.kind]
        told.append(
            f"Against the study's own {short_name(choice.own)}: {value_text(choice, change)}{unit}"
            f" ± {value_text(choice, half)}{unit}."
        )
    return told


def left_out_lines(choice: Choice) -> list[str]:
    """What was left out and why, one line each."""
    told = [f"{choice.candidates} sections looked at. Left out:"]
    told += [f"  {count:5d}  {why}" for count, why in choice.left_out]
    told += [
        f"         filter {one.what}: removes {one.alone} alone, {one.left} left" for one in choice.removed
    ]
    told += [f"         {short_name(one)}: {one.status}" for one in choice.failed]
    if np.isfinite(choice.agreement):
        told.append(
            f"Surrogate and coupled solver rank these alike with a correlation of {choice.agreement:.2f}."
        )
    return told


def choice_lines(choice: Choice) -> tuple[tuple[str, ...], list[tuple[str, ...]], list[str], list[str]]:
    """Headings, rows, the lines before the table, the lines after it."""
    after = [
        "lost past stall: part of the section's lift gone 3° past the stall; dirt, errors: part changed by a"
        " dirty surface and by building errors.",
        *left_out_lines(choice),
        f"! {NO_SPAR}",
    ]
    return HEADINGS, rows(choice), group_lines(choice), after


def choice_table(choice: Choice) -> Table:
    """One row a section, in the order of the answer."""
    found = choice.ranked
    group = [k for k, one in enumerate(choice.groups, start=1) for _ in one]
    values: dict[str, Any] = {
        "rank": list(range(1, len(found) + 1)),
        "group": group,
        "section": [short_name(one) for one in found],
        "origin": [one.origin for one in found],
        "aim_value": [one.value for one in found],
        "aim_half_width": [one.half_width for one in found],
        "wing_angle_deg": [one.wing_angle_deg for one in found],
        "speed_m_s": [choice.speed_m_s for _ in found],
    }
    for what in ("downforce", "drag"):
        for k, end in ((1, ""), (0, "_low"), (2, "_high")):
            values[f"{what}{end}_n"] = [getattr(one, f"{what}_n")[k] for one in found]
    for name in ("stall_margin_deg", "stall_drop", "dirt_loss", "error_loss", "lap_time_s"):
        values[name] = [getattr(one, name) for one in found]
    values["status"] = [one.status for one in found]
    facts = {
        "aim": AIMS[choice.aim.kind],
        "kept_margin_deg": choice.aim.margin_deg,
        "smallest_difference": choice.repeat,
        "left_out": [f"{count}: {why}" for count, why in choice.left_out],
        "wingtool_version": __version__,
    }
    return table_of("choice", f"Sections for {choice.study.title}", values, facts)
