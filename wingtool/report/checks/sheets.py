"""Test sheets: how to measure on a closed course, and a blank run sheet for the log."""

from wingtool.files import toml_beside

_WORDS = toml_beside(__file__, "../templates/test_sheets.toml")
SHEETS: dict[str, list[str]] = _WORDS["tests"]


def sheet_lines(test: str) -> list[str]:
    """The sheet of one test, the safety line first and last the blank run sheet."""
    steps = [f"{number}. {text}" for number, text in enumerate(SHEETS[test], start=1)]
    blank = _WORDS["blank"]["taps" if test == "taps" else "run"]
    return [_WORDS["first"], "", f"Test sheet: {test}", *steps, "", *"\n".join(blank).splitlines()]
