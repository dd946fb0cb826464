"""A rules file of the user's own: TOML with `source`, `[most]` and `[least]`, as in ``[limits]``."""

from __future__ import annotations

from pathlib import Path

from wingtool.car import Limits
from wingtool.errors import StudyError
from wingtool.study.schema.key_lines import lines_of_keys
from wingtool.study.schema.read import mistake_in
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

    text = toml_text(Path(path))
    try:
        table = LimitsTable.model_validate(toml_data(text, path))
    except ValidationError as error:
        raise mistake_in(error, LimitsTable, str(path), lines_of_keys(text)) from None
    if table.file is not None:
        raise StudyError(f"{path}: file: a rules file cannot name another; write the rules here")
    return table.value()
