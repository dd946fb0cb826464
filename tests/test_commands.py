"""The commands from outside: exit codes, one line for what is wrong, no half-written file."""

import csv
import json
import os
import signal
import subprocess
import sys
import time
from functools import partial
from pathlib import Path

import pytest
from typer import Exit

from wingtool.cli import main
from wingtool.cli.app import app
from wingtool.cli.screen import leave
from wingtool.files import bundled
from wingtool.study import bundled_study

COMMAND = str(Path(sys.executable).with_name("wingtool"))
QUICK = ["sweep", "2412", "--method", "surrogate", "--angles", "0:4:2"]


@pytest.fixture
def run(monkeypatch, capsys):
    """Run the command line in this process: exit code, what it printed, what it complained."""

    def call(*words: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["wingtool", *map(str, words)])
        with pytest.raises(SystemExit) as left:
            main()
        out, err = capsys.readouterr()
        return int(left.value.code or 0), out, err

    return call


def refused(outcome: tuple[int, str, str], *parts: str) -> None:
    code, _, err = outcome
    complaints = [line for line in err.splitlines() if not line.startswith("...")]
    assert code == 2
    assert len(complaints) == 1, err
    assert complaints[0].startswith("wingtool: ")
    for part in parts:
        assert part in complaints[0]


def test_sweep_prints_and_writes_the_same_rows(run, tmp_path):
    for ending in ("csv", "json", "nc"):
        code, out, _ = run(*QUICK, "--out", tmp_path / f"t.{ending}")
        assert code == 0
        assert (tmp_path / f"t.{ending}").exists()
    rows = json.loads((tmp_path / "t.json").read_text())["rows"]
    assert [row["alpha_deg"] for row in rows] == [0, 2, 4]
    shown = [line.split() for line in out.splitlines() if line.strip()[0].isdigit()]
    assert [float(line[2]) for line in shown] == pytest.approx([row["cl"] for row in rows], rel=0.01)


def test_each_force_and_coefficient_is_shown_between_the_ends_of_its_band(run, tmp_path):
    """EXACT: low, value, high in order on every row of sweep and wing; the stall's distance to a tenth."""
    study = tmp_path / "wing.toml"
    study.write_text(
        '[wing]\nsection = "2412"\nspan = "4 ft"\nchord = "9 in"\nheight = "4 ft"\nmethod = "surrogate"\n'
        '[sweep]\nangles = "2:6:2"\nspeeds = ["100 mph"]\n'
    )
    for words in (QUICK, ["wing", study]):
        _, out, _ = run(*words)
        assert max(map(len, out.splitlines())) <= 80
        shown = [line.split() for line in out.splitlines() if line.strip()[0].isdigit()]
        assert len(shown) == 3
        for row in shown:
            value, low, high, drag, drag_low, drag_high = map(float, row[2:8])
            assert low <= value <= high
            assert drag_low <= drag <= drag_high
    assert all(len(row[8].split(".")[1]) == 1 for row in shown)


