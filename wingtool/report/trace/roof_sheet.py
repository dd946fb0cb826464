"""The roof sheet to print: tufts that show how the air comes to the wing, and how to read them."""

from __future__ import annotations

import numpy as np

from wingtool.report.trace.sheet_parts import new_page, scale_line, steps_page, words
from wingtool.study import body_outline_m

PLACES = ("middle, 0.0", "0.6 of half span", "tip, 1.0")
REACH_MM, MOST_DEG = 110.0, 20


def roof_pages(paper: str, _chord_mm: float | None):
    """Steps on one page; form and protractor on the next."""
    figure, axes, _, bottom = steps_page(paper, "Roof sheet: how the air comes to the wing", "roof", 10.0)
    axes.text(20.0, bottom - 8.0, words()["roof_keys"], fontsize=9, family="monospace", va="top")
    _sketch(axes, 175.0, 18.0)
    form, axes, target = new_page(paper, "Readings [degrees], down towards the rear positive")
    _form(axes, target.height_mm - 40.0)
    _protractor(axes, 30.0, 0.5 * (target.height_mm - 75.0))
    scale_line(axes, 30.0, 12.0)
    return figure, form


def _sketch(axes, x: float, y: float, mm_per_m: float = 25.0) -> None:
    """A hatchback's side with mast and tufts; drawn for explanation, no car's measures."""
    outline = body_outline_m("hatchback", 4.0, 1.42) * mm_per_m + (x, y)
    axes.fill(*outline.T, facecolor="0.94", edgecolor="black", linewidth=0.8)
    mast = x + 3.75 * mm_per_m
    axes.plot([mast, mast], [y + 0.9 * mm_per_m, y + 1.55 * mm_per_m], color="black", linewidth=1.2)
    tufts = ((2.9, 1.44, -3.0), (3.2, 1.42, -8.0), (3.75, 1.55, -5.0), (3.6, 1.22, 140.0))
    for ahead, above, turn in tufts:
        start = np.array([x + ahead * mm_per_m, y + above * mm_per_m])
        end = start + 6.0 * np.array([np.cos(np.radians(turn)), np.sin(np.radians(turn))])
        axes.plot(*np.array([start, end]).T, color="0.2", linewidth=1.6)
    axes.text(mast + 3.0, y + 1.68 * mm_per_m, "mast and tuft at the wing's place", fontsize=8, ha="right")
    axes.text(x + 1.2 * mm_per_m, y + 1.52 * mm_per_m, "lie still: in the stream", fontsize=8)
    axes.text(x + 2.0 * mm_per_m, y + 1.05 * mm_per_m, "whirl: in the wake", fontsize=8)


def _form(axes, top: float) -> None:
    heads = ("place", *"12345", "mean", "band")
    for row, name in enumerate(("", *PLACES)):
        y = top - 11.0 * row
        for column, head in enumerate(heads):
            x = 20.0 if column == 0 else 50.0 + 17.0 * column
            text = (name if row else head) if column == 0 else (head if row == 0 else "")
            axes.text(x, y, text, fontsize=9, ha="left" if column == 0 else "center")
        axes.plot([20.0, 178.0], [y - 3.0, y - 3.0], color="0.6", linewidth=0.5)


def _protractor(axes, x: float, y: float) -> None:
    """Rays from a corner, a degree apart; it measures angles at any scale of the photo."""
    for degree in range(-MOST_DEG, MOST_DEG + 1):
        turn, long = np.radians(-degree), degree % 5 == 0
        start = 0.0 if degree == 0 else 30.0 if long else 90.0
        ends = np.outer(np.array([start, REACH_MM]), (np.cos(turn), np.sin(turn))) + (x, y)
        axes.plot(*ends.T, color="black" if long else "0.6", linewidth=0.6 if long else 0.3)
        if long:
            axes.text(x + (REACH_MM + 3.0) * np.cos(turn), y + (REACH_MM + 3.0) * np.sin(turn),
                      f"{degree:d}°".replace("-", "−"), fontsize=9, va="center")  # fmt: skip
    axes.text(
        x, y + 48.0, "air goes this way  →    level line along 0°, fork of the tuft at the corner", fontsize=9
    )
