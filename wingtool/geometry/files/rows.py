"""Text of a coordinate file to rows of two numbers, each with its line number. Knows nothing of shapes."""

import re
from dataclasses import dataclass

import numpy as np

from wingtool.errors import CoordinateFileError
from wingtool.text_table import decoded, has_decimal_comma

MOST_BYTES = 2_000_000
MOST_POINTS = 4000
LONGEST_LINE = 2000  # characters
LARGEST = 1e6  # no outline in any unit in use is larger

# Linear in the length of a line: \d+\.?\d* would be quadratic.
NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eEdD][+-]?\d+)?")
COMMA_NUMBER = re.compile(r"[+-]?(\d+(,\d*)?|,\d+)([eEdD][+-]?\d+)?")
DECIMAL = re.compile(r",?(?:[;\s]+|$)")  # between columns where commas are decimal: also a comma and a space
ANY = re.compile(r"[,;\s]+")
COMMA_OUTSIDE = re.compile(r'("[^"]*")|,')
COMMENT = re.compile(r"(^|\s)(#|!|%|//|\*).*")
TOLD = re.compile(r"\s*[#!%]\s*(origin|rounding):\s*(.+)", re.IGNORECASE)
PLAIN = str.maketrans("\u2212\u2013\u00a0", "-- ")
NO_VALUE = re.compile(r"[.\-*_]{1,}")
LETTERS = re.compile(r"[^\W\d_]")
NOT_FINITE = re.compile(r"[+-]?(nan|inf|infinity)", re.IGNORECASE)


@dataclass(frozen=True, eq=False)
class Rows:
    """What a coordinate file holds.

    Parameters
    ----------
    title : str
        First line of text or comment above the points, or empty.
    first : str
        The text of the first line of numbers.
    origin : str
        What stands behind ``# origin:``, or empty.
    rounding : float or None
        What stands behind ``# rounding:``, which ``write_section`` leaves; over the chord.
    xy : ndarray, shape (n, 2)
        The pairs of numbers in the order of the file.
    lines : ndarray of int, shape (n,)
        Line number of each pair.
    breaks : tuple of int
        Indices of pairs in front of which a blank line or a line of text stands.
    repairs : tuple of str
        What had to be put right.
    """

    title: str
    first: str
    origin: str
    rounding: float | None
    xy: np.ndarray
    lines: np.ndarray
    breaks: tuple[int, ...]
    repairs: tuple[str, ...]


def decode(data: bytes, source: str) -> str:
    """Text of a file.

    Raises
    ------
    CoordinateFileError
        Empty or binary.
    """
    text = decoded(data)
    if text is None or not text.strip():
        fault = "not a text file" if text is None else "the file is empty"
        raise CoordinateFileError(f"{source}: {fault}; give a text file with two columns, x and y")
    return text


def _cells(line: str) -> list[str]:
    """What stands between a line's commas, those inside quotes apart."""
    return COMMA_OUTSIDE.sub(lambda found: found[1] or "\n", line).split("\n")


def _is_quoted(line: str) -> bool:
    """Numbers parted by commas, and a comma in one of them too: quotes stand about it."""
    numbers = [cell.strip(' \t";') for cell in _cells(line)]
    numbers = [number for number in numbers if number]
    inside = any("," in number for number in numbers)
    return inside and len(numbers) > 1 and all(COMMA_NUMBER.fullmatch(number) for number in numbers)


def _apart(lines: list[str]) -> list[str]:
    """Lines with semicolons between columns where quotes tell those commas from the decimal ones."""
    if not any('"' in line and _is_quoted(line) for line in lines):
        return lines
    return [";".join(_cells(line)) for line in lines]


def _is_decimal_comma(lines: list[str]) -> bool:
    """Numbers written 0,95, in columns parted by something else."""
    numeric = [line for line in lines if line and not LETTERS.search(line.replace("e", "").replace("E", ""))]
    columns = [_split(line, DECIMAL) for line in numeric]
    return has_decimal_comma(cell for row in columns if len(row) > 1 for cell in row)


def _clean(line: str) -> str:
    return COMMENT.sub("", line.replace('"', " ")).strip()


def _split(line: str, between: re.Pattern[str]) -> list[str]:
    return [token for token in between.split(line) if token]


def _tokens(line: str, decimal_comma: bool) -> list[str]:
    tokens = _split(line, DECIMAL if decimal_comma else ANY)
    return [token.replace(",", ".") for token in tokens] if decimal_comma else tokens


def _value(token: str, source: str) -> float:
    number = float(token.lower().replace("d", "e"))
    if abs(number) > LARGEST:
        raise CoordinateFileError(f"{source}: {token[:20]} is no coordinate; correct or delete the line")
    return number


def _pair(tokens: list[str], source: str, repairs: list[str]) -> tuple[float, ...] | None:
    """Numbers of one line; None for a line of text; an error for a line that is nearly numbers."""
    bare = [token.strip("()[]") for token in tokens]
    if all(NUMBER.fullmatch(token) for token in bare):
        if bare != tokens:
            repairs.append(f"{source}: brackets round a number left out")
        return tuple(_value(token, source) for token in bare)
    if any(NOT_FINITE.fullmatch(token) for token in bare) and len(bare) <= 3:
        raise CoordinateFileError(f"{source}: '{' '.join(tokens)}' is no point; correct or delete the line")
    if NUMBER.fullmatch(bare[0]) and len(bare) == 2:
        if NO_VALUE.fullmatch(bare[1]):
            repairs.append(f"{source}: '{' '.join(tokens)}' has no second number, passed over")
            return None
        raise CoordinateFileError(f"{source}: '{bare[1][:20]}' is no number; correct or delete the line")
    return None


