"""What pictures as files need besides the page's: a field over two lengths, sentences below a picture."""

from textwrap import wrap

import numpy as np

from wingtool.report.page.svg import Figure, Frame, axes, box, picture, segment, word

MOST_COLUMNS, MOST_ROWS = 7, 9  # numbers that stand side by side and are still read
ROW_HEIGHT = 22.0
LETTERS = 46  # in a line


def with_text(name: str, parts: list[str], floor: float, title: str, *sentences: str) -> Figure:
    """A picture whose parts end at `floor`, with sentences below them."""
    lines = [line for text in sentences for line in wrap(text, LETTERS)]
    below = [word(8, floor + 16.0 * (k + 1), line, "start") for k, line in enumerate(lines)]
    sentence = " ".join(sentences)
    drawn = picture([*parts, *below], floor + 16.0 * len(lines) + 8.0, title, sentence)
    return Figure(name, drawn, title, sentence)


def field(
    x: np.ndarray,
    y: np.ndarray,
    value: np.ndarray,
    here: tuple[float, float],
    top: float,
    x_title: str,
    y_title: str,
    digits: int,
    allowed: np.ndarray | None = None,
) -> tuple[list[str], float]:
    """Parts of a picture with `value` (y, x) on cells, and the y below them.

    A ring stands at `here`. A cell without a number is grey, one that is not allowed is struck out.
    """
    columns, rows = _some(len(x), MOST_COLUMNS), _some(len(y), MOST_ROWS)
    x_edge, y_edge = _edges(x[columns]), _edges(y[rows])
    frame = Frame((x_edge[0], x_edge[-1]), (y_edge[0], y_edge[-1]), top=top, height=ROW_HEIGHT * len(rows))
    low, span = np.nanmin(value), np.ptp(value[np.isfinite(value)]) or 1.0
    parts = [axes(frame, x_title, y_title)]
    for n, j in enumerate(rows):
        for m, k in enumerate(columns):
            left, lower = frame.at(x_edge[m], y_edge[n])
            right, upper = frame.at(x_edge[m + 1], y_edge[n + 1])
            known = np.isfinite(value[j, k])
            tint = 0.1 + 0.8 * (value[j, k] - low) / span if known else 1.0
            cell = box(left, upper, right - left, lower - upper, "suction" if known else "margin")
            parts.append(f'<g opacity="{tint:.2f}">{cell}</g>')
            if known:
                parts.append(
                    word(0.5 * (left + right), 0.5 * (lower + upper) + 4.0, f"{value[j, k]:.{digits}g}")
                )
            if allowed is not None and not allowed[j, k]:
                parts.append(segment(left, lower, right, upper))
    x_here, y_here = frame.at(*here)
    parts.append(f'<circle class="line two" cx="{x_here:.1f}" cy="{y_here:.1f}" r="9"/>')
    return parts, top + frame.height + 34.0


def _some(count: int, most: int) -> np.ndarray:
    return np.unique(np.linspace(0, count - 1, min(count, most)).round().astype(int))


def _edges(middle: np.ndarray) -> np.ndarray:
    """Ends of the cells around two points and more."""
    half = 0.5 * np.diff(middle)
    return np.r_[middle[0] - half[0], middle[:-1] + half, middle[-1] + half[-1]]
