"""Which section to build, and how true: the answers in words, and as tables for machines."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from wingtool.files import words_beside
from wingtool.geometry import measure
from wingtool.report.tables.table import Table, fields_of, table_of
from wingtool.report.text import (
    degrees,
    force,
    force_scale,
    own_force,
    own_length,
    seconds,
    signed,
    speed,
    tenths,
)
from wingtool.study import Choice, Design, Finalist, Tolerances
from wingtool.units import DisplayUnits
from wingtool.version import __version__

WORDS, AIMS = words_beside(__file__, "text"), words_beside(__file__, "aims")
GAINS = {"lap": "gain s", "spare": "to spare"}
MOST_NAMES, MOST_CARE = 6, 3
GENTLE, ABRUPT = 0.05, 0.15  # of the lift, gone within 3 degrees past the stall: own choice


@dataclass(frozen=True)
class Sheet:
    """The answer first, then the numbers.

    Parameters
    ----------
    heading, title : str
        What is answered, and for which study; on the page only.
    answer : sequence of str
        The first is the answer.
    headings, rows
        The table.
    legend : str
        What its columns mean.
    details : tuple of str
        What was left out, in lines.
    caution : str
    """

    heading: str
    title: str
    answer: list[str]
    headings: tuple[str, ...]
    rows: list[tuple[str, ...]]
    legend: str
    caution: str
    details: tuple[str, ...] = ()

    @property
    def after(self) -> list[str]:
        """Lines of the screen below the table."""
        return [self.legend, *self.details, f"! {self.caution}"]


def value_text(choice: Choice, value: float) -> str:
    """A value of the aim with few figures, in the study's own unit."""
    if choice.terms.aim.kind == "downforce":
        return own_force(value, choice.terms.study.units)
    return f"{seconds(value)} s" if choice.terms.aim.kind == "lap" else degrees(value)


def short_name(finalist: Finalist) -> str:
    """A section's name without the folder of its file; a family's with the body that defined it."""
    name = finalist.name.rsplit("/", 1)[-1].partition(", stage")[0]
    return f"NACA {name}" if finalist.origin == "family" else name


def marked_name(finalist: Finalist) -> str:
    """The same, with a word where it is the study's own."""
    return short_name(finalist) + (" (yours)" if finalist.origin == "own" else "")


def percent(part: float) -> str:
    """A part in per cent; a dash where there is no number."""
    return "–" if not np.isfinite(part) else f"{round(100 * part) + 0} %".replace("-", "−")


def stall_text(finalist: Finalist) -> str:
    """How a section stalls, with the number."""
    drop = finalist.stall_drop
    if not np.isfinite(drop):
        return "how it stalls is not known"
    word = "gentle" if drop < GENTLE else "abrupt" if drop > ABRUPT else "moderate"
    return f"{word} stall ({percent(drop)} lost 3° past it)"


def choice_sheet(choice: Choice) -> Sheet:
    """The section to build, its equals, what it is against the study's own, and what was left out."""
    return Sheet(
        heading="Which section to build",
        title=choice.terms.study.title,
        answer=_answer(choice),
        headings=_headings(choice),
        rows=_rows(choice),
        legend=WORDS["columns"].format(choice.terms.study.units.length, value_text(choice, choice.repeat)),
        caution=WORDS["spar"],
        details=tuple(_left_out(choice)),
    )


def _headings(choice: Choice) -> tuple[str, ...]:
    """Of the table: the gain where it is not the downforce, the lap where it is not the gain."""
    units, aim = choice.terms.study.units, choice.terms.aim.kind
    gain = () if aim == "downforce" else (GAINS[aim], "±")
    lap = ("lap s",) if aim != "lap" and choice.terms.study.circuit is not None else ()
    return ("group", *gain, "angle", f"down {units.force}", "±", f"drag {units.force}", units.length,
            "lost, %", *lap, "section")  # fmt: skip


