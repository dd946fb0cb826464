"""Tables of numbers in text as people bring them: encoding, delimiter, decimal comma, found out."""

import re
from collections.abc import Iterable, Sequence

DELIMITERS = {";": "semicolon", "\t": "tab", ",": "comma", "|": "bar"}
SAMPLE_ROWS = 200
NUMBER = re.compile(r"[-+]?(\d+([.,]\d*)?|[.,]\d+)([eE][-+]?\d+)?")
NO_VALUE = {"", "-", "nan", "n/a"}
BINARY = re.compile(r"[\x00-\x08\x0e-\x19\x1b-\x1f]")


def decoded(data: bytes) -> str | None:
    """Text of a file, UTF-8, UTF-16 with its mark, or Western European single bytes; None for binary data.

    Examples
    --------
    >>> decoded("Höhe".encode("cp1252")), decoded(bytes([137, 80, 78, 71, 0, 1]))
    ('Höhe', None)
    """
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        text = data.decode("utf-16", errors="replace")
    else:
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = data.decode("cp1252", errors="replace")
    return None if BINARY.search(text) else text.replace("\x1a", "")


def delimiter(lines: Sequence[str]) -> str:
    """The sign that cuts most of the last rows into the same number of cells; a space if none does."""
    best, best_share = " ", 0.0
    sample = lines[-SAMPLE_ROWS:]
    for sign in DELIMITERS:
        counts = [line.count(sign) for line in sample]
        common = max(set(counts), key=counts.count)
        share = counts.count(common) / len(sample) if common else 0.0
        if share > best_share + 1e-9:
            best, best_share = sign, share
    return best


def has_decimal_comma(cells: Iterable[str]) -> bool:
    """Whether more cells are written 0,95 than hold a point.

    Examples
    --------
    >>> has_decimal_comma(["0,95", "1", "abc"]), has_decimal_comma(["0.95", "1"])
    (True, False)
    """
    cells = list(cells)
    commas = sum(bool(re.fullmatch(r"[-+]?\d*,\d+([eEdD][-+]?\d+)?", cell)) for cell in cells)
    return commas > sum("." in cell for cell in cells)


def number(cell: str) -> float | None:
    """The number in a cell, its comma decimal; nan for an empty cell, None for text."""
    if cell.strip().lower() in NO_VALUE:
        return float("nan")
    return float(cell.replace(",", ".")) if NUMBER.fullmatch(cell.strip()) else None
