"""The `wingtool` command: gathers the commands, turns errors that a user can mend into one line."""

import gc
import os
import sys
from importlib import import_module
from typing import Annotated

import typer
from typer.core import TyperCommand

from wingtool.cli.screen import printable
from wingtool.cli.streams import ready
from wingtool.constants import OBJECTS_PER_COLLECTION, ONE_THREAD
from wingtool.errors import WingtoolError
from wingtool.version import __version__

STOPPED = 130


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"wingtool {__version__}")
        raise typer.Exit


class Grouped(TyperCommand):
    """A command whose help shows its options under the headings that they name."""

    def format_options(self, ctx, formatter) -> None:
        groups: dict[str, list[tuple[str, str]]] = {}
        for param in self.get_params(ctx):
            record = param.get_help_record(ctx)
            if record is not None:
                kind = f"{param.param_type_name}s".capitalize()
                groups.setdefault(getattr(param, "rich_help_panel", None) or kind, []).append(record)
        for heading, records in groups.items():
            with formatter.section(heading):
                formatter.write_dl(records)


app = typer.Typer(
    name="wingtool",
    help="What a home-built racing wing will do, before you cut, drill or race.",
    no_args_is_help=True,
    rich_markup_mode=None,  # words in square brackets are tables of the study file, not mark-up
    add_completion=False,
    pretty_exceptions_enable=False,
)
COMMANDS = ("demo", "begin", "run", "compare", "choose", "verify", "lesson",
            "trace", "match", "inspect", "sweep", "wing", "trust")  # fmt: skip
BESIDE = {"demo": "run", "match": "inspect"}  # commands that stand in the file of another
for command in COMMANDS:
    file = import_module(f"wingtool.cli.commands.{BESIDE.get(command, command)}")
    app.command(command, cls=Grouped)(getattr(file, command))


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    pass


def run_app() -> None:
    """Run the command line; exit 0 done, 2 wrong input, 3 computed but not trustworthy, 130 stopped."""
    bytearray(1 << 24)  # freed at once: glibc then keeps freed blocks up to this size, 0.15 s of a cold study
    gc.set_threshold(OBJECTS_PER_COLLECTION)
    for name in ONE_THREAD:  # sums of linear algebra must not depend on the number of cores
        os.environ.setdefault(name, "1")
    ready()
    try:
        if "" in sys.argv[1:] or any(word.startswith("--") and word[-1] == "=" for word in sys.argv[1:]):
            raise WingtoolError('an empty word, "", on the command line: give a name or leave it out')
        code = app(standalone_mode=False) or 0
        sys.stdout.flush()
        if code == STOPPED:
            raise KeyboardInterrupt
    except (Exception, KeyboardInterrupt) as error:
        if "WINGTOOL_TRACEBACK" in os.environ:
            raise
        code = _told(error)
    gc.freeze()  # nothing is left to look for; Python would look through all modules, a tenth of a second
    sys.exit(code)


def _told(error: BaseException) -> int:
    """Say in one line what went wrong; the exit code. WINGTOOL_TRACEBACK=1 shows all of it."""
    if isinstance(error, WingtoolError):
        return _say(str(error), 2)
    if isinstance(error, KeyboardInterrupt) or type(error).__name__ == "Abort":
        return _say("stopped; no file was left half-written", STOPPED)
    if hasattr(error, "format_message"):  # the command line itself: unknown option, missing argument
        message = error.format_message()
        message = message.removeprefix("Invalid value: ").rstrip(".?")
        return _say(f"{message}; see wingtool --help", 2) if message else 2
    if isinstance(error, OSError):
        sys.stdout = open(os.devnull, "w")  # noqa: SIM115  closing a full disk's file must stay silent
        what = f"cannot read or write {error.filename or ''}".rstrip()
        return _say(f"{what}: {error.strerror or error}; check the path and the space on disk", 2)
    return _say(f"a fault of wingtool's own, please report it: {type(error).__name__}: {error}", 1)


def _say(text: str, code: int) -> int:
    print(f"wingtool: {printable(' '.join(text.split()))}", file=sys.stderr)
    return code
