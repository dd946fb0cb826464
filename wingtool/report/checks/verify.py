"""A verification in lines, a table and a picture."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from wingtool.report.formats.table_files import write_folder
from wingtool.report.plots.style import STYLES, save
from wingtool.report.tables.table import Table, table_of
from wingtool.report.text import figures, sentence, signed
from wingtool.track import BARE_LIFT, CONSISTENT

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from wingtool.study import Verification
    from wingtool.track import Evidence

DECISION = "claimed only when the change is beyond its 95 % interval, by the scatter of the runs"


def verify_lines(result: Verification) -> list[str]:
    """Everything for the screen: the words and what to do, cautions, then what was understood."""
    on = sum(run.parts_on for run in result.runs)
    what = f"{result.title}: {result.test}, wing at {result.angle_deg:g} degrees"
    lines = [f"{what}; on and off: {result.parts}; {len(result.runs)} runs, {on} with"]
    for item in result.evidence:
        lines += ["", *evidence_lines(item)]
    lines += ["", f"({DECISION})"]
    if result.lateral is not None and result.coast is None:
        lines += ["", _lateral_line(result)]
    cautions = (f"! {sentence(text)}" for text in result.cautions)
    understood = (f"  {text}" for text in (*result.log.understood, *result.notes))
    return [*lines, *cautions, "", "Read from the log:", *understood]


def evidence_lines(item: Evidence) -> list[str]:
    """One quantity: the word, measured against estimated, and how many more runs would tell."""
    unseen = item.predicted + np.copysign(item.noticed, item.predicted)
    weak = item.word == CONSISTENT and item.noticed > abs(item.predicted) / 2
    lines, unit = [f"{item.what}: {item.word.upper()}{' BUT WEAK' * weak}"], item.unit.replace("^2", "²")
    told = partial(signed, shown=figures)
    if np.isfinite(item.change):
        units = f"{item.units_on} with, {item.units_off} without, each a {item.unit_name}"
        lines.append(
            f"  measured {told(item.change)} {unit} ({told(item.low)} to {told(item.high)}, 95 % interval;"
            f" standard error {figures(item.standard_error)}; {units})"
        )
    band = f"{told(item.predicted_low)} to {told(item.predicted_high)}"
    lines.append(f"  estimated {told(item.predicted)} {unit} ({band})")
    if item.word == CONSISTENT:
        lines.append(
            f"  a difference of {figures(item.noticed)} {unit} from the estimate would have been noticed"
            " (four times in five)" + f"; up to {told(unseen)} {unit} might pass unseen" * weak
        )
    if item.more_units:
        lines.append(
            f"  about {item.more_units} more are needed (unit: {item.unit_name}), half with, half without"
        )
    return [*lines, f"  note: {item.note}"] if item.note else lines


def _lateral_line(result: Verification) -> str:
    item = result.lateral
    assert item is not None
    high = [(g, s) for g, s in zip(item.level_g, item.longest_s, strict=True) if g >= 0.75 and s > 0.0]
    if not high:
        return "Lateral load in the log: never above 0.8 g"
    spells = ", ".join(f"{g:.2f} g for {s:.1f} s" for g, s in high[-4:])
    return f"Lateral load in the log, longest at a stretch: {spells}. Hold your oil-pressure log against it."


def verify_table(result: Verification) -> Table:
    """One row a quantity."""
    names = ("what", "unit", "change", "standard_error", "low", "high", "predicted", "predicted_low",
             "predicted_high", "units_on", "units_off", "word", "more_units")  # fmt: skip
    values = {name: np.array([getattr(item, name) for item in result.evidence]) for name in names}
    facts = {
        "study": result.title,
        "log": result.log.source,
        "test": result.test,
        "parts": result.parts,
        "wing_angle_deg": result.angle_deg,
        "caution": result.cautions[0],
    }
    return table_of("verify", "The track's answer", values, facts)


def write_verification(result: Verification, folder: Path | str) -> list[Path]:
    """Table and picture into a folder."""
    folder = Path(folder)
    written = write_folder([verify_table(result)], folder)
    draw = partial(draw_verification, result=result)
    return written + save(draw, folder / "verify", endings=(".svg", ".png"))


def draw_verification(figure: Figure, result: Verification) -> None:
    """Measured change with its interval beside the estimate with its band; coast-down pairs above."""
    coast = result.coast
    axes = figure.subplots(2 if coast else 1, 1, squeeze=False)[:, 0]
    axes[0].set_title(f"{result.title}: {result.test}", fontsize=10, loc="left")
    if coast:
        ax = axes[0]
        order = np.arange(1, len(coast.pair_on) + 1)
        values, on = np.array(coast.pair_cda_m2), np.array(coast.pair_on)
        for mask, label, style in ((~on, "without", STYLES[3]), (on, "with", STYLES[0])):
            ax.plot(order[mask], values[mask], label=label, linestyle="none", marker=style["marker"],
                    markersize=7, color=style["color"])  # fmt: skip
        ax.set_xlabel(f"{coast.evidence.unit_name}, in order of time")
        ax.set_ylabel("drag area [m²]")
        ax.set_xticks(order)
        ax.legend(ncols=2)
    _bars(axes[-1], result.evidence)


def _bars(ax, evidence: tuple[Evidence, ...]) -> None:
    names = ("predicted", "predicted_low", "predicted_high", "change", "reach")
    value, low, high, change, reach = (np.array([getattr(item, name) for item in evidence]) for name in names)
    rows = np.arange(len(evidence))[::-1]
    guess, track = STYLES[2]["color"], STYLES[1]["color"]
    ax.hlines(rows + 0.15, low, high, linewidth=8, alpha=0.4, color=guess, label="estimate, band")
    ax.plot(value, rows + 0.15, linestyle="none", marker="|", markersize=14, color=guess)
    ax.errorbar(
        change, rows - 0.15, xerr=reach, fmt="o", capsize=5, color=track, label="track, 95 % interval"
    )
    ax.axvline(0.0, color="#222222", linewidth=1.0)
    ax.set_yticks(rows, [item.what.replace(" of the ", "\nof the ") + f":\n{item.word}" for item in evidence])
    ax.set_ylim(-0.7, len(evidence) - 0.3)
    lift = ", or the body's lift" if any(item.what.startswith(BARE_LIFT) for item in evidence) else ""
    ax.set_xlabel(f"change by the parts{lift} [{evidence[0].unit.replace('^2', '²')}]")
    ax.legend(loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=2, fontsize=8, frameon=False)