def test_every_command_has_help_with_an_example(run):
    code, listing, _ = run("--help")
    assert code == 0
    names = [command.name for command in app.registered_commands]
    for name in names:
        code, out, _ = run(name, "--help")
        assert code == 0
        assert f"Example: wingtool {name}" in " ".join(out.split())
        assert name in listing
    assert {"demo", "sweep", "wing", "run"} <= set(names)


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (["swep"], "sweep"),
        (["sweep"], "section"),
        (["sweep", "2412", "--raynolds", "1"], "--reynolds"),
        (["sweep", "no-such-section"], "no-such-section"),
        (["sweep", "2412", "--angles", "1:2"], "FROM:TO:STEP"),
        (["sweep", "2412", "--angles", "0:1:1e-320"], "more than 400 angles"),
        (["sweep", "2412", "--angles", "4:0:1"], "--angles"),
        (["sweep", "2412", "--reynolds", "much"], "5e5"),
        (["sweep", "2412", "--reynolds", "nan"], "--reynolds"),
        (["sweep", "2412", "--reynolds", "-1"], "--reynolds"),
        (["sweep", "2412", "--surface", "shiny"], "smooth, race, dirty"),
        (["sweep", "2412", "--method", "guess"], "--method"),
        (["sweep", "2412", "--tab", "50"], "--tab"),
        (["sweep", "2412", "--tab", "nan"], "--tab"),
        (["sweep", "2412", "--trip", "2"], "--trip"),
        (["sweep", "2412", "--ground", "0"], "--ground"),
        (["sweep", "2412", "--out", "x.doc"], ".csv, .json, .nc"),
        (["wing", "no.toml"], "no such file"),
        (["wing", bundled_study(), "--angles", "0:90:10"], "wingtool: --angles: 90"),
        (["wing", bundled_study(), "--angles", "12:0:2"], "wingtool: --angles: '12:0:2'"),
        (["run", bundled_study("shed_stations")], "trace --wing"),
        (["run", "no.toml"], "no such file"),
        (["run"], "study file"),
    ],
)
def test_wrong_words_are_refused_in_one_line(run, words, part):
    refused(run(*words), part)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\x00\x01\x02\xff" * 300,
        b"one\n0 0\n",
        b"bad\n" + b"1 0\n0.5 nan\n0 0\n0.5 -0.1\n1 0\n",
        b"just words\nand more words\n",
        b"\n" * 1000,
    ],
    ids=["empty", "binary", "one point", "nan", "words", "blank lines"],
)
def test_bad_coordinate_files_are_refused_in_one_line(run, tmp_path, content):
    path = tmp_path / "s.dat"
    path.write_bytes(content)
    refused(run("sweep", path, "--method", "surrogate"), "s.dat")


@pytest.mark.parametrize(
    "content",
    [b"", b"\x00\xff", b"[wing]\nspan = 3\n", b"a = 1"],
    ids=["empty", "binary", "no unit", "unknown"],
)
@pytest.mark.parametrize("command", ["wing", "run"])
def test_bad_studies_are_refused_in_one_line(run, tmp_path, content, command):
    path = tmp_path / "s.toml"
    path.write_bytes(content)
    refused(run(command, path), "s.toml")


def test_a_study_whose_section_file_is_missing_says_where_it_was_looked_for(run, tmp_path):
    path = tmp_path / "s.toml"
    path.write_text(
        '[wing]\nsection = "my_trace.dat"\nspan = "4 ft"\nchord = "9 in"\nheight = "4 ft"\n'
        '[sweep]\nangles = "2:6:2"\nspeeds = ["100 mph"]\n'
    )
    refused(run("wing", path), "my_trace.dat", "no such file", "the study names it", str(tmp_path))


def test_the_wings_table_of_an_unknown_section_says_so_first_and_leaves_with_three(run, tmp_path):
    path = tmp_path / "s.toml"
    path.write_text(
        '[wing]\nsection = "4412"\nsection_known = false\nspan = "4 ft"\nchord = "9 in"\nheight = "4 ft"\n'
        'method = "surrogate"\n[sweep]\nangles = "2:6:2"\nspeeds = ["100 mph"]\n'
    )
    code, out, _ = run("wing", path, "--out", tmp_path / "w.csv")
    assert code == 3
    assert out.startswith("NOT TRUSTWORTHY: Section not known: 4412 stands in.")
    assert "6 are taken off, because nobody" in " ".join(out.split())
    table = [line.split() for line in out.splitlines() if line.strip().startswith(("2 ", "4 ", "6 "))]
    with open(tmp_path / "w.csv") as lines:
        margins = [float(row["stall_margin_deg"]) for row in csv.DictReader(lines)]
    assert len(margins) == 3
    assert [float(row[8]) for row in table] == pytest.approx([left - 6.0 for left in margins], abs=0.051)
    first = out.split("(wingtool trace)")[0]
    log = Path(__file__).parents[1] / "studies" / "harrow_down_coasts.csv"
    path.write_text(path.read_text() + CAR_BESIDE)
    code, told, _ = run("verify", path, log, "--angle", "4")
    assert (code, told[: len(first)]) == (3, first)
    code, told, _ = run("choose", path, "--tolerances", "--speed", "100 mph")
    assert (code, told[: len(first)]) == (3, first)


