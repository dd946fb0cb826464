"""`wingtool begin`: a first study from questions, without an editor."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from wingtool.errors import StudyError


def begin(
    study: Annotated[Path, typer.Argument(help="Study file to write, or to change.")] = Path("my_wing.toml"),
    template: Annotated[str | None, typer.Option(help="wing, car or surplus; asked if left out.")] = None,
    answers: Annotated[
        Path | None, typer.Option(help="File of answers (TOML), in place of questions.")
    ] = None,
) -> None:
    """A study from at most fifteen questions; run it again to change an answer. Enter takes the default.

    Example: wingtool begin my_wing.toml
    """
    from wingtool.study import answers_in, changed_text, read_study, study_text, write_study

    asks = answers is None and sys.stdin.isatty()
    if answers is None and not asks:
        raise typer.BadParameter("no terminal to ask at; give --answers FILE, a TOML file with the answers")
    chosen = template or (_template(study) if asks else "wing")
    found = answers_in(answers or study, chosen)
    if answers is not None and study.exists():
        found = answers_in(study, chosen) | found
    if asks:
        found = _ask(chosen, found)
    if study.exists():
        read_study(study)
        text = changed_text(study.read_text(encoding="utf-8-sig"), found, chosen)
    else:
        text = study_text(found, chosen)
    written = write_study(text, study)
    read_study(written)
    typer.echo(f"wrote {written}")
    typer.echo(f"Next: wingtool run {written} --out results, then open results/page.html: it draws the car.")


def _template(study: Path) -> str:
    from wingtool.study import BEGIN_TEMPLATES

    if study.exists():
        text = study.read_text(encoding="utf-8", errors="replace")
        return "car" if "[car]" in text else "wing"
    for name, meaning in BEGIN_TEMPLATES.items():
        typer.echo(f"  {name:<8} {meaning}")
    while (answer := str(typer.prompt("Which of these", default="car")).strip()) not in BEGIN_TEMPLATES:
        typer.echo(f"  {answer!r} is not one of these")
    return answer


def _ask(template: str, known: dict[str, str]) -> dict[str, str]:
    from wingtool.study import checked_answer, questions_of

    asked = questions_of(template)
    for number, question in enumerate(asked, 1):
        typer.echo(f"\n{number} of {len(asked)}. {question.text}\n  {question.why} {question.if_unknown}")
        while True:
            answer = str(typer.prompt("  ", default=known.get(question.key, question.default)))
            try:
                known[question.key] = checked_answer(question, answer)
                break
            except StudyError as error:
                typer.echo(f"  {error}")
    return known
