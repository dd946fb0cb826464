"""`wingtool begin`: a first study from questions, without an editor."""

import sys
from pathlib import Path
from typing import Annotated

import typer
from typer import Argument, Option

from wingtool import study
from wingtool.cli.options import File, Text
from wingtool.cli.screen import echo_wrapped, echo_written
from wingtool.errors import WingtoolError

TEMPLATES = "wing (alone), car (with a wing) or surplus (unknown section); asked if left out."


def begin(
    path: Annotated[Path, Argument(metavar="study", help="Study file to write, or to change.")] = Path(
        "my_wing.toml"
    ),
    template: Annotated[Text, Option(help=TEMPLATES)] = None,
    answers: Annotated[File, Option(help="File of answers (TOML), in place of questions.")] = None,
    questions: Annotated[bool, Option("--questions", help="Print a file of all answers.")] = False,
) -> None:
    """Write a first study from at most fifteen questions.

    Run it again on the same file to change an answer; what you added by hand stays. What a file of answers
    leaves out takes the usual value, as Enter does at the terminal, and is marked in the study.

    Example: wingtool begin my_wing.toml
    """
    if questions:
        typer.echo(study.answers_text(template or "car"))
        return
    asks = answers is None and sys.stdin.isatty()
    if answers is None and not asks:
        raise typer.BadParameter("no terminal to ask at; give --answers FILE; --questions prints one")
    chosen = template or (_template(path) if asks else "wing")
    found = study.answers_in(path, chosen) if path.exists() else {}
    old = path.read_text(encoding="utf-8-sig") if path.exists() else ""
    if answers is not None:
        found |= study.answers_given(answers, chosen)
    if asks:
        found = _ask(chosen, found, path.parent)
    text = study.changed_text(old, found, chosen) if old else study.study_text(found, chosen)
    written = study.write_study(text, path)
    echo_written([written])
    if usual := study.usual_taken(text, chosen):
        taken = ", ".join(f"{key} {value}" for key, value in usual.items())
        echo_wrapped(f"Not answered, so the usual is taken and marked in the file: {taken}.")
    if not asks:
        echo_wrapped(*(f"  ! {sentence}" for sentence in study.doubtful_answers(found, chosen)))
    then = f"wingtool run {written} --out results, then open results/page.html"
    echo_wrapped(f"Next: {then}; check the picture: a wrong size shows at once.")


def _template(path: Path) -> str:
    if path.exists():
        text = path.read_text(encoding="utf-8", errors="replace")
        return "car" if "[car]" in text else "wing"
    for name, meaning in study.BEGIN_TEMPLATES.items():
        typer.echo(f"  {name:<8} {meaning}")
    while (answer := str(typer.prompt("Which of these", default="car")).strip()) not in study.BEGIN_TEMPLATES:
        typer.echo(f"  {answer!r} is not one of these")
    return answer


def _ask(template: str, known: dict[str, str], folder: Path) -> dict[str, str]:
    given = dict(known)
    asked = [q for q in study.questions_of(template) if (template, q.kind) != ("surplus", "section")]
    typer.echo("Sizes with their unit, as your tape shows them: 140 cm, 1.4 m, 55 in.")
    typer.echo("Enter, or ? for not known, takes the value in square brackets;")
    typer.echo("the file marks it as not answered. Ctrl-C stops and writes nothing.")
    for number, question in enumerate(asked, 1):
        typer.echo("")
        echo_wrapped(f"{number} of {len(asked)}. {question.text}")
        echo_wrapped(f"  {question.why} {question.if_unknown}")
        doubted = None
        while True:
            held = doubted or known.get(question.key, "")
            usual = held or study.default_of(question, known)
            answer = str(typer.prompt(f"   [{usual}]", default="", show_default=False)) or held
            try:
                study.check_answers({question.key: answer}, template)
                known[question.key] = study.checked_answer(question, answer, folder, known, answer == doubted)
                given[question.key] = answer
                break
            except study.UnusualAnswer as asked_about:
                doubted = answer
                echo_wrapped(f"  {str(asked_about).removeprefix(f'{question.key}: ')}")
                typer.echo("  Enter keeps it.")
            except WingtoolError as error:
                echo_wrapped(f"  {str(error).removeprefix(f'{question.key}: ')}")
    return given
