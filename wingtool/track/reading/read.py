"""A log file read: GPX by its ending, everything else as delimited text.

GPX 1.0 and 1.1 through gpxpy; the core of the format has no speed, so it comes from the positions.
"""

from collections.abc import Mapping
from pathlib import Path

import numpy as np

from wingtool.errors import LogError
from wingtool.track.log import Log, flat_xy_m, speed_from_position
from wingtool.track.reading.csv import read_csv


def read_gpx(path: Path) -> Log:
    """All track points of a file in order of time.

    Raises
    ------
    LogError
        Not GPX, or fewer than ten points with a time.
    """
    import gpxpy

    try:
        data = gpxpy.parse(path.read_bytes())
    except Exception as error:  # gpxpy hands through whatever its XML reader raises
        why = type(error).__name__
        raise LogError(f"{path}: not a GPX file that can be read ({why}); export it again") from None
    points = [p for track in data.tracks for segment in track.segments for p in segment.points]
    rows = [(p.time.timestamp(), p.latitude, p.longitude, p.elevation) for p in points if p.time is not None]
    if len(rows) < 10:
        raise LogError(f"{path}: fewer than ten track points with a time; record with time stamps")
    table = np.array(sorted(rows, key=lambda row: row[0]), float)  # nan for an elevation that is not there
    keep = np.diff(table[:, 0], prepend=-np.inf) > 0.0
    time, lat, lon, height = table[keep].T
    time = time - time[0]
    lost = len(points) - int(keep.sum())
    notes = (
        f"{path.name}: GPX, {len(points)} points, {lost} without a time or with a repeated one left out",
        f"{1 / np.median(np.diff(time)):.3g} points a second, {time[-1] / 60:.3g} minutes",
        "speed from the positions",
    )
    channels = {
        "speed_m_s": speed_from_position(time, *flat_xy_m(lat, lon)), "latitude_deg": lat,
        "longitude_deg": lon, "altitude_m": height,
    }  # fmt: skip
    return Log(path.name, time, channels, {}, notes)


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
