"""Coordinate files as they are found to a `Section`: repaired where safe, else refused in one line."""

from pathlib import Path

import numpy as np

from wingtool.errors import CoordinateFileError
from wingtool.files import plain_bytes
from wingtool.geometry.curve import arc_length, smooth_curve
from wingtool.geometry.files.arrange import arrange
from wingtool.geometry.files.checks import complaint, complaint_between, doubts
from wingtool.geometry.files.known import known_but
from wingtool.geometry.files.rows import MOST_BYTES, decode, split_rows
from wingtool.geometry.frame import on_chord_line
from wingtool.geometry.shape import Section

COARSE = 0.001  # of the chord: rounding that alone can make 0.3 % of camber


def section_from_text(text: str, name: str, source: str, compared: bool = True) -> Section:
    """Section from the text of a coordinate file.

    Parameters
    ----------
    text : str
        Lines of x and y; text above, between and below them is allowed.
    name : str
        What to call it when the text has no title.
    source : str
        Where the text comes from, for messages.
    compared : bool
        Whether the outline is held against known sections.

    Raises
    ------
    CoordinateFileError
        What cannot be repaired, in one line with the line number where there is one.
    """
    rows = split_rows(text, source)
    loop, repairs, digits, rounding = arrange(rows, source)
    if trouble := complaint(loop):
        raise CoordinateFileError(f"{source}{trouble}")
    curve = smooth_curve(loop[:, :2])
    if trouble := complaint_between(loop, curve):
        raise CoordinateFileError(f"{source}{trouble}")
    xy = on_chord_line(loop[:, :2], curve, repairs)
    rounding = rounding if rows.rounding is None else rows.rounding
    title, origin = rows.title or digits or name, rows.origin or f"file {source}"
    found = doubts(np.column_stack([xy, loop[:, 2]]), curve)
    if rounding > COARSE:
        found += (f"the numbers are rounded to {2.0 * rounding:.2g} of the chord: give more digits",)
    if compared:
        found += known_but(loop, curve.at(arc_length(curve)[0]), rounding, (title, name))
    return Section(title, xy, origin, tuple(repairs), rounding, found)


def read_section(path: Path | str) -> Section:
    """Read a coordinate file.

    Taken as they are: one loop from the tail (or the nose) in either direction, or upper and lower side one
    after the other, with or without their point counts; commas, tabs, semicolons, decimal commas; unit chord,
    per cent, or any other length. `Section.repairs` lists what had to be put right.

    Raises
    ------
    CoordinateFileError
        The file cannot be read or repaired: one line that says where and what to do.
    """
    return section_from_text(*_text_of(path))


def read_bundled(path: Path) -> Section:
    """As `read_section`, for a file of the package or the collection: not held against known sections."""
    return section_from_text(*_text_of(path), compared=False)


def _text_of(path: Path | str) -> tuple[str, str, str]:
    path = Path(path)
    data = plain_bytes(path, MOST_BYTES, "a coordinate file", CoordinateFileError)
    return decode(data, str(path)), path.stem, str(path)
