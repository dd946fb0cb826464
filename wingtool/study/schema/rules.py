"""A rules file of the user's own: TOML with `source`, `[most]` and `[least]`, as in ``[limits]``."""

from __future__ import annotations

from pathlib import Path

from wingtool.car import Limits
from wingtool.errors import StudyError
from wingtool.study.schema.toml_text import toml_data, toml_text


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
        table = LimitsTable.model_validate(toml_data(toml_text(Path(path)), path))
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        place = ".".join(map(str, first["loc"])) or "limits"
        message = str(first.get("ctx", {}).get("error", first["msg"]))
        raise StudyError(f"{path}: {place}: {message}") from None
    if table.file is not None:
        raise StudyError(f"{path}: file: a rules file cannot name another; write the rules here")
    return table.value()
