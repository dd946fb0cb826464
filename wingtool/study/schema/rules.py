"""A rules file of the user's own: TOML with `source`, `[most]` and `[least]`, as in ``[limits]``."""

from __future__ import annotations

import tomllib
from pathlib import Path

from wingtool.car import Limits
from wingtool.errors import StudyError


def read_limits(path: Path | str) -> Limits:
    """Limits from a rules file.

    Raises
    ------
    StudyError
        The file cannot be read or says something unknown; one line.
    """
    from pydantic import ValidationError

    from wingtool.study.schema.car import LimitsTable

    try:
        data = tomllib.loads(Path(path).read_text(encoding="utf-8-sig"))
        table = LimitsTable.model_validate(data)
    except (OSError, UnicodeDecodeError):
        raise StudyError(f"{path}: rules file cannot be read; give a TOML file") from None
    except tomllib.TOMLDecodeError as error:
        raise StudyError(f"{path}: {error}; look at that line") from None
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        place = ".".join(map(str, first["loc"])) or "limits"
        message = str(first.get("ctx", {}).get("error", first["msg"]))
        raise StudyError(f"{path}: {place}: {message}") from None
    if table.file is not None:
        raise StudyError(f"{path}: file: a rules file cannot name another; write the rules here")
    return table.value()
