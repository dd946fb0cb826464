"""One look for all pictures: colours that the colour-blind tell apart, with a line style each besides."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wingtool.files import whole_file

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# Dark blue, vermilion, green-blue and black keep their contrast in grey and for colour-blind eyes.
STYLES: tuple[dict[str, Any], ...] = (
    {"color": "#00467f", "linestyle": "-", "marker": "o"},
    {"color": "#c03a00", "linestyle": "--", "marker": "s"},
    {"color": "#00735c", "linestyle": "-.", "marker": "^"},
    {"color": "#222222", "linestyle": ":", "marker": "D"},
)
ADVISED_SHADE: dict[str, Any] = {"facecolor": "#7fc8a9", "alpha": 0.35, "edgecolor": "#00735c"}
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


def save(draw: Callable[[Figure], None], path: Path, size: tuple[float, float] = (7.0, 4.6)) -> list[Path]:
    """Draw a figure and write it as PNG and SVG; `path` comes without ending. Returns both paths."""
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(SETTINGS):
        figure = Figure(figsize=size, layout="constrained")
        draw(figure)
        written = []
        for ending, metadata in ((".png", {"Software": "wingtool"}), (".svg", {"Date": None})):
            target = path.with_name(path.name + ending)
            with whole_file(target) as beside:
                figure.savefig(beside, dpi=150, metadata=metadata)
            figure.set_layout_engine("none")  # placed once; the second format need not search again
            written.append(target)
    return written
