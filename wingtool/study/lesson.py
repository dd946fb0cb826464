"""What the lessons teach, computed on the person's own wing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from wingtool.errors import RangeError, StudyError
from wingtool.study.run import quiet

if TYPE_CHECKING:
    from wingtool.study.car import CarResult
    from wingtool.study.model import Study
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
    sentences: tuple[str, str, str]
    question: str
    answer: str
    by_hand: str
    origin: str
    data: dict[str, Any] = field(default_factory=dict)
    caution: str = ""


@dataclass(frozen=True, eq=False)
class Basis:
    """What all lessons stand on: the person's study, and a study with a car if theirs has none."""

    result: StudyResult
    with_car: StudyResult

    @property
    def car(self) -> CarResult:
        """The car of the lessons about the car."""
        if self.with_car.car is None:
            raise StudyError("the bundled study has lost its [car]; install wingtool again")
        return self.with_car.car

    @property
    def whose_car(self) -> str:
        """Word on the car of the lessons about the car."""
        own = self.result is self.with_car
        return "on your car" if own else "on the bundled car, for your study has no [car]"


def lesson_topics() -> tuple[str, ...]:
    """The topics in their order."""
    return tuple(_computed_by())


def lessons(
    study: Study, topics: Sequence[str] | None = None, say: Callable[[str], None] = quiet
) -> tuple[Lesson, ...]:
    """Compute lessons on a study.

    Parameters
    ----------
    study : Study
    topics : sequence of str, optional
        Some of `lesson_topics`; all if left out.
    say : callable
        Takes a line on what is being done.

    Raises
    ------
    RangeError
        An unknown topic.
    """
    known = _computed_by()
    wanted = tuple(topics or known)
    for topic in wanted:
        if topic not in known:
            raise RangeError(f"no lesson {topic!r}; there are {', '.join(known)}")
    basis = _basis(study, say)
    found = []
    for topic in wanted:
        say(f"lesson: {topic}")
        found.append(known[topic](basis))
    return tuple(found)


def _basis(study: Study, say: Callable[[str], None]) -> Basis:
    from wingtool.study.bundled import bundled_study
    from wingtool.study.read import read_study
    from wingtool.study.run import run_study

    result = run_study(study, say)
    with_car = result if result.car is not None else run_study(read_study(bundled_study()), say)
    return Basis(result, with_car)


def _computed_by() -> dict[str, Callable[[Basis], Lesson]]:
    from wingtool.study import lesson_air, lesson_car

    return {
        "pressure": lesson_air.pressure,
        "stall": lesson_air.stall,
        "speed": lesson_air.speed,
        "plates": lesson_air.plates,
        "ground": lesson_air.ground,
        "tab": lesson_air.tab,
        "drag": lesson_car.drag,
        "balance": lesson_car.balance,
        "myths": lesson_car.myths,
    }
