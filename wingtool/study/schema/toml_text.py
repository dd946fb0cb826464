"""A TOML file as plain data: of a stated size, without control characters, not nested without end."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any
from unicodedata import category

from wingtool.errors import StudyError
from wingtool.files import plain_bytes
from wingtool.study.schema.key_lines import Place

MOST_BYTES = 1_000_000
LONGEST_LINE = 10_000
DEEPEST = 10  # tables within tables; a study has 3
MOST_DIGITS = 40  # of a number; a double has 17


def toml_text(path: Path) -> str:
    """The text of a TOML file.

    Raises
    ------
    StudyError
        Not there, too large, not UTF-8, or a line that no study has; one line.
    """
    data = plain_bytes(path, MOST_BYTES, "a study (TOML) file", StudyError)
    try:
        text = data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError:
        raise StudyError(f"{path}: not UTF-8 text; give a study (TOML) file") from None
    if "\0" in text:
        raise StudyError(f"{path}: binary, not text; give a study (TOML) file")
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > LONGEST_LINE:
            raise StudyError(f"{path}, line {number}: over {LONGEST_LINE} characters; write shorter lines")
        if re.search(rf"(?<!\d)\d{{{MOST_DIGITS + 1}}}", line):
            raise StudyError(f"{path}, line {number}: a number of over {MOST_DIGITS} digits; correct it")
        if line.count(".") > LONGEST_LINE // 50 and re.match(r"[\s\[]*[\w-]+(\.[\w-]+){10}", line):
            raise StudyError(f"{path}, line {number}: a key nested too deep; write plain keys and tables")
    return text


def toml_data(text: str, path: Path | str) -> dict[str, Any]:
    """What TOML text says.

    Raises
    ------
    StudyError
        No TOML, nested too deep, or a control character in it; one line with the line number.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        twice = "overwrite" in str(error) or "twice" in str(error)
        hint = "a key or table stands there a second time; keep one" if twice else "text wants quotes"
        raise StudyError(f"{path}: {' '.join(str(error).split())}; look at that line ({hint})") from None
    except RecursionError:
        raise StudyError(f"{path}: brackets nested too deep; write plain keys and tables") from None
    except ValueError as error:
        raise StudyError(f"{path}: {error}; correct that number") from None
    _sound(data, path)
    return data


def _sound(data: dict[str, Any], path: Path | str) -> None:
    """An error at the first text with a control character, and where tables are nested without end."""
    waiting: list[tuple[Place, Any]] = [((), data)]
    while waiting:
        place, value = waiting.pop()
        if len(place) > DEEPEST:
            raise StudyError(f"{path}: {place[0]}: nested too deep; write plain keys and tables")
        inner = (
            value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        )
        waiting += [((*place, part), one) for part, one in inner]
        texts = [*value] if isinstance(value, dict) else [value] if isinstance(value, str) else []
        if any(map(_steers, texts)):
            where = ".".join(map(str, place)) or "a key"
            raise StudyError(f"{path}: {where!r} holds a control character; delete it")


def _steers(text: str) -> bool:
    return any(category(c) in ("Cc", "Cs", "Cn") and c not in "\n\t" for c in text)
