"""Delimited text from a logger: delimiter, decimal sign, headings, units and time, with a note on each."""

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from wingtool.errors import LogError
from wingtool.files import words_beside
from wingtool.text_table import DELIMITERS, NUMBER, SAMPLE_ROWS, decoded, delimiter, has_decimal_comma
from wingtool.track.log import OFF_WORDS, ON_WORDS, Log, local_xy_m, speed_from_position
from wingtool.track.reading.columns import KIND, UNITS, Heading, heading
from wingtool.track.reading.speed_unit import doubt_of_unit, unit_by_position

WORDS = words_beside(__file__, "csv")
_CLOCK = re.compile(r"(?:.*[ T])?(\d{1,3}):(\d{1,2})(?::(\d{1,2}(?:[.,]\d+)?))?(?:Z|[-+]\d\d:?\d\d)?")
MOST_COLUMNS = 1000
LONGEST_CELL = 100_000
SUFFIX = {"speed": "_m_s", "acceleration": "_m_s2", "angle": "_deg", "length": "_m", "force": "_n"}


def read_csv(path: Path, units: Mapping[str, str]) -> Log:
    """Read delimited text.

    Raises
    ------
    LogError
        No heading row, no time, a needed unit missing, fewer than ten rows.
    """
    lines = _lines(path)
    sign = delimiter(lines)
    rows = _cells(path, lines, sign)
    top, has_units = _heading_row(rows, path)
    notes = [f"{path.name}: {DELIMITERS[sign]} between cells, headings in row {top + 1}"]
    width = len(rows[top])
    below = _padded(rows[top + 1] if has_units else [], width)
    headings = [_with_unit(heading(*both), units) for both in zip(rows[top], below, strict=True)]
    body = _sound_rows(rows[top + 1 + has_units :], width, notes)
    if len(body) < 10:
        raise LogError(f"{path}: only {len(body)} rows of readings below the headings; give the whole log")
    comma = has_decimal_comma(cell for row in body[:SAMPLE_ROWS] for cell in row)
    notes.append(f"decimal {'comma' if comma else 'point'}")
    columns = list(zip(*body, strict=True))
    if comma:
        columns = [tuple(cell.replace(",", ".") for cell in column) for column in columns]
    return _assemble(path, headings, columns, notes)


def _lines(path: Path) -> list[str]:
    text = decoded(path.read_bytes())
    if text is None:
        raise LogError(f"{path}: binary, not text; export the log as CSV")
    lines = [line for line in text.splitlines() if line.strip()]
    if not lines:
        raise LogError(f"{path}: the file is empty; give the exported log")
    return lines


def _cells(path: Path, lines: list[str], sign: str) -> list[list[str]]:
    try:
        rows = [[cell.strip() for cell in row] for row in csv.reader(lines, delimiter=sign)]
        # the module's own limit is one for the process, and other libraries lift it
        closed = max(map(len, rows[-1])) <= LONGEST_CELL
    except csv.Error:
        closed = False
    if not closed:
        raise LogError(f"{path}: a quotation mark is not closed; export the log anew")
    if (width := max(map(len, rows))) > MOST_COLUMNS:
        raise LogError(f"{path}: {width} columns, {MOST_COLUMNS} are the most; export fewer channels")
    return rows


def _heading_row(rows: list[list[str]], path: Path) -> tuple[int, int]:
    """Index of the heading row, and 1 if a row of units follows it."""
    for i, row in enumerate(rows[:60]):
        named = [heading(cell).quantity for cell in row]
        if "time" in named and sum(name is not None for name in named) >= 2:
            following = rows[i + 1] if i + 1 < len(rows) else []
            words = [cell for cell in following if cell]
            number = [bool(NUMBER.fullmatch(c) or _CLOCK.fullmatch(c)) for c in words]
            return i, int(bool(words) and not any(number))
    raise LogError(WORDS["no_headings"].format(path))


def _padded(row: list[str], width: int) -> list[str]:
    return (row + [""] * width)[:width]


def _with_unit(head: Heading, units: Mapping[str, str]) -> Heading:
    if head.quantity is None or head.unit or head.quantity not in units:
        return head
    unit, known = units[head.quantity].lower(), UNITS.get(KIND[head.quantity], {})
    if unit not in known:
        raise LogError(WORDS["unknown_unit"].format(unit, head.quantity, ", ".join(known)))
    return replace(head, unit=unit, factor=known[unit])