def wing_screen(run, tmp_path, size: str, angles: str, more: str = "") -> tuple[str, dict[float, list[str]]]:
    """What `wing` prints on a 4412 by the surrogate, on one line, and its rows by angle."""
    path = tmp_path / "s.toml"
    path.write_text(
        f'[wing]\nsection = "4412"\nmethod = "surrogate"\n{size}\n{more}\n[sweep]\nspeeds = ["80 mph"]\n'
        f'angles = "{angles}"\n'
    )
    _, out, _ = run("wing", path)
    assert max(map(len, out.splitlines())) <= 80
    table = out.split("One of")[0].splitlines()[1:]
    return " ".join(out.split()), {float(line.split()[0].replace("−", "-")): line.split() for line in table}


ON_A_CAR = 'span = "55 in"\nchord = "25 cm"\nheight = "1.5 m"'
SHORT = 'span = "24 in"\nchord = "14 in"\nheight = "1.5 m"'


def test_the_wings_screen_names_what_is_kept_of_the_degrees_left(run, tmp_path):
    """EXACT: the roof's half band, as README's side view has it, and 3; a row within the band may stall."""
    readme = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
    roof = readme.split("[roof]\n")[1].split("```")[0]
    out, rows = wing_screen(run, tmp_path, ON_A_CAR, "-8:8:4", f"[roof]\n{roof}")
    assert "Keep 10.4 of it: roof's ± 7.4 and margin 3." in out
    doubts = {float(row[8]) < 7.4: " ".join(row[9:]) for row in rows.values()}
    assert doubts == {True: "may stall", False: "converged"}


def test_a_row_past_what_an_unmeasured_roof_leaves_does_not_read_as_converged(run, tmp_path):
    out, rows = wing_screen(run, tmp_path, ON_A_CAR, "0:20:1")
    assert "Keep 3 of it: the margin." in out
    past = [row for row in rows.values() if row[8].startswith("−")]
    assert past[0][9:] == ["may", "stall"]
    assert not any("converged" in row for row in past)


def test_a_margin_without_a_stall_is_told_as_the_least_that_is_left(run, tmp_path):
    """EXACT: what is left at least at each angle is no more than what is left once the stall is found."""
    out, least = wing_screen(run, tmp_path, SHORT, "0:12:6")
    assert ">: no stall was found, so much or more is left (give or take 0.5)." in out
    _, found = wing_screen(run, tmp_path, SHORT, "0:42:6")
    assert all(row[8].startswith(">") for row in least.values())
    assert not any(row[8].startswith(">") for row in found.values())
    assert all(float(row[8][1:]) <= float(found[angle][8]) for angle, row in least.items() if angle in found)


CAR_BESIDE = """[car]
mass = "2400 lb"
front_share = 0.55
wheelbase = "98 in"
cda = "0.7 m^2"
power = "120 hp"
"""

PLAIN = """
title = "plain"
[wing]
section = "4412"
span = "1.4 m"
chord = "25 cm"
height = "1.3 m"
method = "surrogate"
[sweep]
angles = "{angles}"
speeds = [{speeds}]
"""


def test_the_wings_table_is_one_screen_and_all_of_it_with_full(run, tmp_path):
    path = tmp_path / "s.toml"
    path.write_text(PLAIN.format(angles="-4:16:1", speeds='"20 m/s", "30 m/s", "40 m/s"'))
    _, out, _ = run("wing", path)
    assert len(out.splitlines()) < 24
    assert "One of 3 speeds; --full prints all" in out
    _, out, _ = run("wing", path, "--full")
    assert len([line for line in out.splitlines() if line.split()[1:2] in (["72"], ["108"], ["144"])]) == 63


