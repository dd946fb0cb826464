"""The questions of a first study, in plain words: what is asked, why, and what if it is not known."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from wingtool.errors import StudyError
from wingtool.study.plausible import unusual
from wingtool.study.schema.body_shapes import SHAPES
from wingtool.study.section.sweep import section_of
from wingtool.units import quantity

TEMPLATES = {
    "wing": "a wing alone: what it makes and where it stalls",
    "car": "a wing on a car: balance, straights, mounts too",
    "surplus": "a wing of unknown section, bought or found",
}


@dataclass(frozen=True)
class Question:
    """One question; `kind` is a kind of unit, text, section, share, or words joined by a bar."""

    key: str
    text: str
    why: str
    if_unknown: str
    default: str
    kind: str
    only_with_car: bool = False


UNKNOWN_SECTION, STAND_IN = "unknown", "4412"
SECTION_KNOWN = Question(
    "wing.section_known", "", "A stand-in until wingtool trace has read yours; then true.", "", "true",
    "true|false",
)  # fmt: skip  # not asked: it follows from the section's answer
QUESTIONS: tuple[Question, ...] = (
    Question("title", "A name for this study?", "It heads the page.", "Any words will do.",
             "My wing", "text"),
    Question(
        "wing.section",
        "Section, the wing's shape cut across? A coordinate file, a designation such as 4412, or a name.",
        "It decides where the wing stalls.",
        "unknown: 4412, a common cambered shape, stands for it until wingtool trace has read yours.",
        UNKNOWN_SECTION,
        "section",
    ),
    Question("wing.span", "Span of the wing, endplates excluded?", "Force grows with span times chord.",
             "Tape from plate to plate.", "140 cm", "length"),
    Question("wing.chord", "Chord, from nose to tail edge?", "Force grows with span times chord.",
             "Tape straight across, not along the surface.", "25 cm", "length"),
    Question("wing.height", "Lowest point of the wing above the ground?", "Balance and mounts depend on it.",
             "Tape, the car on a level floor.", "1.2 m", "length"),
    Question("wing.endplate.height", "Height of an endplate, or none?", "Plates make a short wing work.",
             "Give the plate that you plan.", "20 cm", "length or none"),
    Question("wing.surface", "Surface: smooth, race or dirty?", "A rough nose stalls earlier.",
             "smooth: polished mould; race: painted, dusty; dirty: chipped nose.", "race",
             "smooth|race|dirty"),
    Question("roof", "Air at the wing: unknown (behind a roof) or free (open car, wing well above the roof)?",
             "Behind a roof it comes down and brings the stall nearer.",
             "unknown keeps 4 degrees for it; tufts narrow that (wingtool trace --sheet roof).", "unknown",
             "free|unknown"),
    Question("car.body", f"Body: {', '.join(SHAPES)}?", "Its lift and the drawn car follow from it.",
             "The nearest will do.", "hatchback", "|".join(SHAPES), True),
    Question("car.mass", "Mass of the car with driver and fuel?", "Grip and balance depend on it.",
             "Registration paper plus driver.", "1100 kg", "mass", True),
    Question("car.front_share", "Share of the weight on the front axle?", "The wing shifts it.",
             "Front-wheel drive about 60 %; engine in front, rear-wheel drive 52 %; in the middle 43 %.",
             "58 %", "share", True),
    Question("car.wheelbase", "Wheelbase, from axle to axle?", "It is the wing's lever.",
             "Tape from wheel centre to wheel centre.", "2.5 m", "length", True),
    Question("car.power", "Power at the wheels?", "It has to overcome the drag.",
             "Engine power less 15 %.", "100 kW", "power", True),
    Question("car.top_speed", "Top speed without the wing?", "With the power it gives the car's own drag.",
             "The manufacturer's figure.", "200 km/h", "speed", True),
    Question("mounts.behind_rear_axle",
             "How far is the wing behind the rear axle? Negative if ahead of it.",
             "Further back it lifts the front more.",
             "Plumb line and tape, to a quarter of the chord behind the wing's nose.", "40 cm",
             "length", True),
)  # fmt: skip


def questions_of(template: str) -> tuple[Question, ...]:
    """The questions of a template."""
    if template not in TEMPLATES:
        raise StudyError(f"--template: {template!r} is not known; choose one of {', '.join(TEMPLATES)}")
    return tuple(q for q in QUESTIONS if template == "car" or not q.only_with_car)


def checked_answer(question: Question, answer: str, folder: Path | None = None) -> str:
    """The answer as it goes into the file; the default where it is empty.

    A word may be cut short. With the study's `folder` a section is looked for at once.

    Raises
    ------
    StudyError, UnitError, CoordinateFileError
        An answer that cannot be, in one line that says what would be.

    Examples
    --------
    >>> checked_answer(QUESTIONS[3], " 9 7/8 in "), checked_answer(QUESTIONS[8], "hatch")
    ('9 7/8 in', 'hatchback')
    """
    text = answer.strip() or question.default
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
        return _checked_share(question, text)
    value = quantity(text, question.kind.split(" ")[0], question.key)
    if sentence := unusual(question.key, value):
        raise StudyError(f"{question.key}: {sentence}")
    return text


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