def _sound_rows(rows: list[list[str]], width: int, notes: list[str]) -> list[list[str]]:
    """Rows with as many cells as headings (empty cells at the end may be missing); a note counts others."""
    least = max(width - 2, 2)
    sound = [row for row in rows if len(row) == width or (len(row) >= least and not any(row[width:]))]
    if odd := len(rows) - len(sound):
        notes.append(f"{odd} of {len(rows)} rows have the wrong number of cells and are left out")
    return [row if len(row) == width else _padded(row, width) for row in sound]


def _numbers(cells: Sequence[str]) -> np.ndarray:
    """Cells as floats; nan where a cell is no number."""
    try:
        return np.array(cells).astype(float)
    except ValueError:
        return np.array([float(c) if NUMBER.fullmatch(c) else np.nan for c in cells])


def _assemble(path: Path, headings: list[Heading], columns: Sequence[Sequence[str]], notes: list[str]) -> Log:
    quantities = [head.quantity for head in headings]
    index = quantities.index("time")
    time, clock = _time(path, headings[index], columns[index], notes)
    keep = _rising(path, time, notes)
    channels: dict[str, np.ndarray] = {}
    words: dict[str, np.ndarray] = {}
    for head, cells in zip(headings, columns, strict=True):
        if head.quantity in (None, "time"):
            continue
        if head.quantity in ("parts", "direction"):
            words[head.quantity] = _words(head.quantity, cells)[keep]
            notes.append(f"{head.text}: {head.quantity}")
        elif np.isfinite(head.factor):
            _add(channels, head, (_numbers(cells) * head.factor)[keep], notes)
        elif head.quantity == "speed" and {"latitude", "longitude"} <= set(quantities):
            notes.append(f"{head.text}: no unit; found from the positions")
            channels["unknown_speed"] = _numbers(cells)[keep]
        elif head.quantity == "speed":
            raise LogError(WORDS["no_unit"].format(path, head.text))
        else:
            why = f"unit {head.unit} not known" if head.unit else "no unit"
            notes.append(f"{head.text}: left out, {why}")
    unknown = [head.text for head in headings if head.quantity is None]
    if unknown:
        notes.append(f"not used: {', '.join(unknown[:12])}" + (" and more" if len(unknown) > 12 else ""))
    time_s = time[keep] - time[keep][0]
    channels = {name: _filled(name, values, time_s, notes) for name, values in channels.items()}
    log = Log(path.name, time_s, _joined(channels), words, tuple(notes + [clock] if clock else notes))
    log = _with_speed(log)
    named = next((head for head in headings if head.quantity == "speed" and np.isfinite(head.factor)), None)
    doubt = doubt_of_unit(log, named) if named else ""
    return replace(log, understood=(*log.understood, doubt)) if doubt else log


def _time(path: Path, head: Heading, cells: Sequence[str], notes: list[str]) -> tuple[np.ndarray, str]:
    first = next((cell for cell in cells if cell), "")
    if ":" in first:
        notes.append(f"{head.text}: clock time")
        return _clock(cells), ""
    values = _numbers(cells)
    if np.isfinite(head.factor):
        notes.append(f"{head.text}: time in {head.unit}")
        return values * head.factor, ""
    step = float(np.nanmedian(np.diff(values)))
    if not step > 0.0:
        raise LogError(f"{path}: column {head.text!r} does not rise; give the log in the order of time")
    factor, unit = (1.0, "s") if step <= 5.0 else (1e-3, "ms")
    notes.append(f"{head.text}: no unit, taken as {unit} because its steps are {step:.3g}")
    return values * factor, ""


def _clock(cells: Sequence[str]) -> np.ndarray:
    """hh:mm:ss, mm:ss or a date with such a time, as seconds; past midnight it goes on."""
    seconds = np.full(len(cells), np.nan)
    for i, cell in enumerate(cells):
        if match := _CLOCK.fullmatch(cell):
            a, b, c = match.groups()
            minutes = int(a) * 60 + int(b)
            seconds[i] = minutes if c is None else 60 * minutes + float(c.replace(",", "."))
    jumps = np.r_[0.0, np.diff(seconds)]
    return seconds + 86400.0 * np.cumsum(np.nan_to_num(jumps) < -43200.0)


