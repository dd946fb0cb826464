"""`wingtool demo`: the bundled study, end to end."""

from pathlib import Path
from typing import Annotated

from typer import Argument

from wingtool import study
from wingtool.cli.commands.run import run_into
from wingtool.cli.options import Full


def demo(
    folder: Annotated[Path, Argument(help="Folder for tables, pictures and the page.")] = Path("demo"),
    full: Full = False,
) -> None:
    """The bundled study, end to end: tables, pictures, a page.

    Example: wingtool demo first_look
    """
    run_into(study.bundled_study(), folder, full)
