"""One section looked at: what `wingtool inspect` computes."""

from dataclasses import dataclass
from pathlib import Path

from wingtool.errors import OutputError
from wingtool.geometry import Measures, Section, find_section, measure, repanel, write_section
from wingtool.units import quantity

DRAWN_PANELS = 400


@dataclass(frozen=True, eq=False)
class Inspection:
    """A section with its measures.

    Parameters
    ----------
    section : Section
        The points as they were found, with what had to be repaired.
    smooth : Section
        The same outline with evenly graded points, for drawing and cutting.
    measures : Measures
    chord_m : float or None
        Chord of the wing or rib [m], if it was told.
    """

    section: Section
    smooth: Section
    measures: Measures
    chord_m: float | None = None


def inspect_section(section: str, chord: str | None = None) -> Inspection:
    """Look at a section from the words of a command line.

    Parameters
    ----------
    section : str
        Coordinate file, designation, or name in a collection.
    chord : str, optional
        Chord with its unit, for lengths in millimetres and for a template.

    Raises
    ------
    WingtoolError
        An unknown or broken section, or a chord without a unit.
    """
    chord_m = None if chord is None else quantity(chord, "length", "--chord")
    found = find_section(section)
    return Inspection(found, repanel(found, DRAWN_PANELS), measure(found), chord_m)


def write_coordinates(inspection: Inspection, path: Path | str) -> Path:
    """Write the section's points, repaired and in unit chord, as a coordinate file.

    Raises
    ------
    OutputError
        Another ending than .dat or .txt, or a place that cannot be written.
    """
    if Path(path).suffix.lower() not in (".dat", ".txt"):
        raise OutputError(f"{path}: no name of a coordinate file; end it in .dat or .txt")
    return write_section(inspection.section, path)
