"""Test sheets: how to measure on a closed course, and a blank run sheet for the log."""

import tomllib
from pathlib import Path

_WORDS = tomllib.loads(
    (Path(__file__).parent.parent / "templates" / "test_sheets.toml").read_text(encoding="utf-8")
)
SHEETS: dict[str, list[str]] = _WORDS["tests"]


def sheet_lines(test: str) -> list[str]:
    """The sheet of one test, the safety line first and last the blank run sheet."""
    steps = [f"{number}. {text}" for number, text in enumerate(SHEETS[test], start=1)]
    blank = _WORDS["blank"]["taps" if test == "taps" else "run"]
    return [_WORDS["first"], "", f"Test sheet: {test}", *steps, "", *blank]
