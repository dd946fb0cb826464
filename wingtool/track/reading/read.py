"""A log file read: GPX by its ending, everything else as delimited text."""

from collections.abc import Mapping
from pathlib import Path

from wingtool.errors import LogError
from wingtool.track.log import Log
from wingtool.track.reading.csv import read_csv
from wingtool.track.reading.gpx import read_gpx

LARGEST_LOG_BYTES = 300_000_000


def read_log(path: Path | str, units: Mapping[str, str] | None = None) -> Log:
    """Read a CSV or GPX log.

    Parameters
    ----------
    path : path
        ``.gpx`` is read as GPX, everything else as delimited text.
    units : mapping, optional
        Unit of a column whose header has none: ``{"speed": "km/h"}``.

    Raises
    ------
    LogError
        The file is missing, empty, too large or not understood; one line that says what to do.
    """
    path = Path(path)
    try:
        size = path.stat().st_size
    except OSError:
        raise LogError(f"{path}: no such log; give a CSV or GPX file") from None
    if not path.is_file() or size > LARGEST_LOG_BYTES:
        raise LogError(f"{path}: not a file, or over 300 MB; give one session as CSV or GPX")
    if path.suffix.lower() == ".gpx":
        return read_gpx(path)
    return read_csv(path, units or {})
