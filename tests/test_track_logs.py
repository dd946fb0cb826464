"""Logs as people have them: what is understood is told, what cannot be is one line."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wingtool.errors import LogError
from wingtool.track import circuit_from_log, distance_m, lateral_m_s2, read_log, runs_of, smooth
from wingtool.track.log import local_xy_m
from wingtool.track.reading import heading


def write(tmp_path, text, name="log.csv", encoding="utf-8"):
    path = tmp_path / name
    path.write_bytes(text.encode(encoding))
    return path


def rows(form, count=40):
    return "".join(form(i) for i in range(count))


def test_a_plain_log(tmp_path):
    text = "Time [s],Speed [km/h],Lateral g,oil pressure [bar]\n" + rows(
        lambda i: f"{i * 0.1:.1f},{90 + i},1.0,4\n"
    )
    log = read_log(write(tmp_path, text))
    assert log.channels["speed_m_s"][:2] * 3.6 == pytest.approx([90, 91])
    assert log.channels["lateral_m_s2"][0] == pytest.approx(9.80665)
    assert log.time_s[-1] == pytest.approx(3.9)
    told = " | ".join(log.understood)
    assert "comma between cells" in told
    assert "Speed [km/h]: speed in km/h" in told
    assert "not used: oil pressure [bar]" in told


def test_semicolons_decimal_commas_and_a_clock(tmp_path):
    text = "\ufeffDriver;nobody\nUhr\n" + "time;speed;parts\n;mph;\n"
    text += rows(lambda i: f"14:05:{i:02d},50;{60 + i},5;on\n")
    log = read_log(write(tmp_path, text))
    assert log.channels["speed_m_s"][0] == pytest.approx(60.5 * 0.44704)
    assert np.diff(log.time_s) == pytest.approx(1.0)
    assert set(log.words["parts"]) == {"on"}
    assert "decimal comma" in log.understood


def test_midnight_and_milliseconds(tmp_path):
    late = "time,speed [m/s]\n" + "".join(
        f"{23 if i < 20 else 0}:{59 if i < 20 else 0}:{(40 + i) % 60},{i}\n" for i in range(40)
    )
    assert np.diff(read_log(write(tmp_path, late)).time_s) == pytest.approx(1.0)
    milli = "time,speed [m/s]\n" + rows(lambda i: f"{i * 40},{i}\n")
    log = read_log(write(tmp_path, milli))
    assert log.time_s[-1] == pytest.approx(39 * 0.04)
    assert any("taken as ms" in line for line in log.understood)


def test_a_speed_without_unit_is_asked_for_not_guessed(tmp_path):
    path = write(tmp_path, "time [s],speed\n" + rows(lambda i: f"{i},{100 + i}\n"))
    with pytest.raises(LogError, match=r"has no unit; write speed \[km/h\]"):
        read_log(path)
    assert read_log(path, {"speed": "km/h"}).channels["speed_m_s"][0] == pytest.approx(100 / 3.6)
    with pytest.raises(LogError, match="use one of"):
        read_log(path, {"speed": "furlong"})


def test_positions_tell_the_unit_of_the_speed(tmp_path):
    step = np.degrees(30.0 * 0.1 / 6371008.8)
    text = "t,speed,lat,lon\n" + rows(lambda i: f"{i * 0.1:.1f},{30 * 3.6},{52 + i * step:.9f},0.1\n", 80)
    log = read_log(write(tmp_path, text))
    assert log.channels["speed_m_s"] == pytest.approx(30.0, rel=1e-6)
    assert any("speed is in km/h" in line for line in log.understood)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("hello\nworld\n", "no row of headings"),
        ("time [s],speed [km/h]\n1,2\n", "only 1 rows"),
        ("time [s],speed [km/h]\n" + "5,2\n" * 30, "log.csv: .*time rises"),
        ("time [s],speed [km/h]\n" + "x,y\n" * 30, "log.csv: .*time rises"),
        ('time,speed\n"' + "x" * 200_000, "quotation mark is not closed"),
        ("," * 500_000 + "\n1\n", "500001 columns, 1000 are the most"),
    ],
)
def test_what_cannot_be_read_is_one_line(tmp_path, text, words):
    with pytest.raises(LogError, match=words) as caught:
        read_log(write(tmp_path, text))
    assert "\n" not in str(caught.value)


def test_binary_and_missing_files(tmp_path):
    (tmp_path / "b.csv").write_bytes(bytes(range(256)) * 10)
    with pytest.raises(LogError, match="binary"):
        read_log(tmp_path / "b.csv")
    with pytest.raises(LogError, match="no such log"):
        read_log(tmp_path / "gone.csv")
    (tmp_path / "x.gpx").write_text("<gpx><nonsense")
    with pytest.raises(LogError, match="not a GPX file"):
        read_log(tmp_path / "x.gpx")


def test_odd_rows_are_told_never_silent(tmp_path):
    text = "time [s],speed [km/h],lap\n" + rows(lambda i: f"{i},100,1\n") + "41,100,1,9,9\n5,1,1\n42\n"
    log = read_log(write(tmp_path, text))
    told = " | ".join(log.understood)
    assert len(log.time_s) == 40
    assert "wrong number of cells" in told
    assert "go back in time" in told


@settings(max_examples=60, deadline=None)
@given(
    sign=st.sampled_from([",", ";", "\t", "|"]),
    comma=st.booleans(),
    unit=st.sampled_from([("km/h", 1 / 3.6), ("mph", 0.44704), ("m/s", 1.0)]),
    form=st.sampled_from(["Speed [{}]", "GPS Speed ({})", "speed {}", "VELOCITY <{}>"]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]),
    ends=st.sampled_from(["\n", "\r\n"]),
)
def test_every_common_shape_gives_the_same_log(tmp_path_factory, sign, comma, unit, form, encoding, ends):
    if sign == "," and comma:
        return
    speed = 20.0 + np.arange(30) * 0.5
    lines = [sign.join(["Time [s]", form.format(unit[0]), "Throttle [%]"])]
    lines += [sign.join([f"{i * 0.04:.2f}", f"{v / unit[1]:.4f}", "100"]) for i, v in enumerate(speed)]
    if comma:
        lines = [lines[0]] + [line.replace(".", ",") for line in lines[1:]]
    path = tmp_path_factory.mktemp("log") / "a.csv"
    path.write_bytes(ends.join(lines).encode(encoding))
    log = read_log(path)
    assert log.channels["speed_m_s"] == pytest.approx(speed, abs=1e-3)
    assert log.channels["throttle"][0] == pytest.approx(1.0)


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=400))
def test_any_bytes_give_a_log_or_one_line(tmp_path_factory, data):
    path = tmp_path_factory.mktemp("any") / "a.csv"
    path.write_bytes(data)
    try:
        read_log(path)
        said = ""
    except LogError as error:
        said = str(error)
    assert "\n" not in said


@given(st.text(max_size=60))
def test_any_heading_is_understood_or_left(text):
    found = heading(text)
    assert found.quantity is None or isinstance(found.factor, float)


@pytest.mark.parametrize(
    ("text", "quantity"),
    [
        ("FL damper [mm]", "travel_front_left"), ("Rear travel (mm)", "travel_rear"), ("Lap", "lap"),
        ("Load cell left [N]", "cell"), ("drag cell [N]", "cell_drag"), ("Lat. Acc. [g]", "lateral"),
        ("Longitude", "longitude"), ("Lateral g", "lateral"), ("longitudinal acc [m/s2]", "longitudinal"),
        ("rpm", None), ("Elapsed (s)", "time"),
    ],
)  # fmt: skip
def test_headings(text, quantity):
    assert heading(text).quantity == quantity


def circle(tmp_path, lap_column=True):
    """Two laps of a 60 m circle at 20 m/s, 10 Hz, by positions."""
    t = np.arange(0, 2 * 2 * np.pi * 60 / 20, 0.1)
    angle = t * 20 / 60
    lat = 52 + np.degrees(60 * np.sin(angle) / 6371008.8)
    lon = 0.1 + np.degrees(60 * np.cos(angle) / 6371008.8 / np.cos(np.radians(52)))
    lap = (angle // (2 * np.pi)).astype(int)
    head = "t,lat,lon,lap\n" if lap_column else "t,lat,lon\n"
    body = "".join(
        f"{a:.1f},{b:.9f},{c:.9f}" + (f",{d}\n" if lap_column else "\n")
        for a, b, c, d in zip(t, lat, lon, lap, strict=True)
    )
    return read_log(write(tmp_path, head + body))


def test_speed_distance_and_sideways_from_positions(tmp_path):
    """EXACT: on a circle V^2 / R, within the curve's chord error."""
    log = circle(tmp_path)
    inner = slice(20, -20)
    assert log.channels["speed_m_s"][inner] == pytest.approx(20.0, rel=5e-3)
    assert np.abs(lateral_m_s2(log)[inner]) == pytest.approx(400 / 60, rel=0.01)
    assert distance_m(log)[-1] == pytest.approx(2 * 2 * np.pi * 60, rel=0.02)
    assert circuit_from_log("ring", log).curvature_1_m.mean() == pytest.approx(1 / 60, rel=0.03)


