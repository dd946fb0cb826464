"""Small pictures as SVG text for the pages: they scale, follow the page's colours, and need no library.

Colours and line styles stand in the page's style sheet, by class. Every line has a dash pattern besides its
colour. A picture is drawn 340 units wide, a phone's width, so that its text never shrinks below 11 pixels.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from math import isfinite
from textwrap import wrap
from typing import Any
from zlib import crc32

import numpy as np

WIDTH = 340.0
KINDS = ("one", "two", "three", "four")  # of lines
LETTER = 7.6  # about the width of a letter of the pages [picture units]
CAPTION_LETTERS = 46  # in a line


@dataclass(frozen=True)
class Frame:
    """Where data stand in a picture: ranges of x and y, and the box in picture units.

    A range of nothing (a table of one angle) stands at the box's left or lower edge.

    Examples
    --------
    >>> frame = Frame((0.0, 10.0), (0.0, 1.0), left=40.0, top=10.0, width=290.0, height=100.0)
    >>> frame.at(5.0, 1.0)
    (185.0, 10.0)
    >>> Frame((3.0, 3.0), (0.0, 1.0)).at(3.0, 0.0)
    (44.0, 184.0)
    """

    x: tuple[float, float]
    y: tuple[float, float]
    left: float = 44.0
    top: float = 14.0
    width: float = 284.0
    height: float = 170.0

    def at(self, x, y) -> tuple[Any, Any]:
        """Picture coordinates of data, scalars or arrays."""
        across = (np.asarray(x, dtype=float) - self.x[0]) / (self.x[1] - self.x[0] or 1.0)
        up = (np.asarray(y, dtype=float) - self.y[0]) / (self.y[1] - self.y[0] or 1.0)
        px, py = self.left + across * self.width, self.top + (1.0 - up) * self.height
        return (float(px), float(py)) if px.ndim == 0 and py.ndim == 0 else (px, py)


@dataclass(frozen=True)
class Figure:
    """A picture with its title and sentence, the name of its file, and the page's block it belongs to."""

    name: str
    svg: str
    title: str
    text: str
    block: str = ""


def points(x, y) -> str:
    """Path data through points; a nan breaks the line."""
    parts, move = [], "M"
    for one, other in zip(np.atleast_1d(x).tolist(), np.atleast_1d(y).tolist(), strict=True):
        if isfinite(one) and isfinite(other):
            parts.append(f"{move}{one:.1f} {other:.1f}")
            move = "L"
        else:
            move = "M"
    return "".join(parts)


def curve(frame: Frame, x, y, kind: str) -> str:
    """A line through data."""
    return f'<path class="line {kind}" d="{points(*frame.at(x, y))}"/>'


def band(frame: Frame, x, low, high, kind: str) -> str:
    """A filled band between two lines, over the stretch where both are numbers."""
    x, low, high = (np.asarray(v, dtype=float) for v in (x, low, high))
    good = np.isfinite(low) & np.isfinite(high)
    if good.sum() < 2:
        return ""
    px, upper = frame.at(x[good], high[good])
    _, lower = frame.at(x[good], low[good])
    outline = points(np.r_[px, px[::-1]], np.r_[upper, lower[::-1]])
    return f'<path class="band {kind}" d="{outline}Z"/>'


def shape(x, y, kind: str) -> str:
    """A closed shape in picture units."""
    return f'<path class="{kind}" d="{points(x, y)}Z"/>'


def segment(x1: float, y1: float, x2: float, y2: float, kind: str = "thin") -> str:
    """A straight line in picture units."""
    return f'<path class="line {kind}" d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}"/>'


def box(x: float, y: float, width: float, height: float, kind: str) -> str:
    """A rectangle in picture units."""
    size = f'width="{max(width, 0):.1f}" height="{max(height, 0):.1f}"'
    return f'<rect class="{kind}" x="{x:.1f}" y="{y:.1f}" {size}/>'


def word(x: float, y: float, text: str, anchor: str = "middle", kind: str = "") -> str:
    """Text in picture units."""
    return f'<text class="{kind}" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(text)}</text>'


def circle(x: float, y: float, radius: float, kind: str) -> str:
    """A circle in picture units."""
    return f'<circle class="{kind}" cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}"/>'


def arrow(x1: float, y1: float, x2: float, y2: float, kind: str) -> str:
    """A line with a head at its second end."""
    length = float(np.hypot(x2 - x1, y2 - y1))
    if length < 0.5:
        return ""
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    head = min(8.0, 0.6 * length)
    bx, by = x2 - head * ux, y2 - head * uy
    wings = (bx - 0.45 * head * uy, by + 0.45 * head * ux, bx + 0.45 * head * uy, by - 0.45 * head * ux)
    tip = shape(np.array([x2, wings[0], wings[2]]), np.array([y2, wings[1], wings[3]]), f"head {kind}")
    return segment(x1, y1, bx, by, kind) + tip