def test_the_wings_table_has_the_cautions_of_stall_and_mounts(run, tmp_path):
    path = tmp_path / "s.toml"
    path.write_text(PLAIN.format(angles="2:4:1", speeds='"40 m/s"'))
    code, out, _ = run("wing", path)
    assert code == 0
    assert "  ! Stall is sudden" in out
    assert "  ! Mounts fail before wings do" in out


CROSSED = b"crossed\n1 0\n0.6 0.05\n0.3 -0.05\n0 0\n0.3 0.05\n0.6 -0.05\n1 0\n"


@pytest.mark.parametrize("content", [CROSSED, b"huge\n1e300 0\n5e299 1e299\n0 0\n5e299 -1e299\n1e300 0\n"])
def test_odd_outlines_give_an_answer_or_one_line(run, tmp_path, content):
    path = tmp_path / "s.dat"
    path.write_bytes(content)
    outcome = run("sweep", path, "--method", "surrogate", "--angles", "0:2:1")
    if outcome[0] == 2:
        refused(outcome, "s.dat")
    assert outcome[0] in (0, 2, 3)


@pytest.mark.parametrize("words", [["sweep"], ["wing"], ["run"]])
def test_a_gigabyte_is_refused_at_once(run, tmp_path, words):
    path = tmp_path / "large"
    with path.open("wb") as file:
        file.truncate(1_000_000_000)
    start = time.perf_counter()
    refused(run(*words, path), "large")
    assert time.perf_counter() - start < 5.0


def test_a_missing_file_and_a_folder_are_refused(run, tmp_path):
    for words in (["sweep"], ["wing"], ["run"]):
        refused(run(*words, tmp_path), str(tmp_path.name))
        refused(run(*words, tmp_path / "none.dat"), "none.dat")


def test_a_place_that_cannot_be_written_is_told(run, tmp_path):
    (tmp_path / "file").write_text("in the way")
    for place in (tmp_path / "file" / "t.csv", "/proc/t.csv", "/dev/full/t.json"):
        refused(run(*QUICK, "--out", place), "cannot write")
        outcome = run("demo", place)
        refused(outcome, "cannot write")
        assert outcome[2].count("\n") == 1, "asked before the long work"
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


def test_a_file_in_place_of_a_folder_is_told_before_the_long_work(run, tmp_path, monkeypatch):
    (tmp_path / "file").write_text("in the way")
    monkeypatch.chdir(tmp_path)
    study, log = bundled_study(), bundled("studies") / "harrow_down_coasts.csv"
    for words in (
        ("lesson", "--out"), ("trust", "--out"), ("run", study, "--out"),
        ("choose", study, "--folder"), (*QUICK, "--keep"),
        ("verify", study, log, "--angle", 4, "--out"),
    ):  # fmt: skip
        outcome = run(*words, "file")
        refused(outcome, "cannot write into file: File exists; choose another folder")
        assert outcome[1] == ""
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "pictures").write_text("in the way")
    refused(run("run", study, "--out", "out"), "cannot write into out/pictures: File exists")
    assert not list((tmp_path / "out").rglob("*.html"))


def test_a_file_that_the_system_refuses_is_named(run, monkeypatch):
    def fail(*_, **__):
        raise PermissionError(13, "Permission denied", "out/tables/x.json")

    monkeypatch.setattr("wingtool.cli.commands.sweep.study.sweep_section", fail)
    refused(run(*QUICK), "cannot read or write out/tables/x.json: Permission denied; check the path")


def test_a_folder_in_place_of_a_section_and_a_study_in_place_of_coordinates_are_told(run, tmp_path):
    refused(run("inspect", tmp_path), "a folder, not a file")
    (tmp_path / "mine.toml").write_text("precious")
    refused(run("inspect", "4412", "--write", tmp_path / "mine.toml"), "end it in .dat or .txt")
    assert (tmp_path / "mine.toml").read_text() == "precious"
    refused(run("choose", bundled_study(), "--jobs", 0), "Invalid value for '--jobs'")


