"""The lessons by topic, computed on the person's own wing."""

from collections.abc import Callable, Sequence

from wingtool.errors import RangeError
from wingtool.study.lessons import air, car
from wingtool.study.lessons.lesson import Basis, Lesson
from wingtool.study.progress import no_progress
from wingtool.study.schema.read import bundled_study, read_study
from wingtool.study.schema.study import Study
from wingtool.study.whole_study import run_study

AIR = (air.pressure, air.stall, air.speed, air.plates, air.ground, air.tab)
LESSONS = {lesson.__name__: lesson for lesson in (*AIR, car.drag, car.balance, car.myths)}


def run_lessons(
    study: Study, topics: Sequence[str] | None = None, progress: Callable[[str], None] = no_progress
) -> tuple[Lesson, ...]:
    """Compute lessons on a study.

    Parameters
    ----------
    study : Study
    topics : sequence of str, optional
        Some of `LESSONS`; all if left out.
    progress : callable
        Takes a line on what is being done.

    Raises
    ------
    RangeError
        An unknown topic.
    """
    topics = tuple(topics or LESSONS)
    for topic in topics:
        if topic not in LESSONS:
            raise RangeError(f"no lesson {topic!r}; there are {', '.join(LESSONS)}")
    result = run_study(study, progress)
    with_car = result if result.car is not None else run_study(read_study(bundled_study()), progress)
    lessons = []
    for topic in topics:
        progress(f"lesson: {topic}")
        lessons.append(LESSONS[topic](Basis(result, with_car)))
    return tuple(lessons)
