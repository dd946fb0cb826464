"""`wingtool match`: known sections like the one asked for."""

from dataclasses import dataclass

from wingtool.geometry import Section, find_section
from wingtool.study.flags import check_within
from wingtool.tracing import Match, load_index, nearest

MOST = 50


@dataclass(frozen=True, eq=False)
class MatchResult:
    """The section asked for, the nearest known ones, and how many were compared."""

    section: Section
    matches: tuple[Match, ...]
    compared: int


def match_section(text: str, count: int = 8) -> MatchResult:
    """The sections of the open collection most like one.

    Parameters
    ----------
    text : str
        Coordinate file, designation, or name.
    count : int
        How many, 1 to 50.

    Raises
    ------
    WingtoolError
        An unknown section, a count out of range, or a cache folder that cannot be written.
    """
    check_within(count, 1, MOST, "--count")
    section = find_section(text)
    index = load_index()
    return MatchResult(section, nearest(section, index, count), len(index.names))