def test_a_full_disk_leaves_the_old_file(run, tmp_path, monkeypatch):
    target = tmp_path / "t.csv"
    target.write_text("old")

    def full(*_args, **_kinds):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("wingtool.files._write_nameless", full)
    monkeypatch.setattr(Path, "write_bytes", full)
    refused(run(*QUICK, "--out", target), "No space left")
    assert target.read_text() == "old"
    assert len(list(tmp_path.iterdir())) == 1


def test_a_full_screen_is_told_without_a_traceback():
    with open("/dev/full", "w") as full:
        done = subprocess.run([COMMAND, *QUICK], stdout=full, stderr=subprocess.PIPE, text=True)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "No space left" in done.stderr


def test_what_cannot_be_trusted_is_said_and_leaves_with_3(run, tmp_path):
    """A flow without friction has no drag to trust: every row is there, and the screen says so."""
    code, out, _ = run(
        "sweep", "2412", "--method", "inviscid", "--angles", "0:4:2", "--out", tmp_path / "t.csv"
    )
    assert code == 3
    assert "Not trustworthy: 3 of 3 rows" in out
    assert len((tmp_path / "t.csv").read_text().splitlines()) == 4


def test_a_long_reason_for_doubt_is_wrapped(capsys):
    with pytest.raises(Exit):
        leave(["a wing in the wake, or inside the car, has no number at all there"] * 3)
    assert max(map(len, capsys.readouterr().out.splitlines())) <= 80


def test_the_version_is_told(run):
    from wingtool.version import __version__

    assert run("--version") == (0, f"wingtool {__version__}\n", "")


def test_sums_do_not_depend_on_the_number_of_cores(run, monkeypatch):
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    run("--version")
    assert os.environ["OPENBLAS_NUM_THREADS"] == "1"
    command = "import sys, wingtool.cli.app; sys.exit('numpy' in sys.modules)"  # read when numpy is imported
    assert subprocess.run([sys.executable, "-c", command]).returncode == 0


def test_progress_is_shown_to_a_person_and_not_to_a_pipe(capsys, monkeypatch):
    from wingtool.cli.progress import progress_bar

    with progress_bar(2) as progress:
        progress("section data")
    assert capsys.readouterr() == ("", "")
    with progress_bar(lines=True) as progress:  # a line now and then, for `choose`, which takes a minute
        for number in (1, 2):
            progress(f"finite wing: {number} of 2")
    assert capsys.readouterr() == ("", "finite wing: 1 of 2\n")
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setenv("TERM", "xterm")
    with progress_bar(2) as progress:
        progress("section data")
    out, err = capsys.readouterr()
    assert out == ""
    assert "left" in err


def test_schema_is_printed(run):
    code, out, _ = run("run", "--schema")
    assert code == 0
    assert "wing" in json.loads(out)["properties"]


def test_ctrl_c_leaves_no_half_file(tmp_path):
    words = [COMMAND, "run", str(bundled_study()), "--out", str(tmp_path / "out")]
    environment = os.environ | {"WINGTOOL_CACHE": str(tmp_path / "cache")}
    # a shell that starts the tests in the background has them, and this child, ignore the signal
    heard = partial(signal.signal, signal.SIGINT, signal.SIG_DFL)
    process = subprocess.Popen(
        words, stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment, preexec_fn=heard
    )
    until = time.monotonic() + 60.0
    while not list(tmp_path.glob("cache/**/*.*")) and time.monotonic() < until:  # in the middle of the work
        time.sleep(0.02)
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "Traceback" not in err
    assert err.splitlines()[-1] == "wingtool: stopped; no file was left half-written"
    left = list((tmp_path / "out").rglob("*")) if (tmp_path / "out").exists() else []
    assert not [path for path in left if path.name.startswith(".")]


@pytest.mark.parametrize("words", [("--out", ""), ("--out=",), ("",)])
def test_an_empty_name_is_refused_before_anything_is_written(run, tmp_path, monkeypatch, words):
    monkeypatch.chdir(tmp_path)
    refused(run("run", bundled_study(), *words), "empty word")
    assert list(tmp_path.iterdir()) == []
