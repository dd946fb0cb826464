"""The commented study file that the answers make, and the answers that a study file holds."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path

from wingtool.errors import StudyError
from wingtool.files import write_text
from wingtool.study.begin.questions import Question, checked_answer, questions_of

HEAD = "# Written by `wingtool begin`; run it again on this file to change an answer, or edit it here.\n"
TABLES = ("wing", "wing.endplate", "car", "mounts")
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
    asked = {q.key: q for q in questions_of(template)}
    checked = {key: checked_answer(q, answers.get(key, "")) for key, q in asked.items()}
    lines = [HEAD, _line(asked["title"], "title", checked["title"])]
    if template == "surplus":
        lines.append('note = "Section not yet traced: 4412 stands for it. wingtool trace reads yours."\n')
    for table in TABLES:
        rows = [
            _line(q, key.rpartition(".")[2], checked[key])
            for key, q in asked.items()
            if key.rpartition(".")[0] == table and checked[key] != "none"
        ]
        if rows:
            lines += [f"\n[{table}]\n", *rows]
    if checked["roof"] == "free":
        free = "span_fraction = 0.0\nangle_deg = 0.0\nangle_band_deg = 0.0\n"
        lines.append(f"\n[[roof.inflow]]          # free air\n{free}")
    return "".join(lines) + NEXT


def _line(question: Question, key: str, answer: str) -> str:
    text = f"{key} = {_quoted(answer)}"
    return f"{text:<34} # {question.why}\n"


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def answers_in(path: Path | str, template: str) -> dict[str, str]:
    """Answers that an earlier study file, or a file of answers, already holds; empty where there is none.

    Both are TOML: tables and keys as the study file writes them.
    """
    path = Path(path)
    if not path.exists():
        return {}
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise StudyError(f"{path}: {' '.join(str(error).split())}; give a file of answers in TOML") from None
    found: dict[str, str] = {}
    for question in questions_of(template):
        here: object = data
        for part in question.key.split("."):
            here = here.get(part) if isinstance(here, dict) else None
        if isinstance(here, (str, int, float)):
            found[question.key] = str(here)
    if isinstance(data.get("roof"), dict):
        found["roof"] = "free"
    if "wing" in data and "endplate" not in data["wing"]:
        found["wing.endplate.height"] = "none"
    return found


def write_study(text: str, path: Path | str) -> Path:
    """Write the study file whole; returns its path."""
    return write_text(Path(path), text)
