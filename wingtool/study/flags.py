"""Checks of what a command line says; messages name the flag."""

from collections.abc import Iterable

from wingtool.errors import StudyError


def check_known(value: str, known: Iterable[str], flag: str) -> None:
    """Refuse a word that is not one of the known ones, with StudyError."""
    if value not in known:
        raise StudyError(f"{flag}: {value!r} is unknown; choose one of {', '.join(known)}")


def check_within(value: float, low: float, high: float, flag: str, unit: str = "") -> None:
    """Refuse a number outside low to high, with StudyError."""
    if not low <= value <= high:
        raise StudyError(f"{flag}: {value:g} is outside {low:g} to {high:g} {unit}".rstrip() + "; correct it")
