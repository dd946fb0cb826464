"""`wingtool demo`: the bundled study, end to end."""

from pathlib import Path
from typing import Annotated

import typer


def demo(
    folder: Annotated[Path, typer.Argument(help="Folder for tables, pictures and the page.")] = Path("demo"),
    full: Annotated[bool, typer.Option("--full", help="Print everything, not one screen.")] = False,
) -> None:
    """The bundled study, end to end: tables, pictures, a page.

    Example: wingtool demo first_look
    """
    from wingtool.cli.commands.run import run_into
    from wingtool.study import bundled_study

    run_into(bundled_study(), folder, full)
