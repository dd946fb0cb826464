"""The commented study file that the answers make, and the answers that a study file holds."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from wingtool.errors import StudyError
from wingtool.files import write_text
from wingtool.study.begin.questions import (
    SECTION_KNOWN,
    STAND_IN,
    UNKNOWN_SECTION,
    Question,
    checked_answer,
    questions_of,
)
from wingtool.study.schema.car import SEA_LEVEL_KG_M3
from wingtool.study.schema.key_lines import lines_of_keys
from wingtool.study.schema.read import study_from_text
from wingtool.study.schema.toml_text import toml_data, toml_text

HEAD = "# Written by `wingtool begin`; run it again on this file to change an answer, or edit it here.\n"
FREE_AIR = """
[[roof.inflow]]          # free air
span_fraction = 0.0
angle_deg = 0.0
angle_band_deg = 0.0
"""
VALUE = r"""^(\s*[^=]+=\s*)(?:"(?:[^"\\]|\\.)*"|'[^']*'|[^#\s]+)(\s*#.*)?"""  # one of a key on its own line
NEXT = """
# Next: [splitter], [air_dam], [circuit], [oil], [limits], [[part]]; `wingtool run --keys` lists every key.
"""


def study_text(answers: Mapping[str, str], template: str) -> str:
    """The study file as text.

    Parameters
    ----------
    answers : mapping of question key to checked answer
    template : str

    Raises
    ------
    StudyError
        An answer that cannot be.
    """
    asked = questions_of(template)[0]
    text = HEAD + _line(asked, asked.key, checked_answer(asked, answers.get(asked.key, "")))
    if template == "surplus":
        answers = {**answers, "wing.section": UNKNOWN_SECTION}
    return changed_text(text, answers, template) + NEXT


def changed_text(old: str, answers: Mapping[str, str], template: str) -> str:
    """A study file with other answers; tables, keys and comments that are not asked about stay as they are.

    Raises
    ------
    StudyError
        An answer that cannot be.
    """
    before, text = answers_of(tomllib.loads(old), template), old
    checked: dict[str, str] = {}
    for question in questions_of(template):
        answer = checked_answer(question, answers.get(question.key, ""), so_far=checked, sure=True)
        checked[question.key] = answer
        held = before.get(question.key)
        if question.key == "roof":
            if answer == "free" and held is None:
                text += FREE_AIR
            if answer == "unknown" and held is not None:
                raise StudyError("roof: the study holds a [roof] table; delete it there for unknown air")
        elif held is None or checked_answer(question, held, sure=True) != answer:
            unknown = question.kind == "section" and answer == UNKNOWN_SECTION
            text = _set(text, question, STAND_IN if unknown else answer)
            if unknown or (question.kind == "section" and held == UNKNOWN_SECTION):
                text = _set(text, SECTION_KNOWN, "false" if unknown else "true")
    return text


def _set(text: str, question: Question, answer: str) -> str:
    """One answer at its key's line, below its table's heading, or in a table of its own at the end."""
    lines, table, key = text.splitlines(keepends=True), *question.key.rpartition(".")[::2]
    places = lines_of_keys(text)
    place = tuple(question.key.split("."))
    headings = [row for row in places.values() if lines[row - 1].lstrip().startswith("[")]
    if place in places:
        row = places[place] - 1
        if answer == "none":  # and the rest of its table, which cannot be without it
            first = places.get(place[:-1], row + 1) - 1
            last = min((at - 1 for at in headings if at - 1 > row), default=len(lines))
            for k in range(first, last if first < row else row + 1):
                lines[k] = "# " + lines[k] if lines[k].strip() else lines[k]
        else:
            rest = re.match(VALUE, lines[row])
            assert rest is not None
            lines[row] = f"{rest[1]}{_quoted(question, answer)}{rest[2] or ''}\n"
    elif answer != "none":
        beside = [row for other, row in places.items()
                  if other == place[:-1] or (other[:-1] == place[:-1] and row not in headings)]  # fmt: skip
        new = _line(question, key, answer)
        if beside or not table:
            lines.insert(max(beside, default=0), new)
        else:
            lines.append(f"\n[{table}]\n{new}")
    return "".join(lines)


def _line(question: Question, key: str, answer: str) -> str:
    text = f"{key} = {_quoted(question, answer)}"
    return f"{text:<34} # {question.why}\n"


def _quoted(question: Question, text: str) -> str:
    return text if question is SECTION_KNOWN else '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def answers_in(path: Path | str, template: str) -> dict[str, str]:
    """Answers that an earlier study file, or a file of answers, already holds.

    Both are TOML: tables and keys as the study file writes them.

    Raises
    ------
    StudyError
        The file is not there, or no TOML; one line.
    """
    path = Path(path)
    return answers_of(toml_data(toml_text(path), path), template)


def answers_of(data: Mapping[str, Any], template: str) -> dict[str, str]:
    """Answers that a study's data hold."""
    found: dict[str, str] = {}
    for question in questions_of(template):
        here: object = data
        for part in question.key.split("."):
            here = here.get(part) if isinstance(here, dict) else None
        if isinstance(here, (str, int, float)):
            found[question.key] = str(here)
    if "wing" in data and data["wing"].get("section_known") is False:
        found["wing.section"] = UNKNOWN_SECTION
    if "roof" in data:
        found["roof"] = data["roof"] if isinstance(data["roof"], str) else "free"
    if "wing" in data and "endplate" not in data["wing"]:
        found["wing.endplate.height"] = "none"
    return found


def write_study(text: str, path: Path | str) -> Path:
    """Write the study file whole, once it reads and makes a car that can be; returns its path.

    Raises
    ------
    StudyError
        The answers do not go together; nothing is written.
    """
    study = study_from_text(text, Path(path))
    if study.car:
        study.car.value(SEA_LEVEL_KG_M3)
    return write_text(Path(path), text)