def test_gpx_through_the_library(tmp_path):
    import datetime

    import gpxpy.gpx

    gpx = gpxpy.gpx.GPX()
    segment = gpxpy.gpx.GPXTrackSegment()
    track = gpxpy.gpx.GPXTrack()
    track.segments.append(segment)
    gpx.tracks.append(track)
    start = datetime.datetime(2030, 5, 1, tzinfo=datetime.UTC)
    for i in range(60):
        lat = 52 + np.degrees(25.0 * i / 6371008.8)
        time = start + datetime.timedelta(seconds=i)
        segment.points.append(gpxpy.gpx.GPXTrackPoint(lat, 0.1, elevation=20.0, time=time))
    path = write(tmp_path, gpx.to_xml(), "run.gpx")
    log = read_log(path)
    assert log.channels["speed_m_s"] == pytest.approx(25.0, rel=1e-4)
    east, north = local_xy_m(log)
    assert north[-1] == pytest.approx(25.0 * 59, rel=1e-6)
    assert east[-1] == pytest.approx(0.0, abs=1e-6)


def test_runs_from_columns_and_sheets(tmp_path):
    text = "time [s],speed [km/h],parts\n" + rows(lambda i: f"{i},100,{'on' if i >= 20 else 'off'}\n")
    log = read_log(write(tmp_path, text))
    assert [(run.parts_on, len(run.rows)) for run in runs_of(log)] == [(False, 20), (True, 20)]
    sheet = write(tmp_path, "run,start,end,parts,direction\n1,0,9,off,out\n2,20,39,on,back\n", "runs.csv")
    assert [(run.direction, len(run.rows)) for run in runs_of(log, sheet)] == [("out", 10), ("back", 20)]
    bad = write(tmp_path, "run,start,end,parts\n1,0,9,maybe\n", "bad.csv")
    with pytest.raises(LogError, match="line 2: parts is 'maybe'"):
        runs_of(log, bad)
    bare = read_log(write(tmp_path, "time [s],speed [km/h]\n" + rows(lambda i: f"{i},100\n"), "bare.csv"))
    with pytest.raises(LogError, match="the runs with the parts are not marked"):
        runs_of(bare)


