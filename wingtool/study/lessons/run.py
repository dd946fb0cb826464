"""What the lessons teach, computed on the person's own wing."""

from collections.abc import Callable, Sequence

from wingtool.errors import RangeError
from wingtool.study.lessons.lesson import Basis, Lesson
from wingtool.study.progress import no_progress
from wingtool.study.schema.study import Study


def lesson_topics() -> tuple[str, ...]:
    """The topics in their order."""
    return tuple(_computed_by())


def run_lessons(
    study: Study, topics: Sequence[str] | None = None, progress: Callable[[str], None] = no_progress
) -> tuple[Lesson, ...]:
    """Compute lessons on a study.

    Parameters
    ----------
    study : Study
    topics : sequence of str, optional
        Some of `lesson_topics`; all if left out.
    progress : callable
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
    basis = _basis(study, progress)
    found = []
    for topic in wanted:
        progress(f"lesson: {topic}")
        found.append(known[topic](basis))
    return tuple(found)


def _basis(study: Study, progress: Callable[[str], None]) -> Basis:
    from wingtool.study.bundled import bundled_study
    from wingtool.study.schema.read import read_study
    from wingtool.study.whole_study import run_study

    result = run_study(study, progress)
    with_car = result if result.car is not None else run_study(read_study(bundled_study()), progress)
    return Basis(result, with_car)


def _computed_by() -> dict[str, Callable[[Basis], Lesson]]:
    from wingtool.study.lessons import air, car

    return {
        "pressure": air.pressure,
        "stall": air.stall,
        "speed": air.speed,
        "plates": air.plates,
        "ground": air.ground,
        "tab": air.tab,
        "drag": car.drag,
        "balance": car.balance,
        "myths": car.myths,
    }
