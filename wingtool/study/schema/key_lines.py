"""Where in a TOML file a key stands: the standard reader gives values only, a message wants the line."""

import re
from collections.abc import Mapping
from typing import Any

Place = tuple[str | int, ...]
_KEY = r"""(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')"""
_DOTTED = rf"{_KEY}(?:\s*\.\s*{_KEY})*"
_HEADER = re.compile(rf"^\s*(\[\[?)\s*({_DOTTED})\s*\]")
NOT_ANSWERED = "# not answered: usual value"
_ASSIGNMENT = re.compile(rf"^\s*({_DOTTED})\s*=")


def lines_of_keys(text: str) -> dict[Place, int]:
    """Line number (from 1) of every key and table header, by its path; tables of an array carry their index.

    Examples
    --------
    >>> lines_of_keys('[wing]\\nspan = "1 m"\\nheight = "1 m"')["wing", "height"]
    3
    """
    lines: dict[Place, int] = {}
    counts: dict[Place, int] = {}
    table: Place = ()
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            table = _resolved(_parts(header[2]), counts)
            if header[1] == "[[":
                counts[table] = counts.get(table, -1) + 1
                lines.setdefault(table, number)
                table = (*table, counts[table])
            lines.setdefault(table, number)
        elif assignment := _ASSIGNMENT.match(line):
            lines.setdefault((*table, *_parts(assignment[1])), number)
    return lines


def not_answered(text: str) -> tuple[str, ...]:
    """The keys whose line says by its comment that nobody gave the value, as `wingtool begin` writes it.

    Examples
    --------
    >>> not_answered('[car]\\nwheelbase = "2.5 m"  # not answered: usual value')
    ('car.wheelbase',)
    """
    lines, places = text.splitlines(), lines_of_keys(text).items()
    return tuple(".".join(map(str, place)) for place, row in places if lines[row - 1].endswith(NOT_ANSWERED))


def values_by_place(data: Mapping[str, Any], front: tuple[str, ...] = ()) -> dict[tuple[str, ...], Any]:
    """Every value of a study's data, tables themselves and those in them, by its place.

    Examples
    --------
    >>> values_by_place({"wing": {"span": "1 m"}})
    {('wing',): {'span': '1 m'}, ('wing', 'span'): '1 m'}
    """
    found: dict[tuple[str, ...], Any] = {}
    for key, value in data.items():
        found[*front, key] = value
        found |= values_by_place(value, (*front, key)) if isinstance(value, dict) else {}
    return found


def line_of(place: Place, lines: dict[Place, int]) -> int | None:
    """Line of a place, or of the nearest table around it."""
    while place:
        if place in lines:
            return lines[place]
        place = place[:-1]
    return None


def _parts(dotted: str) -> Place:
    return tuple(part.strip("\"'") for part in re.findall(_KEY, dotted))


def _resolved(parts: Place, counts: dict[Place, int]) -> Place:
    place: Place = ()
    for part in parts[:-1]:
        place = (*place, part)
        if place in counts:
            place = (*place, counts[place])
    return (*place, parts[-1])
