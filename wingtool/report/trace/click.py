"""A page in which a person clicks ruler or rings and the outline in a photo: one file, no request."""

import base64
import io
from pathlib import Path

from wingtool.files import write_text
from wingtool.report.page.write import render
from wingtool.tracing import PAPERS, read_photo, sheet


def write_click_page(photo: Path, path: Path) -> Path:
    """Write the page for a photo; returns its path.

    Raises
    ------
    TraceError
        Not a photo that can be read.
    OutputError
        The page cannot be written.
    """
    from PIL import Image

    found = read_photo(photo)
    data = io.BytesIO()
    Image.fromarray(found.rgb).save(data, "JPEG", quality=90)
    text = render(
        "click.html",
        name=photo.name,
        stem=photo.stem,
        full=found.reduced,  # clicks are given back in the photo's own pixels
        rings={paper: sheet(paper).marks_mm.round(3).tolist() for paper in PAPERS},
        picture=base64.b64encode(data.getvalue()).decode("ascii"),
    )
    return write_text(path, text)
