"""The `wingtool` command: gathers the commands, turns errors that a user can mend into one line."""

import sys

import typer

from wingtool.errors import WingtoolError

app = typer.Typer(
    name="wingtool",
    help="What a home-built racing wing will do, before you cut, drill or race.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)


@app.callback()
def _root() -> None:
    pass


def main() -> None:
    """Run the command line; exit 0 done, 2 wrong input, 3 computed but not trustworthy, 130 stopped."""
    try:
        app()
    except WingtoolError as error:
        print(f"wingtool: {error}", file=sys.stderr)
        sys.exit(2)
    except KeyboardInterrupt:
        print("wingtool: stopped; no file was left half-written", file=sys.stderr)
        sys.exit(130)
