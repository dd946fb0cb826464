"""The lessons as pages: on a screen the answer is folded away, on paper it stands on its head at the foot."""

from collections.abc import Sequence
from pathlib import Path

from wingtool.files import write_text
from wingtool.report.lessons.pictures import draw_lesson
from wingtool.report.page.write import own_markup, render
from wingtool.study import Lesson


def lesson_html(lesson: Lesson, number: int) -> str:
    """One lesson as a page that prints on one A4 sheet."""
    return render("lesson.html", lesson=lesson, picture=own_markup(draw_lesson(lesson)), number=number)


def write_lessons(lessons: Sequence[Lesson], folder: Path | str) -> list[Path]:
    """Write a page for each lesson; for more than one also a page that leads to them and a quiz sheet."""
    pages = {lesson.topic: lesson_html(lesson, number) for number, lesson in enumerate(lessons, 1)}
    if len(lessons) > 1:
        index, quiz = (render(f"{name}.html", lessons=lessons) for name in ("lessons", "quiz"))
        pages = {"index": index} | pages | {"quiz": quiz}
    return [write_text(Path(folder) / f"{name}.html", text) for name, text in pages.items()]
