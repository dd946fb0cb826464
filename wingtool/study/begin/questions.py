"""The questions of a first study, in plain words: what is asked, why, and what if it is not known."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from textwrap import wrap

from wingtool.car import drag_area_from_top_speed
from wingtool.errors import StudyError
from wingtool.study.advice import UNKNOWN_ROOF_DEG
from wingtool.study.plausible import REAR_DRIVEN_SHARE, unusual
from wingtool.study.schema.body_shapes import SHAPES
from wingtool.study.schema.car import SEA_LEVEL_KG_M3, CarTable
from wingtool.study.section.sweep import section_of
from wingtool.units import quantity

TEMPLATES = {
    "wing": "a wing alone: what it makes and where it stalls",
    "car": "a wing on a car: balance, straights, mounts too",
    "surplus": "a wing of unknown section, bought or found",
}


class UnusualAnswer(StudyError):
    """An answer that can be, but that is asked about first."""


@dataclass(frozen=True)
class Question:
    """One question; `kind` is a kind of unit, text, section, share, or words joined by a bar.

    `default_us` is the default after answers in inches, pounds, horsepower or mph.
    """

    key: str
    text: str
    why: str
    if_unknown: str
    default: str
    kind: str
    only_with_car: bool = False
    default_us: str = ""


# drag areas of cars, common practice, no source; one is asked about beyond them by more than the room
CLOSED_CDA_M2, OPEN_CDA_M2, CDA_ROOM = (0.55, 0.8), (0.6, 1.0), 1.25
NOT_KNOWN = ("?", "unknown", "not known", "dunno", "don't know", "i don't know", "no idea")
_US = re.compile(
    "((?<![a-z])(in|inch|inches|ft|foot|feet|lbs?|pounds?|[bw]?hp|mph)|[\"'\u2033\u2032\u201d\u2019])$"
)
UNKNOWN_SECTION, STAND_IN = "unknown", "4412"
SECTION_KNOWN = Question(
    "wing.section_known", "", "A stand-in until wingtool trace has read yours; then true.", "", "true",
    "true|false",
)  # fmt: skip  # not asked: it follows from the section's answer
_FACTS = {"shapes": ", ".join(SHAPES), "kinds": "|".join(SHAPES), "roof_deg": UNKNOWN_ROOF_DEG}
_TEXT = Path(__file__).with_name("questions.toml").read_text("utf-8").format(**_FACTS)
QUESTIONS = tuple(Question(**row) for row in tomllib.loads(_TEXT)["question"])


def questions_of(template: str) -> tuple[Question, ...]:
    """The questions of a template."""
    if template not in TEMPLATES:
        raise StudyError(f"--template: {template!r} is not known; choose one of {', '.join(TEMPLATES)}")
    return tuple(q for q in QUESTIONS if template == "car" or not q.only_with_car)


def answers_text(template: str) -> str:
    """A file of answers: each key with its default, below its question."""
    lines = [f"# Answers for: wingtool begin my_wing.toml --template {template} --answers FILE"]
    lines.append("# A key left out takes the value shown here, in the units of the answers before it.")
    for question in questions_of(template):
        lines += ["", *wrap(question.text, 78, initial_indent="# ", subsequent_indent="# ")]
        lines.append(f'{question.key} = "{question.default}"')
    return "\n".join(lines)


def answered(question: Question, answer: str) -> bool:
    """Whether a text is an answer: neither empty nor a word for not known.

    Examples
    --------
    >>> answered(QUESTIONS[3], "10 in"), answered(QUESTIONS[3], "I don\u2019t know.")
    (True, False)
    """
    said = answer.strip().lower().replace("\u2019", "'").rstrip(".!")
    return bool(said) and (said not in NOT_KNOWN or question.kind == "text")


def default_of(question: Question, answers: Mapping[str, str]) -> str:
    """The default in the units of the last answer of the same kind, else of the last with a unit.

    Examples
    --------
    >>> default_of(QUESTIONS[3], {"wing.span": "55 in"}), default_of(QUESTIONS[3], {"wing.span": "1.4 m"})
    ('10 in', '25 cm')
    """
    return question.default_us if question.default_us and speaks_us(question, answers) else question.default


def speaks_us(question: Question, answers: Mapping[str, str]) -> bool:
    """Whether the last answer of the question's kind, else the last with a unit, is in inches, lb, hp."""
    before = [
        q
        for q in QUESTIONS[: QUESTIONS.index(question)]
        if q.default_us and answers.get(q.key, "none") != "none"
    ]
    alike = [q for q in before if q.kind.split(" ")[0] == question.kind.split(" ")[0]]
    last = (alike or before)[-1:]
    return any(_US.search(answers[q.key].strip()) for q in last)


