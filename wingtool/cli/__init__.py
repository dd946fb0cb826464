"""The command line: one file a command, loaded when it is called."""

from wingtool.cli.main import app, main