def _rising(path: Path, time: np.ndarray, notes: list[str]) -> np.ndarray:
    """Rows whose time is a number and later than all before; a note counts the others."""
    known = np.where(np.isfinite(time), time, -np.inf)
    highest = np.maximum.accumulate(np.r_[-np.inf, known[:-1]])
    keep = known > highest
    if not keep.all():
        notes.append(f"{int(np.sum(~keep))} rows repeat or go back in time and are left out")
    if keep.sum() < 10:
        raise LogError(f"{path}: fewer than ten rows whose time rises; give the log in the order of time")
    steps = np.diff(time[keep])
    step = float(np.median(steps))
    notes.append(WORDS["rows"].format(keep.sum(), 1 / step, np.ptp(time[keep]) / 60))
    gaps = int(np.sum(steps > max(5 * step, 1.0)))
    if gaps:
        notes.append(f"{gaps} gaps in time")
    return keep


def _words(quantity: str, cells: Sequence[str]) -> np.ndarray:
    lower = [cell.lower() for cell in cells]
    if quantity == "direction":
        return np.array(lower)
    return np.array(["on" if c in ON_WORDS else "off" if c in OFF_WORDS else "" for c in lower])


def _add(channels: dict[str, np.ndarray], head: Heading, values: np.ndarray, notes: list[str]) -> None:
    quantity = head.quantity or ""
    name = quantity.replace("cell_drag", "cells_drag") + SUFFIX.get(KIND[quantity], "")
    if quantity == "cell":
        name = f"cell {len([n for n in channels if n.startswith('cell ')])}"
    elif name in channels:
        notes.append(f"{head.text}: left out, a second {head.quantity}")
        return
    channels[name] = values
    notes.append(f"{head.text}: {head.quantity}" + (f" in {head.unit}" if head.unit else ""))


def _filled(name: str, values: np.ndarray, time_s: np.ndarray, notes: list[str]) -> np.ndarray:
    """Empty cells between two readings at most 1.5 s apart are filled on a straight line, with a note.

    A slow sensor in a fast log leaves such cells; whatever is further from its readings stays nan.
    """
    known = np.flatnonzero(np.isfinite(values))
    if known.size in (0, len(values)):
        return values
    after = np.minimum(np.searchsorted(known, np.arange(len(values))), known.size - 1)
    before = np.maximum(after - 1, 0)
    inside = time_s[known[after]] - time_s[known[before]] <= 1.5
    line = np.interp(time_s, time_s[known], values[known], left=np.nan, right=np.nan)
    filled = np.where(np.isfinite(values), values, np.where(inside, line, np.nan))
    left = int(np.sum(~np.isfinite(filled)))
    done = len(values) - known.size - left
    notes.append(
        f"{name}: {done + left} empty or unreadable cells"
        + f", {done} filled between near readings" * (done > 0)
        + f", {left} left empty, over 1.5 s from reading to reading" * (left > 0)
    )
    return filled


def _joined(channels: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Left and right travel become their mean, load cells their sum."""
    cells = [values for name, values in channels.items() if name.startswith("cell ")]
    joined = {name: values for name, values in channels.items() if not name.startswith("cell ")}
    if cells:
        joined["cells_n"] = np.sum(cells, axis=0)
    for axle in ("front", "rear"):
        sides = [joined.pop(f"travel_{axle}_{side}_m", None) for side in ("left", "right")]
        if sides[0] is not None and sides[1] is not None:
            joined[f"travel_{axle}_m"] = (sides[0] + sides[1]) / 2
    return joined


def _with_speed(log: Log) -> Log:
    """Speed from position when none is logged, or the unit of a logged one by holding it against position."""
    channels, notes = dict(log.channels), list(log.understood)
    xy, raw = local_xy_m(log), channels.pop("unknown_speed", None)
    if xy is not None and "speed_m_s" not in channels:
        channels["speed_m_s"] = speed = speed_from_position(log.time_s, *xy)
        if raw is None:
            notes.append("speed from the positions")
        else:
            channels["speed_m_s"] = raw * unit_by_position(raw, speed, log.source, notes)
    return _moving(replace(log, channels=channels, understood=tuple(notes)))


def _moving(log: Log) -> Log:
    """Rows without a speed are left out, with a note."""
    speed = log.channels.get("speed_m_s")
    if speed is None or np.all(np.isfinite(speed)):
        return log
    keep = np.isfinite(speed)
    if keep.sum() < 10:
        raise LogError(f"{log.source}: fewer than ten rows with a speed; log the speed")
    notes = (*log.understood, f"{int(np.sum(~keep))} rows without a speed are left out")
    channels, words = (
        {name: values[keep] for name, values in group.items()} for group in (log.channels, log.words)
    )
    return Log(log.source, log.time_s[keep], channels, words, notes)
