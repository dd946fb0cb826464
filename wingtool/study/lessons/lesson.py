"""One lesson, and the results that all lessons are computed on."""

from dataclasses import dataclass
from typing import Any

from wingtool.files import words_beside
from wingtool.study.car.result import CarResult
from wingtool.study.result import StudyResult


@dataclass(frozen=True, eq=False)
class Lesson:
    """One page for a crew.

    Parameters
    ----------
    topic, title : str
    sentences : tuple of three str
    question, answer : str
        The number to guess, and the computed one.
    by_hand : str
        One thing to try without a car.
    origin : str
        What was computed, on which wing, and what it leaves out.
    data : dict
        What the picture is drawn from.
    caution : str
        Where the work can hurt someone.
    """

    topic: str
    title: str
    sentences: tuple[str, ...]
    question: str
    answer: str
    by_hand: str
    origin: str
    data: dict[str, Any]
    caution: str = ""


def lesson_of(topic: str, data: dict[str, Any], **facts: Any) -> Lesson:
    """A lesson with its words from ``words.toml``, the facts in their places."""
    words = words_beside(__file__, topic)
    sentences = tuple(words.pop("sentences"))
    pairs = [(said, fact.format_map(facts)) for said, fact in words.pop("pairs", ())]
    filled = {name: text.format_map(facts) for name, text in words.items()}
    return Lesson(topic=topic, sentences=sentences, data=data | {"pairs": pairs}, **filled)


@dataclass(frozen=True, eq=False)
class Basis:
    """What all lessons stand on: the person's study, and a study with a car if theirs has none."""

    result: StudyResult
    with_car: StudyResult

    @property
    def car(self) -> CarResult:
        """The car of the lessons about the car."""
        assert self.with_car.car is not None
        return self.with_car.car

    @property
    def whose_car(self) -> str:
        """Word on the car of the lessons about the car."""
        own = self.result is self.with_car
        return "on your car" if own else "on the bundled car, for your study has no [car]"
