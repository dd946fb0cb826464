"""Hostile and careless input: refused in one line within two seconds, never evaluated, never waited for."""

import os
import random
import time
import tomllib
from copy import deepcopy

import pytest

from wingtool.errors import WingtoolError
from wingtool.geometry import read_section
from wingtool.geometry.files.reader import section_from_text
from wingtool.study import bundled_study, checked_study, read_study
from wingtool.tracing import read_photo
from wingtool.tracing.tables import read_columns
from wingtool.track import read_log
from wingtool.units import quantity

STUDY = bundled_study().read_text(encoding="utf-8")
MOST_SECONDS = 2.0  # before a refusal


def refusal(call, *args) -> str:
    """The one line of a refusal."""
    started = time.monotonic()
    with pytest.raises(WingtoolError) as found:
        call(*args)
    assert time.monotonic() - started < MOST_SECONDS
    message = str(found.value)
    assert "\n" not in message
    assert len(message) < 400
    return message


@pytest.mark.parametrize(
    "text", ["1 m*9**9**9", "1 m**99999999", "1 m^9^9^9", "1 " + "m" * 9000, "9" * 9000 + " m"]
)
def test_a_unit_is_never_a_sum_to_be_done(text):
    refusal(quantity, text, "length", "span")


def test_a_table_for_a_number_is_not_written_out_in_the_message():
    assert len(refusal(quantity, {"segment": [{"length": "700 m"}] * 20}, "length", "width")) < 200


@pytest.mark.parametrize(
    "line",
    [
        "grip = true",
        "grip = " + "9" * 5000,
        "a" + ".a" * 20_000 + " = 1",
        "a" + ".a" * 4000 + " = 1",
        "x = " + "[" * 3000 + "]" * 3000,
        "x = { " + "a" + ".a" * 3000 + " = 1 }",
        'name = "red \\u001b[31m"',
        'name = "\\uffff"',
        "x = " + '"' + "y" * 20_000 + '"',
    ],
    ids=lambda line: line[:14],
)
def test_a_study_that_no_person_writes_is_refused(line, tmp_path):
    path = tmp_path / "study.toml"
    path.write_text(STUDY + f"\n[car.tyre]\n{line}\n" if "[car.tyre]" not in STUDY else STUDY.replace(
        "[car.tyre]", f"[car.tyre]\n{line}", 1), encoding="utf-8")  # fmt: skip
    refusal(read_study, path)


WRECKS = [
    *("", "x", "1 m", "nan m", "-1 kg", "1e300 N", "a" * 3000, "\u202e", "-2:16:0", "../../x"),
    *(0, -1, 10**20, 0.5, float("nan"), 1e308, True, [], [[]], ["x"] * 500, {}, {"a": {"b": 1}}, None),
]


def places(value, front=()):
    """Where in plain data each entry stands."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [place for key, one in inner for place in [(*front, key), *places(one, (*front, key))]]


def message_of(data) -> str:
    """What is said of a study's data; empty if they are taken."""
    try:
        checked_study(data)
    except WingtoolError as error:
        return str(error)
    return ""


@pytest.mark.parametrize("seed", range(3))
def test_a_wrecked_study_is_read_or_refused_in_one_line(seed):
    rng = random.Random(seed)
    for _ in range(60):
        data = tomllib.loads(STUDY)
        for _ in range(2):
            *path, last = rng.choice(places(data))
            table = data
            for key in path:
                table = table[key]
            table[last] = deepcopy(rng.choice(WRECKS))
        said = message_of(data)
        assert "\n" not in said
        assert len(said) < 700


@pytest.mark.parametrize("call", [read_study, read_section, read_log, read_photo])
def test_nothing_waits_for_a_pipe_or_reads_a_device_without_end(call, tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", "/dev/zero", tmp_path):
        refusal(call, path)
        refusal(read_columns, path, ("x_mm", "y_mm"))


@pytest.mark.parametrize("line", ["9" * 20_000, "9" * 1900 + "x", "1 " * 5000, "0." + "1" * 1900 + "," * 90])
def test_a_line_of_digits_costs_linear_time(line):
    refusal(section_from_text, "\n".join(["name", *["1 0"], *[line] * 300]), "made", "made")
