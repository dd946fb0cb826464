"""One look for all pictures: colours that the colour-blind tell apart, with a line style each besides."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wingtool.files import write_whole

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# Dark blue, vermilion, green-blue and black keep their contrast in grey and for colour-blind eyes.
STYLES: tuple[dict[str, Any], ...] = (
    {"color": "#00467f", "linestyle": "-", "marker": "o"},
    {"color": "#c03a00", "linestyle": "--", "marker": "s"},
    {"color": "#00735c", "linestyle": "-.", "marker": "^"},
    {"color": "#222222", "linestyle": ":", "marker": "D"},
)
SETTINGS: Any = {
    "font.size": 10.0,
    "axes.grid": True,
    "grid.color": "#dddddd",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "lines.markersize": 4.0,
    "svg.hashsalt": "wingtool",
    "svg.fonttype": "path",
    "hatch.linewidth": 0.4,
    "text.parse_math": False,  # a dollar in a name is a dollar
}

METADATA: dict[str, dict[str, Any]] = {
    ".png": {"Software": "wingtool"},
    ".svg": {"Date": None},
    ".pdf": {"CreationDate": None},
}


def save(
    draw: Callable[[Figure], None],
    path: Path,
    size: tuple[float, float] = (7.0, 4.6),
    endings: tuple[str, ...] = (".svg",),
) -> list[Path]:
    """Draw a figure and write it, laid out once; `path` comes without ending. Returns the paths."""
    import matplotlib
    from matplotlib.figure import Figure
    from matplotlib.layout_engine import ConstrainedLayoutEngine

    with matplotlib.rc_context(SETTINGS):
        layout = ConstrainedLayoutEngine()
        figure = Figure(figsize=size, layout=layout)
        draw(figure)
        layout.execute(figure)
        figure.set_layout_engine(None)  # once: writing would search again for each format
        return [write_figure(figure, path.with_name(path.name + ending), dpi=150) for ending in endings]


def write_figure(figure: Figure, path: Path, **how: Any) -> Path:
    """Write a figure, in the format of the path's ending, whole or not at all; returns the path."""
    data, form = io.BytesIO(), path.suffix.lower()
    figure.savefig(data, format=form[1:], metadata=METADATA[form], **how)
    return write_whole(path, data.getvalue())


def write_pages(figures: Iterable[Figure], path: Path, **told: str) -> Path:
    """Write figures as the pages of a PDF, with `told` in its information; returns the path."""
    from matplotlib.backends.backend_pdf import PdfPages

    data = io.BytesIO()
    with PdfPages(data, metadata=METADATA[".pdf"] | told) as pages:
        for figure in figures:
            pages.savefig(figure)
    return write_whole(path, data.getvalue())
