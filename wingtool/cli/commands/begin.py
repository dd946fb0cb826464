"""`wingtool begin`: a first study from questions, without an editor."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from wingtool.errors import WingtoolError


def begin(
    study: Annotated[Path, typer.Argument(help="Study file to write, or to change.")] = Path("my_wing.toml"),
    template: Annotated[
        str | None,
        typer.Option(help="wing (alone), car (with a wing) or surplus (unknown section); asked if left out."),
    ] = None,
    answers: Annotated[
        Path | None, typer.Option(help="File of answers (TOML), in place of questions.")
    ] = None,
) -> None:
    """Write a first study from at most fifteen questions.

    Run it again on the same file to change an answer; what you added by hand stays.

    Example: wingtool begin my_wing.toml
    """
    from wingtool.cli.screen import echo_wrapped, echo_written
    from wingtool.study import answers_in, changed_text, doubtful_answers, study_text, write_study

    asks = answers is None and sys.stdin.isatty()
    if answers is None and not asks:
        raise typer.BadParameter("no terminal to ask at; give --answers FILE, a TOML file with the answers")
    chosen = template or (_template(study) if asks else "wing")
    found = answers_in(study, chosen) if study.exists() else {}
    if answers is not None:
        found |= answers_in(answers, chosen)
    if asks:
        found = _ask(chosen, found, study.parent)
    if study.exists():
        text = changed_text(study.read_text(encoding="utf-8-sig"), found, chosen)
    else:
        text = study_text(found, chosen)
    written = write_study(text, study)
    echo_written([written])
    for sentence in [] if asks else doubtful_answers(found, chosen):
        echo_wrapped(f"  ! {sentence}")
    then = f"wingtool run {written} --out results, then open results/page.html"
    echo_wrapped(f"Next: {then}; check the picture: a wrong size shows at once.")


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


def _ask(template: str, known: dict[str, str], folder: Path) -> dict[str, str]:
    from wingtool.cli.screen import echo_wrapped
    from wingtool.study import UnusualAnswer, checked_answer, default_of, questions_of

    asked = [q for q in questions_of(template) if (template, q.kind) != ("surplus", "section")]
    typer.echo("Sizes with their unit, as your tape shows them: 140 cm, 1.4 m, 55 in.")
    typer.echo("Enter takes what stands in square brackets, as do ? and dunno, for not known.")
    typer.echo("Ctrl-C stops and writes nothing.")
    for number, question in enumerate(asked, 1):
        typer.echo("")
        echo_wrapped(f"{number} of {len(asked)}. {question.text}")
        echo_wrapped(f"  {question.why} {question.if_unknown}")
        doubted = None
        while True:
            usual = doubted or known.get(question.key, default_of(question, known))
            answer = str(typer.prompt("  ", default=usual))
            try:
                known[question.key] = checked_answer(question, answer, folder, known, answer == doubted)
                break
            except UnusualAnswer as asked_about:
                doubted = answer
                echo_wrapped(f"  {str(asked_about).removeprefix(f'{question.key}: ')}")
                typer.echo("  Enter keeps it.")
            except WingtoolError as error:
                echo_wrapped(f"  {str(error).removeprefix(f'{question.key}: ')}")
    return known
