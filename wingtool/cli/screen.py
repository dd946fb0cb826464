"""What every command prints alike: aligned tables with few figures, and the word on trust."""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from textwrap import TextWrapper, wrap
from typing import Any
from unicodedata import category

import typer

MACHINE_NOUGHT = 1e-7
LINES, COLUMNS = 24, 80  # of the screen
FEWEST_COLUMNS = 10  # that a table's last column keeps
NOT_TRUSTWORTHY = 3


def show(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    """Print a table: numbers to the right; the last column to the left, wrapped to the screen's width."""
    cells = [[printable(str(cell)) for cell in row] for row in (headings, *rows)]
    widths = [max(len(row[i]) for row in cells) for i in range(len(headings))]
    margin = sum(widths[:-1]) + 2 * len(widths[:-1])
    for row in cells:
        aligned = [text.rjust(width) for text, width in zip(row[:-1], widths, strict=False)]
        last = ("\n" + " " * margin).join(wrap(row[-1], max(COLUMNS - margin, FEWEST_COLUMNS)))
        typer.echo("  ".join([*aligned, last]).rstrip())


def figures(value: float, digits: int = 3) -> str:
    """A number to few significant figures, never in powers of ten; a dash where there is none.

    What is left of a zero by rounding in the machine is shown as zero.

    Examples
    --------
    >>> figures(1234.5), figures(0.012345, 2), figures(float("nan")), figures(-2e-10)
    ('1230', '0.012', '-', '0')
    """
    if value != value:
        return "-"
    if abs(value) <= MACHINE_NOUGHT:
        return "0"
    return f"{Decimal(f'{value:.{digits - 1}e}'):f}"


def printable(text: str) -> str:
    """Text without control characters, which would steer the terminal.

    Examples
    --------
    >>> printable("a\x1b[31mb")
    'a?[31mb'
    """
    return "".join("?" if category(letter) in ("Cc", "Cs") else letter for letter in text)


def wrapped(text: str) -> list[str]:
    """A sentence as lines of 80 columns; a longer path stays whole, so that it can be copied."""
    hang = " " * (len(text) - len(text.lstrip()) + 2)
    whole = TextWrapper(COLUMNS, subsequent_indent=hang, break_long_words=False, break_on_hyphens=False)
    return whole.wrap(printable(text)) or [""]


def echo_wrapped(*texts: str) -> None:
    """Print sentences on lines of 80 columns."""
    for text in texts:
        typer.echo("\n".join(wrapped(text)))


def echo_unknown_section(*studies: Any) -> bool:
    """Say whose section stands in for one that nobody has traced; whether any does."""
    from wingtool.study import section_unknown

    doubts = dict.fromkeys(doubt for study in studies for doubt in section_unknown(study))
    echo_wrapped(*(f"NOT TRUSTWORTHY: {doubt}." for doubt in doubts))
    return bool(doubts)


def echo_written(paths: Iterable[object]) -> None:
    """Print which files were written."""
    for path in paths:
        typer.echo(f"wrote {printable(str(path))}")


def leave(statuses: Iterable[str], doubtful_input: bool = False) -> None:
    """End with exit code 3 when some rows cannot be trusted, said in a sentence, or what went in cannot."""
    from wingtool.study import SOUND

    statuses = list(statuses)
    doubtful = [status for status in statuses if status not in SOUND]
    if doubtful:
        commonest = max(set(doubtful), key=doubtful.count)
        echo_wrapped(f"Not trustworthy: {len(doubtful)} of {len(statuses)} rows (most often: {commonest}).")
    if doubtful or doubtful_input:
        raise typer.Exit(NOT_TRUSTWORTHY)
