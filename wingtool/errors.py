"""Errors that a user can mend. Each message is one line: what, where, and what to do."""


class WingtoolError(ValueError):
    """Wrong input. The command line prints the message as it stands and leaves with exit code 2."""


class UnitError(WingtoolError):
    """A quantity without its unit, or with the wrong one."""


class CoordinateFileError(WingtoolError):
    """A coordinate file that cannot be repaired."""


class StudyError(WingtoolError):
    """A study file that says something impossible or unknown."""


class RangeError(WingtoolError):
    """A value outside the range for which a method or table holds."""


class TraceError(WingtoolError):
    """A photo, trace or set of readings from which no outline can be had."""


class LogError(WingtoolError):
    """A track log that cannot be understood."""


class TableError(WingtoolError):
    """A table that cannot be read, or is asked for what it does not hold."""


class OutputError(WingtoolError):
    """A file or folder that cannot be written."""


def shown(value: object) -> str:
    """What a file says, for a message: at most 60 characters of it.

    Examples
    --------
    >>> shown("55"), len(shown("5" * 99))
    ("'55'", 60)
    """
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."
