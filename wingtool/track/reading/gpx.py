"""GPX 1.0 and 1.1 through gpxpy; the core of the format has no speed, so it comes from the positions."""

from pathlib import Path

import numpy as np

from wingtool.errors import LogError
from wingtool.track.log import Log, flat_xy_m, speed_from_position


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
        raise LogError(
            f"{path}: not a GPX file that can be read ({type(error).__name__}); export it again"
        ) from None
    points = [p for track in data.tracks for segment in track.segments for p in segment.points]
    timed = sorted(((p.time.timestamp(), p) for p in points if p.time is not None), key=lambda pair: pair[0])
    if len(timed) < 10:
        raise LogError(f"{path}: fewer than ten track points with a time; record with time stamps")
    time = np.array([stamp - timed[0][0] for stamp, _ in timed])
    keep = np.r_[True, np.diff(time) > 0.0]
    lat, lon = (np.array([getattr(p, n) for _, p in timed], float)[keep] for n in ("latitude", "longitude"))
    height = np.array([np.nan if p.elevation is None else p.elevation for _, p in timed])[keep]
    time = time[keep]
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