def nice_ticks(low: float, high: float, about: int = 5) -> np.ndarray:
    """Round numbers between two ends.

    Examples
    --------
    >>> nice_ticks(0.0, 930.0).tolist()
    [0.0, 200.0, 400.0, 600.0, 800.0]
    """
    span = max(high - low, 1e-12)
    raw = span / about
    power = 10.0 ** np.floor(np.log10(raw))
    step = power * min((m for m in (1.0, 2.0, 5.0, 10.0) if m * power >= 0.999 * raw), default=10.0)
    first = np.ceil(low / step - 1e-9)
    return step * np.arange(first, np.floor(high / step + 1e-9) + 1) + 0.0  # no minus zero


def axes(frame: Frame, x_title: str, y_title: str, x_ticks=None, y_ticks=None) -> str:
    """Ticks with their numbers, grid lines, and a title on each axis."""
    x_ticks = nice_ticks(*frame.x) if x_ticks is None else x_ticks
    y_ticks = nice_ticks(*frame.y) if y_ticks is None else y_ticks
    floor, right = frame.top + frame.height, frame.left + frame.width
    parts = []
    for tick in y_ticks:
        _, y = frame.at(frame.x[0], tick)
        parts += [segment(frame.left, y, right, y, "grid"), word(frame.left - 5, y + 4, _number(tick), "end")]
    for tick in x_ticks:
        x, _ = frame.at(tick, frame.y[0])
        at_edge = x > WIDTH - 16
        parts.append(segment(x, floor, x, floor + 4, "thin"))
        parts.append(word(x + 8 if at_edge else x, floor + 16, _number(tick), "end" if at_edge else "middle"))
    parts.append(segment(frame.left, floor, right, floor, "thin"))
    parts += [word(right, floor + 31, x_title, "end"), word(2, frame.top - 9, y_title, "start")]
    return "".join(parts)


def _number(value: float) -> str:
    return f"{value:g}".replace("-", "−")


def picture(parts: Iterable[str] | str, height: float, title: str, sentence: str) -> str:
    """A whole picture with a title and a description for those who do not see it."""
    body = parts if isinstance(parts, str) else "".join(parts)
    name = f"p{crc32((title + body).encode()):08x}"
    return (
        f'<svg viewBox="0 0 {WIDTH:.0f} {height:.0f}" role="img" aria-labelledby="{name} {name}d">'
        f'<title id="{name}">{escape(title)}</title><desc id="{name}d">{escape(sentence)}</desc>{body}</svg>'
    )


def figure(name: str, parts: Iterable[str], height: float, title: str, text: str, block: str = "") -> Figure:
    """A picture that stands still with its caption; its numbers stand in its block's table too."""
    return Figure(name, picture(parts, height, title, text), title, text, block)


def captioned(name: str, parts: Iterable[str], floor: float, title: str, *sentences: str) -> Figure:
    """A picture whose parts end at `floor`, for a file of its own: with its sentences below them."""
    lines = [line for text in sentences for line in wrap(text, CAPTION_LETTERS)]
    below = [word(8, floor + 16.0 * (k + 1), line, "start") for k, line in enumerate(lines)]
    return figure(name, [*parts, *below], floor + 16.0 * len(lines) + 8.0, title, " ".join(sentences))


def standalone(svg: str, style: str) -> str:
    """A picture as a file of its own: the style sheet's light colours in it, on white.

    Programs that show SVG files seldom know the variables of a style sheet, so that colours are put in.
    """
    colours = dict(re.findall(r"--(\w[\w-]*):(#\w+)", style))
    rules = re.sub(r"var\(--([\w-]+)\)", lambda name: colours[name[1]], style.split("}", 1)[1])
    head = f'<style>{rules}</style><rect width="100%" height="100%" fill="#fff"/>'
    return re.sub(
        r"<svg [^>]*>", lambda tag: f'{tag[0][:-1]} xmlns="http://www.w3.org/2000/svg">{head}', svg, count=1
    )


def legend(entries: Sequence[tuple[str, str]], x: float, y: float, step: float = 15.0) -> str:
    """Short samples of lines with their names, one below the other."""
    return "".join(
        segment(x, y + k * step, x + 24, y + k * step, kind) + word(x + 29, y + k * step + 4, text, "start")
        for k, (kind, text) in enumerate(entries)
    )
