"""The answer of a choice in words, and as a table for machines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from wingtool.report.tables.names import table_of
from wingtool.report.text import degrees, force, own_force, own_length, seconds, speed
from wingtool.version import __version__

if TYPE_CHECKING:
    from wingtool.report.tables.table import Table
    from wingtool.study import Choice, Design, Finalist

AIMS = {
    "lap": "lap time gained on the car without a wing, balance retuned to each",
    "downforce": "downforce",
    "spare": "angle to spare beyond the advised margin",
}
GAINS = {"lap": "gain s", "spare": "to spare"}
LEGEND = (
    "Past stall: part of the section's lift gone 3° past the stall. Dirt, errors: part changed by a dirty"
    " surface and by building errors."
)
NO_SPAR = "Thin sections have weak spars: proof-load wing and mounts before you drive, whatever stands first."
MOST_ROWS, MOST_NAMES = 30, 6


def value_text(choice: Choice, value: float) -> str:
    """A value of the aim with few figures, in the study's own unit."""
    if choice.aim.kind == "downforce":
        return own_force(value, choice.study.units)
    return f"{seconds(value)} s" if choice.aim.kind == "lap" else degrees(value)


def short_name(one: Finalist) -> str:
    """A section's name without the folder of its file; a family's with the body that defined it."""
    name = one.name.rsplit("/", 1)[-1].partition(", stage")[0]
    return f"NACA {name}" if one.origin == "family" else name


def percent(part: float) -> str:
    """A part in per cent; a dash where there is no number."""
    return "–" if not np.isfinite(part) else f"{round(100 * part) + 0} %".replace("-", "−")


def headings(choice: Choice) -> tuple[str, ...]:
    """Of the table: the gain where it is not the downforce, the lap where it is not the gain."""
    units, aim = choice.study.units, choice.aim.kind
    gain = () if aim == "downforce" else (GAINS[aim], "±")
    lap = ("lap s",) if aim != "lap" and choice.study.circuit is not None else ()
    return ("group", *gain, "angle", f"downforce {units.force}", "±", f"drag {units.force}",
            f"depth {units.length}", "past stall", "dirt", "errors", *lap, "section")  # fmt: skip


def rows(choice: Choice) -> list[tuple[str, ...]]:
    """One row a section, best group first."""
    units, columns = choice.study.units, headings(choice)
    found: list[tuple[str, ...]] = []
    for number, group in enumerate(choice.groups, start=1):
        for one in group:
            depth_m = float(np.ptp(np.asarray(one.section.xy)[:, 1])) * choice.study.wing.chord_m
            forces = (one.downforce_n[1], one.own_downforce_n, one.drag_n[1])
            gain = (value_text(choice, one.value), value_text(choice, one.half_width))
            found.append((
                str(number), *(text.split()[0] for text in (gain if "±" in columns[:3] else ())),
                degrees(one.wing_angle_deg), *(own_force(newton, units).split()[0] for newton in forces),
                own_length(depth_m, units).split()[0], percent(one.stall_drop), percent(one.dirt_loss),
                percent(one.error_loss), *((seconds(one.lap_time_s),) if "lap s" in columns else ()),
                short_name(one) + (" (yours)" if one.origin == "own" else ""),
            ))  # fmt: skip
    return found[:MOST_ROWS]


def group_lines(choice: Choice) -> list[str]:
    """The answer first: the section to build, its equals, what it is against the study's own."""
    if not choice.groups:
        return ["No section has a sound answer from the coupled solver; see what was left out below."]
    group, units = choice.groups[0], choice.study.units
    best = group[0]
    told = [
        f"Build {short_name(best)} at {degrees(best.wing_angle_deg)}: {force(best.downforce_n[1], units)} at"
        f" {speed(choice.speed_m_s, units)}, drag {force(best.drag_n[1], units)}."
    ]
    if len(group) > 1:
        told.append(
            f"It forgives most of {len(group)} between which you could measure no difference; the others:"
            f" {_names(group[1:])}."
        )
    own = choice.own
    if own is not None and np.isfinite(own.value) and own is not best:
        fails = f" (which does not pass: {choice.own_fails})" if choice.own_fails else ""
        told.append(f"Against your {short_name(own)}{fails}: {_gain(choice, own, best)}.")
    if choice.design is not None:
        told += _design_lines(choice, choice.design)
    told.append(
        f"Aim: {AIMS[choice.aim.kind]}; each section keeps {choice.aim.margin_deg:.2g}° from its stall."
    )
    return told


def _gain(choice: Choice, before: Finalist, after: Finalist) -> str:
    return _difference(
        choice, after.value - before.value, float(np.hypot(after.half_width, before.half_width))
    )


def _difference(choice: Choice, change: float, half: float) -> str:
    none = ", no difference that you could measure" if abs(change) <= max(half, choice.repeat) else ""
    sign = "+" if change > 0.0 else ""
    return f"{sign}{value_text(choice, change)} ± {value_text(choice, half)}{none}"


def _design_lines(choice: Choice, design: Design) -> list[str]:
    """What the section made for the study gains over the best found, and what is left of the promise."""
    left = [other - one for _, one, other, _ in design.surfaces]
    own = [name for name, *_ in design.surfaces].index(choice.study.wing.surface)
    parts = "; ".join(f"{name} {_difference(choice, other - one, half)}"
                      for name, one, other, half in design.surfaces)  # fmt: skip
    told = [
        f"Made for this wing ({degrees(design.best.wing_angle_deg)},"
        f" {force(design.best.downforce_n[1], choice.study.units)}), against {short_name(design.found)}, the"
        f" best found, by the coupled solver: {parts}."
    ]
    promise = f"The search promised {value_text(choice, design.promised)}"
    if 0.0 < left[own] <= design.promised:
        promise += f"; {percent(left[own] / design.promised)} of it is left by the solver"
    return [*told, f"{promise} ({design.shapes} shapes looked at)."]


def _names(found: Sequence[Finalist]) -> str:
    more = f" and {len(found) - MOST_NAMES} more" if len(found) > MOST_NAMES else ""
    return ", ".join(short_name(one) for one in found[:MOST_NAMES]) + more


def left_out_lines(choice: Choice) -> list[str]:
    """What was left out and why, one line each."""
    why = {one.status: [other for other in choice.failed if other.status == one.status]
           for one in choice.failed}  # fmt: skip
    told = [f"{choice.candidates} sections looked at. Left out:"]
    told += [f"  {count:5d}  {text}" for count, text in choice.left_out]
    told += [f"  {len(found):5d}  {text}: {_names(found)}" for text, found in why.items()]
    if np.isfinite(choice.agreement):
        told.append(
            "Rank correlation of surrogate and coupled solver among the finalists, which are much alike:"
            f" {choice.agreement:.2f}."
        )
    return told


def choice_lines(choice: Choice) -> tuple[tuple[str, ...], list[tuple[str, ...]], list[str], list[str]]:
    """Headings, rows, the lines before the table, the lines after it."""
    after = [
        f"{LEGEND} Less than {value_text(choice, choice.repeat)}, or than the bands (±) together, is no"
        " difference.",
        *left_out_lines(choice),
        f"! {NO_SPAR}",
    ]
    return headings(choice), rows(choice), group_lines(choice), after


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
