"""Coordinate files as they are found to a `Section`: repaired where safe, else refused in one line."""

from pathlib import Path

from wingtool.errors import CoordinateFileError
from wingtool.files import plain_bytes
from wingtool.geometry.curve import smooth_curve
from wingtool.geometry.files.arrange import arrange
from wingtool.geometry.files.checks import complaint, complaint_between, doubts
from wingtool.geometry.files.rows import MOST_BYTES, decode, split_rows
from wingtool.geometry.frame import on_chord_line
from wingtool.geometry.shape import Section


def section_from_text(text: str, name: str, source: str) -> Section:
    """Section from the text of a coordinate file.

    Parameters
    ----------
    text : str
        Lines of x and y; text above, between and below them is allowed.
    name : str
        What to call it when the text has no title.
    source : str
        Where the text comes from, for messages.

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
    return Section(title, xy, origin, tuple(repairs), rounding, doubts(loop, curve))


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
    path = Path(path)
    return section_from_text(
        decode(plain_bytes(path, MOST_BYTES, "a coordinate file", CoordinateFileError), str(path)),
        path.stem,
        str(path),
    )
