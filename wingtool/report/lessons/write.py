"""The lessons as pages: on a screen the answer is folded away, on paper it stands on its head at the foot."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from wingtool.files import write_text
from wingtool.report.lessons.pictures import draw_lesson
from wingtool.report.page.write import own_markup, render
from wingtool.study import Lesson
from wingtool.version import __version__


def lesson_html(lesson: Lesson, number: int, day: str) -> str:
    """One lesson as a page that prints on one A4 sheet."""
    facts = {"number": number, "version": __version__, "date": day}
    return render("lesson.html", lesson=lesson, picture=own_markup(draw_lesson(lesson)), **facts)


def write_lessons(lessons: Sequence[Lesson], folder: Path | str) -> list[Path]:
    """Write a page for each lesson; for more than one also a page that leads to them and a quiz sheet."""
    folder, today = Path(folder), date.today().isoformat()
    written = [
        write_text(folder / f"{lesson.topic}.html", lesson_html(lesson, number, today))
        for number, lesson in enumerate(lessons, 1)
    ]
    if len(lessons) > 1:
        text = render("lessons.html", lessons=lessons, version=__version__, date=today)
        written.insert(0, write_text(folder / "index.html", text))
        quiz = render("quiz.html", lessons=lessons, version=__version__, date=today)
        written.append(write_text(folder / "quiz.html", quiz))
    return written
