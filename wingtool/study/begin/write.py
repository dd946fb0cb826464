"""The commented study file that the answers make, and the answers that a study file holds."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from wingtool.errors import StudyError, WingtoolError
from wingtool.files import write_text
from wingtool.study.begin.questions import (
    SECTION_KNOWN,
    STAND_IN,
    UNKNOWN_SECTION,
    Question,
    answered,
    answers_text,
    checked_answer,
    questions_of,
)
from wingtool.study.schema.car import SEA_LEVEL_KG_M3
from wingtool.study.schema.key_lines import NOT_ANSWERED, lines_of_keys, not_answered, values_by_place
from wingtool.study.schema.read import checked_study, line_in, nearest, study_from_text
from wingtool.study.schema.toml_text import toml_data, toml_text
from wingtool.study.section.sweep import section_of

HEAD = "# Written by `wingtool begin`; run it again on this file to change an answer, or edit it here.\n"
FREE_AIR = """
[[roof.inflow]]          # free air
span_fraction = 0.0
angle_deg = 0.0
angle_band_deg = 0.0
"""
ROOF_NOT_ANSWERED = (
    "# roof not answered: degrees are kept for unknown air; put tufts on it, or write [[roof.inflow]]\n"
)
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
    return HEAD + changed_text("", answers, template) + NEXT


def changed_text(old: str, answers: Mapping[str, str], template: str) -> str:
    """A study file with other answers; tables, keys and comments that are not asked about stay as they are.

    Raises
    ------
    StudyError
        An answer that cannot be.
    """
    before, text = answers_held(old, template), old
    checked: dict[str, str] = {}
    for question in questions_of(template):
        given = answers.get(question.key, "")
        answer = checked_answer(question, given, so_far=checked, sure=True)
        checked[question.key] = answer
        held = before.get(question.key)
        if question.key == "roof":
            if answer == "free":
                text = text.replace(ROOF_NOT_ANSWERED, "") + FREE_AIR * (held is None)
            elif not answered(question, given) and ROOF_NOT_ANSWERED not in text:
                text = ROOF_NOT_ANSWERED + text
            if answer == "unknown" and held is not None:
                raise StudyError("roof: the study holds a [roof] table; delete it there for unknown air")
        elif held is None or checked_answer(question, held, sure=True) != answer:
            unknown = question.kind == "section" and answer == UNKNOWN_SECTION
            named = question.kind in ("text", "section") or answered(question, given)
            note = f"# {question.why}" if named else NOT_ANSWERED
            text = _set(text, question, STAND_IN if unknown else answer, note)
            if unknown or (question.kind == "section" and held == UNKNOWN_SECTION):
                text = _set(text, SECTION_KNOWN, "false" if unknown else "true", f"# {SECTION_KNOWN.why}")
    return text


def _set(text: str, question: Question, answer: str, note: str) -> str:
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
            new, comment = f"{rest[1]}{_quoted(question, answer)}", rest[2] or ""
            renoted = NOT_ANSWERED in (note, comment.strip())
            lines[row] = _with_note(new, note) if renoted else f"{new}{comment}\n"
    elif answer != "none":
        beside = [row for other, row in places.items()
                  if other == place[:-1] or (other[:-1] == place[:-1] and row not in headings)]  # fmt: skip
        new = _with_note(f"{key} = {_quoted(question, answer)}", note)
        if beside or not table:
            lines.insert(max(beside, default=0), new)
        else:
            lines.append(f"\n[{table}]\n{new}")
    return "".join(lines)


def _with_note(text: str, note: str) -> str:
    return f"{text:<34} {note}\n"


def _quoted(question: Question, text: str) -> str:
    return text if question is SECTION_KNOWN else '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def answers_in(path: Path | str, template: str) -> dict[str, str]:
    """Answers that a study file holds.

    Raises
    ------
    StudyError
        The file is not there, or no TOML; one line.
    """
    text = toml_text(Path(path))
    toml_data(text, path)
    return answers_held(text, template)


def answers_held(text: str, template: str) -> dict[str, str]:
    """Answers that a study's text holds; usual values that are marked as such are none."""
    data, usual = tomllib.loads(text), usual_taken(text, template)
    found = {key: answer for key, answer in _answers_of(data, template).items() if key not in usual}
    plain = isinstance(wing := data.get("wing"), dict) and "endplate" not in wing
    return found | ({"wing.endplate.height": "none"} if plain else {})


def usual_taken(text: str, template: str) -> dict[str, str]:
    """By key the values of a study's text that are marked as usual; one that was changed by hand is not."""
    answers, marked = _answers_of(tomllib.loads(text), template), not_answered(text)
    asked = (q for q in questions_of(template) if q.key in marked)
    return {q.key: answers[q.key] for q in asked if answers.get(q.key) in (q.default, q.default_us)}


def answers_given(path: Path | str, template: str) -> dict[str, str]:
    """Answers of a file made for them: TOML, keys as in the study file.

    Raises
    ------
    StudyError
        The file is not there, or no TOML; a key that is not asked about, or an answer that cannot be; one
        line with file, line and key.
    """
    text, where = toml_text(Path(path)), str(path)
    data, lines = toml_data(text, path), lines_of_keys(text)
    known, with_car = (values_by_place(tomllib.loads(answers_text(one))) for one in (template, "car"))
    known["wing", "section_known"] = True
    for place, value in values_by_place(data).items():
        front = f"{line_in(where, place, lines)}: "
        if place not in known:
            hint = "it goes with --template car" if place in with_car else nearest(place, known)
            raise StudyError(f"{front}unknown key {'.'.join(place)}; {hint}")
        if isinstance(value, list) or isinstance(value, dict) != isinstance(known[place], dict):
            raise StudyError(f"{front}{'.'.join(place)} has the wrong form; see `wingtool begin --questions`")
    found = _answers_of(data, template)
    try:
        check_answers(found, template)
    except WingtoolError as error:
        place = tuple(str(error).split(":")[0].split("."))
        raise StudyError(f"{line_in(where, place, lines)}: {error}") from None
    return found


def check_answers(answers: Mapping[str, str], template: str) -> None:
    """Hold answers to the bounds of the study file, the usual values standing for the rest.

    Raises
    ------
    StudyError
        The first that cannot be, its key in front.
    """
    try:
        checked_study(tomllib.loads(study_text(answers, template)), where="")
    except StudyError as error:
        raise StudyError(str(error).removeprefix(": ")) from None


def _answers_of(data: Mapping[str, Any], template: str) -> dict[str, str]:
    values = {".".join(place): value for place, value in values_by_place(data).items()}
    asked = {q.key: values.get(q.key) for q in questions_of(template)}
    found = {key: str(value) for key, value in asked.items() if isinstance(value, (str, int, float))}
    if values.get("wing.section_known") is False:
        found["wing.section"] = UNKNOWN_SECTION
    if isinstance(values.get("roof"), dict):
        found["roof"] = "free"
    return found


def write_study(text: str, path: Path | str) -> Path:
    """Write the study file whole, once it reads, its section is found and its car can be; returns its path.

    Raises
    ------
    StudyError, CoordinateFileError
        The answers do not go together, or nothing has the section's name; nothing is written.
    """
    study = study_from_text(text, Path(path))
    section_of(study.wing.section, Path(path).parent)
    if study.car:
        study.car.value(SEA_LEVEL_KG_M3)
    return write_text(Path(path), text)
