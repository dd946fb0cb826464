"""The command line."""

import sys


def main() -> None:
    """The `wingtool` command; Ctrl-C while it loads ends it without a traceback, too."""
    try:
        from wingtool.cli.app import run_app
    except KeyboardInterrupt:
        sys.exit(130)
    run_app()
