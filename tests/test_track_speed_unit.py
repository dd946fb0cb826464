"""The unit in a speed's heading against the positions of the same log: stopped, doubted, or let be."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from simulated_logs import coast_logs

from wingtool.errors import LogError
from wingtool.track import read_log

FACTORS = {"km/h": 1 / 3.6, "mph": 0.44704, "m/s": 1.0, "kn": 0.514444444}
WRONG = [(a, b) for a in ("km/h", "mph", "m/s") for b in FACTORS if a != b and {a, b} != {"mph", "kn"}]


def written(folder, heading, unit, rate_hz=5.0, seed=0, gain=1.0, hold=1, places=True, slow=1.0):
    """A simulated log with positions (1 m of jitter) as CSV: `heading` over numbers in `unit`."""
    log = coast_logs(1, rate_hz, 0.0, pairs=1, first_seed=seed, positions=True)[0]
    lat, lon = log.channels["latitude_deg"], log.channels["longitude_deg"]
    rows = np.arange(len(lat)) // hold * hold
    speed = log.channels["speed_m_s"] * gain / FACTORS[unit]
    table = [log.time_s, slow * speed, *((52 + slow * (lat[rows] - 52), slow * lon[rows]) if places else ())]
    text = f"time [s],{heading}{',lat,lon' if places else ''}\n"
    text += "".join(",".join(f"{v:.9f}" for v in row) + "\n" for row in zip(*table, strict=True))
    path = folder / "log.csv"
    path.write_text(text)
    return path


@pytest.mark.parametrize(("told", "true"), WRONG)
@pytest.mark.parametrize("rate_hz", [1.0, 25.0])
def test_a_heading_of_another_unit_stops_with_the_right_one(tmp_path, told, true, rate_hz):
    """EXACT: definitions of the units; the simulation knows the speed."""
    path = written(tmp_path, f"GPS Speed [{told}]", true, rate_hz)
    with pytest.raises(LogError, match=rf"'GPS Speed \[{told}\]' in {told} is .* so it is {true};") as caught:
        read_log(path)
    assert "\n" not in str(caught.value)
    assert f"write speed [{true}]" in str(caught.value)
    said = float(str(caught.value).split(" times the speed")[0].rsplit(" ", 1)[1])
    assert said == pytest.approx(FACTORS[told] / FACTORS[true], rel=0.02)


@pytest.mark.parametrize("unit", FACTORS)
@pytest.mark.parametrize("rate_hz", [1.0, 5.0, 25.0])
def test_a_right_heading_is_let_be(tmp_path, unit, rate_hz):
    log = read_log(written(tmp_path, f"speed [{unit}]", unit, rate_hz))
    assert not any("times the speed of the positions" in line for line in log.understood)


def test_a_unit_told_beside_the_file_is_held_against_the_positions_too(tmp_path):
    path = written(tmp_path, "speed", "km/h")
    assert read_log(path).channels["speed_m_s"].max() == pytest.approx(47.0, abs=1.5)
    with pytest.raises(LogError, match="'speed' in mph is 1.61 times"):
        read_log(path, {"speed": "mph"})


def test_without_positions_or_at_a_walk_nothing_is_said(tmp_path):
    for keys in ({"places": False}, {"slow": 0.1}):
        log = read_log(written(tmp_path, "speed [mph]", "km/h", **keys))
        assert not any("times the speed" in line for line in log.understood)


@pytest.mark.parametrize(
    ("gain", "said"), [(0.95, False), (1.05, False), (1.2, True), (0.8, True), (0.869, True)]
)
def test_a_wheel_of_another_size_is_told_and_not_taken_for_a_unit(tmp_path, gain, said):
    log = read_log(written(tmp_path, "speed [mph]", "mph", gain=gain))
    # 0.869: miles an hour over knots, and a wheel might be as wrong
    doubts = [line for line in log.understood if "times the speed of the positions" in line]
    assert len(doubts) == said
    assert all(float(doubt.split()[2]) == pytest.approx(gain, abs=0.01) for doubt in doubts)


@pytest.mark.parametrize("hold", [2, 10, 30, 100])
def test_a_slow_receiver_in_a_fast_log_raises_no_doubt(tmp_path, hold):
    """A fix that stands for `hold` rows at 25 a second: from row to row no speed, then too much."""
    log = read_log(written(tmp_path, "speed [km/h]", "km/h", 25.0, hold=hold))
    assert not any("times the speed" in line for line in log.understood)


@settings(max_examples=40, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    rate_hz=st.sampled_from([1.0, 5.0, 12.5, 25.0]),
    gain=st.floats(0.96, 1.04),
    wrong=st.sampled_from(WRONG),
)
def test_any_day_tells_right_from_wrong(tmp_path_factory, seed, rate_hz, gain, wrong):
    told, true = wrong
    folder = tmp_path_factory.mktemp("log")
    log = read_log(written(folder, f"speed [{told}]", told, rate_hz, seed, gain))
    assert not any("times the speed" in line for line in log.understood)
    with pytest.raises(LogError, match=f"so it is {true}"):
        read_log(written(folder, f"speed [{told}]", true, rate_hz, seed, gain))