def thickness_text(choice: Choice, finalist: Finalist) -> str:
    """Greatest thickness of a section at the study's chord, in the study's own unit."""
    study = choice.terms.study
    return own_length(measure(finalist.section).thickness * study.wing.chord_m, study.units)


def _rows(choice: Choice) -> list[tuple[str, ...]]:
    """One row a section, best group first."""
    units, columns = choice.terms.study.units, _headings(choice)
    found: list[tuple[str, ...]] = []
    for number, group in enumerate(choice.groups, start=1):
        for finalist in group:
            gain = (value_text(choice, finalist.value), value_text(choice, finalist.half_width))
            losses = (finalist.stall_drop, finalist.dirt_loss, finalist.error_loss)
            forces = (finalist.point.downforce.n, finalist.own_downforce_n, finalist.point.drag.n)
            found.append((
                str(number), *(text.split()[0] for text in (gain if "±" in columns[:3] else ())),
                degrees(finalist.point.angle_deg),
                *(own_force(newton, units).split()[0] for newton in forces),
                thickness_text(choice, finalist).split()[0],
                "/".join(percent(part).removesuffix(" %") for part in losses),
                *((seconds(finalist.lap_time_s),) if "lap s" in columns else ()), marked_name(finalist),
            ))  # fmt: skip
    return found


def _answer(choice: Choice) -> list[str]:
    if not choice.groups:
        return [WORDS["none"]]
    group, units = choice.groups[0], choice.terms.study.units
    best, own, at = group[0], choice.own, speed(choice.terms.reference_m_s, units)
    angle, *forces = _working_point(best, units)
    end = degrees(choice.terms.aim.last_deg(best.point.angle_deg, best.point.margin_deg))
    how = (angle, forces[0], at, forces[1], stall_text(best))
    sentences = [WORDS["build"].format(short_name(best), end, *how)]
    if len(group) > 1:
        sentences.append(WORDS["alike"].format(len(group), _names(group[1:])))
    if own is not None and own is not best:
        fails = f" (which does not pass: {choice.own_fails})" if choice.own_fails else ""
        half = float(np.hypot(best.half_width, own.half_width))
        gain = _difference(choice, best.value - own.value, half)
        sentences.append(f"Against your {short_name(own)}{fails}: {gain}.")
    if choice.design is not None:
        sentences += _design_lines(choice, choice.design)
    aim = choice.terms.aim
    kept = " of {}; below 0° it is not kept" if aim.kind == "spare" else "; each keeps {} from its stall"
    return [*sentences, f"Aim: {AIMS[aim.kind]}{kept.format(degrees(aim.margin_deg))}."]


def _working_point(finalist: Finalist, units: DisplayUnits) -> tuple[str, str, str]:
    """Angle, downforce and drag in the study's units."""
    point = finalist.point
    return degrees(point.angle_deg), force(point.downforce.n, units), force(point.drag.n, units)


def _difference(choice: Choice, change: float, half: float) -> str:
    none = ", no difference that you could measure" if abs(change) <= max(half, choice.repeat) else ""
    sign = "+" if change > 0.0 else ""
    return f"{sign}{value_text(choice, change)} ± {value_text(choice, half)}{none}"


def _design_lines(choice: Choice, design: Design) -> list[str]:
    """What the section made for the study gains over the best known one, by surrogate and by solver."""
    gains = {surface: made - known for surface, known, made, _ in design.surfaces}
    parts = "; ".join(f"{surface} {_difference(choice, gains[surface], half)}"
                      for surface, _, _, half in design.surfaces)  # fmt: skip
    best, units = design.best, choice.terms.study.units
    angle, downforce, _ = _working_point(best, units)
    known = short_name(design.best_known)
    sentence = WORDS["made"].format(angle, downforce, stall_text(best), known, parts)
    promise = f"The surrogate predicted {value_text(choice, design.surrogate_gain)}"
    left = gains[choice.terms.study.wing.surface]
    if 0.0 < left <= design.surrogate_gain:
        promise += f"; {percent(left / design.surrogate_gain)} of it is confirmed by the solver"
    return [sentence, f"{promise} ({design.shapes} shapes tried)."]