def test_a_slow_sensor_in_a_fast_log_is_filled_and_told(tmp_path):
    """EXACT: between near readings a straight line; no reading within 1.5 s, no row."""
    text = "time [s],speed [km/h],lateral g\n"
    text += rows(lambda i: f"{i * 0.2:.1f},{100 + i if i % 5 == 0 and not 40 <= i < 80 else ''},1.0\n", 121)
    log = read_log(write(tmp_path, text))
    assert log.channels["speed_m_s"] * 3.6 == pytest.approx(100 + log.time_s * 5)
    assert len(log.time_s) == 121 - 44
    told = "104 empty or unreadable cells, 60 filled between near readings, 44 left empty"
    assert any(told in line for line in log.understood)
    assert any("44 rows without a speed" in line for line in log.understood)


def test_quoted_decimal_commas_between_commas(tmp_path):
    text = "time [s],speed [km/h]\n" + rows(lambda i: f'"{i},5","{100 + i},25"\n')
    log = read_log(write(tmp_path, text))
    assert log.channels["speed_m_s"][0] * 3.6 == pytest.approx(100.25)
    assert "decimal comma" in log.understood


def test_parts_must_be_on_or_off(tmp_path):
    log = read_log(write(tmp_path, "time [s],speed [km/h],parts\n" + rows(lambda i: f"{i},100,maybe\n")))
    with pytest.raises(LogError, match="neither on nor off"):
        runs_of(log)


def test_smoothing_never_reaches_across_a_gap():
    time = np.r_[np.arange(20) * 0.1, 100 + np.arange(20) * 0.1]
    values = np.r_[np.zeros(20), np.ones(20)]
    assert smooth(values, time, 1.0) == pytest.approx(values)