def _columns(found: list[tuple[int, tuple[float, ...]]], source: str, repairs: list[str]):
    """Pairs from lines of three numbers: a counter or a constant left out, or x with both ordinates."""
    widths = [len(values) for _, values in found]
    if widths[:1] == [2] and set(widths[1:]) == {3}:  # the points of each side above them
        return found[:1] + _columns(found[1:], source, repairs)
    if set(widths) != {3}:
        return found
    table = np.array([values for _, values in found])
    if np.all(np.diff(table[:, 0]) == 1.0):
        repairs.append("first column is a counter, passed over")
        return [(line, values[1:]) for line, values in found]
    flat = np.flatnonzero(np.ptp(table, axis=0) == 0.0)
    if len(flat) == 1:
        repairs.append(f"{('first', 'second', 'third')[flat[0]]} column is constant, passed over")
        return [(line, tuple(np.delete(values, flat[0]))) for line, values in found]
    steps, between = np.diff(table[:, 0]), table[:, 1] - table[:, 2]
    if (
        len(steps) > 2
        and abs(np.sign(steps).sum()) == len(steps)
        and (between.min() >= 0 or between.max() <= 0)
    ):
        repairs.append("three columns read as station, first and second surface")
        first = [(line, values[:2]) for line, values in found]
        return first + [(line, (values[0], values[2])) for line, values in found]
    raise CoordinateFileError(f"{source}, line {found[0][0]}: three numbers in a line; leave only x and y")


def _numeric_lines(raw: list[str], decimal_comma: bool, source: str):
    """Lines of numbers with what they hold, numbers of the other lines, of those with text, and notes."""
    notes: list[str] = []
    found: list[tuple[int, tuple[float, ...]]] = []
    gaps: list[int] = []
    texts: list[int] = []
    for number, line in enumerate(raw, 1):
        tokens = _tokens(line, decimal_comma)
        values = _pair(tokens, f"{source}, line {number}", notes) if tokens else None
        if values is None:
            gaps.append(number)
            texts += [number] if tokens else []
        else:
            found.append((number, values))
    return found, gaps, texts, [note.removeprefix(f"{source}, ") for note in notes]


def _either_way(values: tuple[float, ...], line: str) -> str:
    """The way out of a line such as 0,5,0,03, that may be two numbers or four."""
    if len(values) not in (3, 4) or "," not in line or "." in line:
        return ""
    return "if the commas are decimal, put semicolons between the columns"


def _without_heading(found, first_text: int):
    """Leave out single lines of one, four or more numbers above the points: names, counts, plot limits."""
    heading = []
    while len(found) > 2 and len(found[0][1]) not in (2, 3) and len(found[1][1]) != len(found[0][1]):
        heading.append(found[0][0])
        found = found[1:]
    titles = [line for line in [first_text, *heading] if line and (not found or line < found[0][0])]
    return found, heading, min(titles, default=0)


def split_rows(text: str, source: str) -> Rows:
    """Rows of a coordinate file.

    Text above, between and below the points is allowed, and so are comments; a line that is nearly a point
    is an error, so that none is lost.

    Raises
    ------
    CoordinateFileError
        A malformed line, with its number; too many lines.
    """
    written = re.split(r"\r\n|\r|\n", text)
    if long := next((n for n, line in enumerate(written, 1) if len(line) > LONGEST_LINE), 0):
        raise CoordinateFileError(f"{source}, line {long}: too long for a point; give one point a line")
    raw = [_clean(line) for line in _apart([line.translate(PLAIN) for line in written])]
    decimal_comma = _is_decimal_comma(raw)
    repairs = ["decimal commas read as points"] if decimal_comma else []
    found, gaps, texts, notes = _numeric_lines(raw, decimal_comma, source)
    worded = [n for n, line in enumerate(written, 1) if LETTERS.search(line) and not TOLD.match(line)]
    found, heading, title_line = _without_heading(found, min(worded, default=0))
    above = [n for n in heading if n != title_line]
    repairs += [f"line {n}: '{raw[n - 1][:40]}' above the points passed over" for n in above]
    found = _columns(found, source, repairs)
    for line, values in found:
        if len(values) != 2:
            way_out = _either_way(values, raw[line - 1]) or "correct or delete the line"
            raise CoordinateFileError(
                f"{source}, line {line}: {len(values)} numbers where x and y are needed; {way_out}"
            )
    if len(found) > MOST_POINTS:
        raise CoordinateFileError(f"{source}: {len(found)} points; thin them out to {MOST_POINTS} or fewer")
    lines = np.array([line for line, _ in found], dtype=int)
    inside = [n for n in texts if len(lines) and lines[0] < n < lines[-1] and LETTERS.search(raw[n - 1])]
    repairs += notes
    repairs += [f"line {n}: text between the points passed over: '{raw[n - 1][:40]}'" for n in inside]
    sentences = {match[1].lower(): match[2].strip() for line in written if (match := TOLD.match(line))}
    rounding = sentences.get("rounding", "")
    return Rows(
        title=written[title_line - 1].strip(' \t#!%*"') if title_line else "",
        first=raw[lines[0] - 1][:40] if len(lines) else "",
        origin=sentences.get("origin", ""),
        rounding=min(float(rounding), 0.01) if NUMBER.fullmatch(rounding) else None,
        xy=np.array([values for _, values in found], dtype=float).reshape(-1, 2),
        lines=lines,
        breaks=tuple(sorted({int(np.searchsorted(lines, n)) for n in gaps} - {0, len(lines)})),
        repairs=tuple(repairs),
    )