def checked_answer(
    question: Question,
    answer: str,
    folder: Path | None = None,
    so_far: Mapping[str, str] | None = None,
    sure: bool = False,
) -> str:
    """The answer as it goes into the file; the default where it is empty or says that it is not known.

    A word may be cut short. With the study's `folder` a section is looked for at once. The default is in the
    units of the answers `so_far`; what these make improbable is refused unless the user is `sure` of it.

    Raises
    ------
    StudyError, UnitError, CoordinateFileError
        An answer that cannot be, in one line that says what would be.

    Examples
    --------
    >>> checked_answer(QUESTIONS[3], " 9 7/8 in "), checked_answer(QUESTIONS[8], "hatch")
    ('9 7/8 in', 'hatchback')
    """
    answers = so_far or {}
    text = answer.strip() if answered(question, answer) else default_of(question, answers)
    if '"' in text and question.kind != "length":
        raise StudyError(f"{question.key}: no quotes, please")
    text = text.replace('"', " in").replace("\\", "/")
    if question.kind == "section" and folder is not None and text != UNKNOWN_SECTION:
        section_of(text, folder)
    if question.kind in ("text", "section"):
        return text
    if "|" in question.kind:
        words = question.kind.split("|")
        meant = [word for word in words if word.startswith(text.lower())]
        if len(meant) != 1:
            raise StudyError(f"{question.key}: {text!r} is not one of {', '.join(words)}")
        return meant[0]
    if question.kind.endswith("or none") and text.lower() == "none":
        return "none"
    if question.kind == "share":
        text = _checked_share(question, text)
        sentence = unusual(question.key, float(text.rstrip(" %")) / 100.0) or _drive_asked(text)
    else:
        value = quantity(text, question.kind.split(" ")[0], question.key)
        sentence = unusual(question.key, value, bool(_US.search(text)))
        if question.key == "car.top_speed" and {"car.power", "car.mass"} <= set(answers):
            sentence = sentence or _drag_asked(answers, text, value)
    if sentence and not sure:
        raise UnusualAnswer(f"{question.key}: {sentence}")
    return text


def doubtful_answers(answers: Mapping[str, str], template: str) -> list[str]:
    """What would have been asked about these answers, by key."""
    found: list[str] = []
    checked: dict[str, str] = {}
    for question in questions_of(template):
        text = answers.get(question.key, "")
        try:
            checked_answer(question, text, so_far=checked)
        except UnusualAnswer as asked_about:
            found.append(str(asked_about))
        checked[question.key] = checked_answer(question, text, so_far=checked, sure=True)
    return found


def _drive_asked(text: str) -> str:
    if float(text.rstrip(" %")) <= 100.0 * REAR_DRIVEN_SHARE:
        return ""
    return (
        f'{text} in front is a front-driven car\'s; unless [car] says driven = "front", rear is taken: right?'
    )


def _drag_asked(answers: Mapping[str, str], text: str, speed_m_s: float) -> str:
    """A question if top speed and power make a drag area that cars of the kind do not have; else empty."""
    power, mass = (quantity(answers[f"car.{key}"], key, f"car.{key}") for key in ("power", "mass"))
    rolling = CarTable.model_fields["rolling"].default
    cda = drag_area_from_top_speed(speed_m_s, power, mass, rolling, SEA_LEVEL_KG_M3)
    least, most = OPEN_CDA_M2 if answers.get("car.body") == "open" else CLOSED_CDA_M2
    if least / CDA_ROOM <= cda <= most * CDA_ROOM:
        return ""
    return (
        f"that makes a drag area of {cda:.2f} m2; cars of this kind have {least:g} to {most:g}: is {text} the"
        " top speed on your longest straight or of the car?"
    )


def _checked_share(question: Question, text: str) -> str:
    """A share of 20 to 80 %, with or without its sign, or as a fraction."""
    try:
        share = float(text.removesuffix("%").strip())
    except ValueError:
        raise StudyError(f"{question.key}: {text!r} is not a share; write for example 58 %") from None
    share *= 1.0 if "%" in text or share > 1.0 else 100.0
    if not 20.0 <= share <= 80.0:
        raise StudyError(f"{question.key}: {text!r} is not 20 to 80 %; write for example 58 %")
    return f"{share:g} %"
