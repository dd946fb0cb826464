"""Hostile and careless input: refused in one line within two seconds, never evaluated, never waited for."""

import os
import time

import pytest

from wingtool.errors import WingtoolError
from wingtool.geometry import read_section
from wingtool.geometry.files.reader import section_from_text
from wingtool.study import bundled_study, read_study
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


@pytest.mark.parametrize("call", [read_study, read_section, read_log, read_photo])
def test_nothing_waits_for_a_pipe_or_reads_a_device_without_end(call, tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", "/dev/zero", tmp_path):
        refusal(call, path)
        refusal(read_columns, path, ("x_mm", "y_mm"))


@pytest.mark.parametrize("line", ["9" * 20_000, "9" * 1900 + "x", "1 " * 5000, "0." + "1" * 1900 + "," * 90])
def test_a_line_of_digits_costs_linear_time(line):
    refusal(section_from_text, "\n".join(["name", *["1 0"], *[line] * 300]), "made", "made")
