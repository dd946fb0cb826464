"""Coordinate files written."""

from pathlib import Path

from wingtool.files import write_text
from wingtool.geometry.shape import Section


def section_text(section: Section) -> str:
    """A section as the trade's plain text: title, origin, one loop from the tail, unit chord."""
    rows = "\n".join(f"{x: .8f} {y: .8f}" for x, y in section.xy)
    title = " ".join(section.name.split()) or "section"
    origin = " ".join(section.origin.split())
    sentence = f"# origin: {origin}\n" if origin else ""
    sentence += f"# rounding: {section.rounding:.3g}\n" if section.rounding > 5e-9 else ""
    return f"{title}\n{sentence}{rows}\n"


def write_section(section: Section, path: Path | str) -> Path:
    """Write a coordinate file that `read_section` reads back to 1e-8 chord; returns its path.

    Raises
    ------
    OutputError
        The file cannot be written.
    """
    return write_text(path, section_text(section))
