"""The questions of a first study, in plain words: what is asked, why, and what if it is not known."""

from __future__ import annotations

from dataclasses import dataclass

from wingtool.errors import StudyError, UnitError
from wingtool.study.plausible import unusual
from wingtool.study.schema.body_shapes import SHAPES
from wingtool.units import quantity

TEMPLATES = {
    "wing": "a wing alone: what it makes and where it stalls",
    "car": "a wing on a car: balance, straights, mounts too",
    "surplus": "a wing of unknown section, bought or found",
}


@dataclass(frozen=True)
class Question:
    """One question; `kind` is a kind of unit, text, share, or the words to choose from joined by a bar."""

    key: str
    text: str
    why: str
    if_unknown: str
    default: str
    kind: str
    only_with_car: bool = False


QUESTIONS: tuple[Question, ...] = (
    Question("title", "What do you call this study?", "It heads the page.", "Any words will do.",
             "My wing", "text"),
    Question(
        "wing.section", "Which section? A coordinate file, a designation such as 4412, or a name.",
        "Its shape decides where the wing stalls.",
        "Trace yours with `wingtool trace`; 4412 stands for a common cambered wing until then.", "4412",
        "text",
    ),
    Question("wing.span", "Span of the wing, plates excluded?", "Force grows with span times chord.",
             "Tape from plate to plate.", "140 cm", "length"),
    Question("wing.chord", "Chord, from nose to tail edge?", "Force grows with span times chord.",
             "Tape straight across, not along the surface.", "25 cm", "length"),
    Question("wing.height", "Lowest point of the wing above the ground?", "Mounts and balance depend on it.",
             "Tape with the car on a level floor.", "1.2 m", "length"),
    Question("wing.endplate.height", "Endplate height? Answer none if there are none.",
             "Plates make a short wing work.", "Answer with the plate that you plan.", "20 cm",
             "length or none"),
    Question("wing.surface", "Surface: smooth, race or dirty?", "A rough nose stalls earlier.",
             "race: painted, flat, dusty.", "race", "smooth|race|dirty"),
    Question("roof", "Air behind the roof: free (wing beside or far above it) or unknown?",
             "It comes down behind a roof and uses up margin to the stall.",
             "unknown keeps 4 degrees more; tufts narrow that: wingtool trace --sheet roof.", "unknown",
             "free|unknown"),
    Question("car.body", f"Body type: {', '.join(SHAPES)}?", "The page draws the car with it.",
             "The nearest will do.", "hatchback", "|".join(SHAPES), True),
    Question("car.mass", "Mass of the car with driver and fuel?", "Grip and balance depend on it.",
             "The registration paper and the driver.", "1100 kg", "mass", True),
    Question("car.front_share", "Share of the weight on the front axle?", "The wing shifts it.",
             "Front-wheel drive: about 60 %; front engine, rear-wheel drive: 52 %.", "58 %", "share", True),
    Question("car.wheelbase", "Wheelbase?", "It is the wing's lever.", "Axle to axle by tape.", "2.5 m",
             "length", True),
    Question("car.power", "Power at the wheels?", "It has to overcome the drag.",
             "Engine power less 15 %.", "100 kW", "power", True),
    Question("car.top_speed", "Top speed without the wing?", "With the power it gives the car's own drag.",
             "The manufacturer's figure.", "200 km/h", "speed", True),
    Question("mounts.behind_rear_axle", "Wing's quarter chord behind the rear axle? Negative if ahead of it.",
             "Further back it lifts the front.", "Plumb line and tape.", "40 cm", "length", True),
)  # fmt: skip


def questions_of(template: str) -> tuple[Question, ...]:
    """The questions of a template."""
    if template not in TEMPLATES:
        raise StudyError(f"--template: {template!r} is not known; choose one of {', '.join(TEMPLATES)}")
    return tuple(q for q in QUESTIONS if template == "car" or not q.only_with_car)


def checked_answer(question: Question, answer: str) -> str:
    """The answer as it goes into the file; the default where it is empty.

    Raises
    ------
    StudyError
        An answer that cannot be, in one line that says what would be.

    Examples
    --------
    >>> checked_answer(QUESTIONS[3], " 9 7/8 in ")
    '9 7/8 in'
    """
    text = answer.strip() or question.default
    if '"' in text and question.kind != "length":
        raise StudyError(f"{question.key}: no quotes, please")
    text = text.replace('"', " in").replace("\\", "/")
    if question.kind == "text":
        return text
    if "|" in question.kind:
        if text.lower() not in question.kind.split("|"):
            raise StudyError(f"{question.key}: {text!r} is not one of {question.kind.replace('|', ', ')}")
        return text.lower()
    if question.kind.endswith("or none") and text.lower() == "none":
        return "none"
    try:
        if question.kind == "share":
            share = float(text.removesuffix("%").strip()) / (100.0 if "%" in text else 1.0)
            if not 0.2 <= share <= 0.8:
                raise StudyError(f"{question.key}: {text!r} is not 20 to 80 %; write for example 58 %")
            return f"{100 * share:g} %"
        value = quantity(text, question.kind.split(" ")[0], question.key)
    except ValueError as error:
        if isinstance(error, (StudyError, UnitError)):
            raise StudyError(str(error)) from None
        raise StudyError(f"{question.key}: {text!r} is not a share; write for example 58 %") from None
    if told := unusual(question.key, value):
        raise StudyError(f"{question.key}: {told}")
    return text