def _names(found: Sequence[Finalist]) -> str:
    more = f" and {len(found) - MOST_NAMES} more" if len(found) > MOST_NAMES else ""
    return ", ".join(short_name(finalist) for finalist in found[:MOST_NAMES]) + more


def _left_out(choice: Choice) -> list[str]:
    """What was left out and why, one line each."""
    why: dict[str, list[Finalist]] = {}
    for finalist in choice.failed:
        why.setdefault(finalist.status, []).append(finalist)
    sentences = [f"{choice.candidates} sections considered. Left out:"]
    sentences += [f"  {count:5d}  {text}" for count, text in choice.left_out]
    sentences += [f"  {len(found):5d}  {text}: {_names(found)}" for text, found in why.items()]
    return sentences


def choice_table(choice: Choice) -> Table:
    """One row a section, in the order of the answer."""
    found = choice.ranked
    points = [finalist.point for finalist in found]
    forces = [point.downforce.columns("downforce") | point.drag.columns("drag") for point in points]
    values: dict[str, Any] = {
        "rank": np.arange(1, len(found) + 1),
        "group": [k for k, group in enumerate(choice.groups, start=1) for _ in group],
        "section": [short_name(finalist) for finalist in found],
        **fields_of(found, "origin", aim_value="value", aim_half_width="half_width"),
        "wing_angle_deg": [point.angle_deg for point in points],
        "speed_m_s": choice.terms.reference_m_s,
        **{name: [row[name] for row in forces] for name in (forces[0] if forces else ())},
        "stall_margin_deg": [point.margin_deg for point in points],
        **fields_of(found, "stall_drop", "dirt_loss", "error_loss", "lap_time_s", "status"),
    }
    facts = {
        "aim": AIMS[choice.terms.aim.kind],
        "kept_margin_deg": choice.terms.aim.margin_deg,
        "smallest_difference": choice.repeat,
        "left_out": [f"{count}: {why}" for count, why in choice.left_out],
        "wingtool_version": __version__,
    }
    return table_of("choice", f"Sections for {choice.terms.study.title}", values, facts)


def tolerance_sheet(found: Tolerances) -> Sheet:
    """The three errors that deserve care, and what each error changes."""
    units, lap = found.study.units, np.isfinite(found.lap_s)
    headings = (f"downforce {units.force}", "stall", *(("lap s",) if lap else ()), "size", "error")
    rows: list[tuple[str, ...]] = [
        (force_change(error.downforce_n, units), f"{signed(error.stall_deg, tenths)}°",
         *((signed(error.lap_s),) if lap else ()), error.size, error.name)
        for error in found.errors
    ]  # fmt: skip
    careful = "; ".join(f"{error.name} ({error.size})" for error in found.errors[:MOST_CARE])
    answer = [
        f"Take most care of: {careful}.",
        f"{found.section.name} at {degrees(found.wing_angle_deg)}: {force(found.downforce_n, units)} at"
        f" {speed(found.speed_m_s, units)}, first stall at {degrees(found.stall_deg)}.",
    ]
    legend, caution = WORDS["each_error"].format(" and 0.1 s" if lap else ""), WORDS["early_stall"]
    return Sheet("How true it must be built", found.study.title, answer, headings, rows, legend, caution)


def force_change(newton: float, units: DisplayUnits) -> str:
    """A change of force in the study's own unit, to a tenth."""
    return signed(newton / force_scale(units), tenths)


def tolerance_table(found: Tolerances) -> Table:
    """One row an error, the most harmful first."""
    values = fields_of(
        found.errors, error="name", error_size="size", downforce_change_n="downforce_n",
        stall_change_deg="stall_deg", lap_change_s="lap_s", harm="harm",
    )  # fmt: skip
    facts = {"section": found.section.name} | fields_of(found, "wing_angle_deg", "speed_m_s")
    return table_of("tolerances", f"Building errors of {found.study.title}", values, facts)
