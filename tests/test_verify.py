"""The command `verify`: cautions first, what was understood, the word, the way back into the study."""

import tomllib
from dataclasses import replace

import numpy as np
import pytest
from car_stand_ins import stand_in_wing
from simulated_logs import cell_log, coast_logs, corner_log, travel_log
from test_car_study import FULL
from typer.testing import CliRunner

from wingtool.cli.app import app
from wingtool.errors import LogError, StudyError
from wingtool.report import sheet_lines, verify_lines, verify_table
from wingtool.report.checks.verify import evidence_lines
from wingtool.study import car_result, checked_study, read_study, verify_study, write_corrected
from wingtool.study.car.lap import circuit_of
from wingtool.study.verify import verification
from wingtool.study.verify.correction import Correction, best_value, corrected_text
from wingtool.study.wing.correction import corrected
from wingtool.track import judged, student_t

PLAIN = checked_study(FULL | {"splitter": None, "circuit": None})
WING_DRAG = float(0.35 * (0.02 + 0.08 * (0.3 + 0.08 * 12) ** 2))  # of the stand-in at 12 degrees [m2]
WING_DOWN = 0.35 * (0.3 + 0.08 * 12)


def written(log, path, unit="km/h"):
    """A log object as a CSV file."""
    factor = {"km/h": 3.6, "m/s": 1.0}[unit]
    columns = {"time [s]": log.time_s, f"speed [{unit}]": log.channels["speed_m_s"] * factor}
    names = {
        "heading_deg": ("heading [deg]", 1.0), "run": ("run", 1.0),
        "travel_rear_m": ("rear travel [mm]", 1e3), "cells_n": ("load cell [N]", 1.0),
        "lateral_m_s2": ("lateral acc [m/s2]", 1.0),
        "latitude_deg": ("lat", 1.0), "longitude_deg": ("lon", 1.0),
    }  # fmt: skip
    columns |= {n: log.channels[c] * f for c, (n, f) in names.items() if c in log.channels}
    columns["parts"] = log.words["parts"]
    lines = [",".join(columns)]
    rows = zip(*columns.values(), strict=True)
    lines += [",".join(c if isinstance(c, str) else f"{c:.8g}" for c in row) for row in rows]
    path.write_text("\n".join(lines))
    return path


@pytest.fixture(scope="module")
def coast_file(tmp_path_factory):
    true = WING_DRAG + (0.015 + 0.04) * WING_DOWN  # rolling, and the drag of the installation
    # one draw, for the plumbing; how often intervals hold the truth is asked in test_track_evidence.py
    log = coast_logs(1, 5.0, true, pairs=16, first_seed=12)[0]
    return written(log, tmp_path_factory.mktemp("coast") / "coasts.csv")


def test_a_coast_down_file_agrees_with_its_wing(coast_file):
    """EXACT: the simulated car carries the stand-in wing, and the word is consistent."""
    answer = verify_study(PLAIN, coast_file, angle_deg=12.0, wing=stand_in_wing())
    (one,) = answer.evidence
    assert answer.test == "coast-down"
    assert one.word == "consistent"
    assert one.predicted == pytest.approx(WING_DRAG + (0.015 + 0.04) * WING_DOWN)
    assert one.low < one.predicted < one.high
    low, middle, high = sorted(answer.correction.drag)
    assert low < middle < high
    value, below, above = best_value(one)
    assert answer.correction.drag[0] == pytest.approx((value - 0.015 * WING_DOWN) / WING_DRAG)
    assert min(one.change, one.predicted) < value < max(one.change, one.predicted)
    assert above - below < min(one.high - one.low, one.predicted_high - one.predicted_low)
    assert answer.correction.downforce is None
    assert answer.correction.drag_expected[0] == pytest.approx(1.0 + 0.04 * WING_DOWN / WING_DRAG)
    assert one.predicted_low <= WING_DRAG + 0.015 * WING_DOWN  # the installation may add nothing,
    assert one.predicted_high >= WING_DRAG + (0.015 + 0.12) * WING_DOWN  # or 0.12 of the downforce


def test_the_lines_are_answer_then_caution_then_what_was_understood(coast_file):
    answer = verify_study(PLAIN, coast_file, angle_deg=12.0, wing=stand_in_wing())
    lines = verify_lines(answer)
    text = "\n".join(lines)
    parts = ("CONSISTENT", "! Closed course only, with an observer", "Read from the log", "speed in km/h")
    assert [text.index(part) for part in parts] == sorted(text.index(part) for part in parts)
    assert "95 % interval" in text
    assert verify_table(answer).column("word") == ["consistent"]


def test_the_sheet_and_the_answer_ask_for_the_same_mass(coast_file):
    """EXACT: m dV/dt = -F: a coast 0.5 per cent lighter reads 0.5 per cent more of the whole drag area."""
    answer = verify_study(PLAIN, coast_file, angle_deg=12.0, wing=stand_in_wing())
    assert any("carry the parts' weight in the car" in line for line in answer.notes)
    assert any("carry its weight in the boot" in line for line in sheet_lines("coast-down"))


def test_a_wing_that_is_not_there_is_not_found(tmp_path):
    log = coast_logs(1, 5.0, 0.0, pairs=16, first_seed=12)[0]
    answer = verify_study(PLAIN, written(log, tmp_path / "a.csv"), angle_deg=12.0, wing=stand_in_wing())
    assert not answer.evidence[0].found
    assert answer.evidence[0].word in ("not consistent", "too noisy to tell")


@pytest.mark.parametrize(
    ("log", "test", "what"),
    [
        (travel_log(3, 10.0, 0.5), "suspension", "load area of the rear axle"),
        (cell_log(3, 10.0, WING_DOWN), "load-cells", "downforce area of the wing"),
        (corner_log(3, 5.0, 0.3), "corners", "downforce area that the corners feel"),
    ],
)
def test_other_tests_are_known_by_their_columns(tmp_path, log, test, what):
    answer = verify_study(PLAIN, written(log, tmp_path / "a.csv"), angle_deg=12.0, wing=stand_in_wing())
    assert answer.test == test
    assert answer.evidence[0].what == what
    assert np.isfinite(answer.evidence[0].change)


def test_corners_are_held_against_the_car_that_keeps_its_splitter(tmp_path):
    """EXACT: by hand, the growth of the weaker axle where a splitter stays on the car, and without one.

    A wing behind the axle lifts the front: it gives less grip to a car without a front end.
    """
    path = written(corner_log(3, 5.0, 0.3), tmp_path / "a.csv")
    measured = {"downforce": "700 N", "error": "50 N", "speed": "40 m/s"}
    board = FULL["splitter"] | {"measured": measured}
    with_splitter = checked_study(FULL | {"circuit": None, "splitter": board})
    found = {}
    for name, study in (("kept", with_splitter), ("none", PLAIN)):
        answer = verify_study(study, path, 12.0, "corners", wing=stand_in_wing())
        found[name] = answer.evidence[0].predicted
    result = car_result(with_splitter, stand_in_wing(), 12.0)
    car, wing, blade = result.car, result.wing_set, result.front[0].middle
    front, rear = float(result.body.cla_front_m2), float(result.body.cla_rear_m2)
    assert front < 0.0 > rear  # both axles of the bare body are lifted
    weights = np.array([car.static_front_n, car.static_rear_n])

    def least(front, rear):
        return min(np.array([front, rear]) / weights) * car.weight_n

    kept = least(front + blade.cla_front_m2 + wing.cla_front_m2, rear + blade.cla_rear_m2 + wing.cla_rear_m2)
    kept -= least(front + blade.cla_front_m2, rear + blade.cla_rear_m2)
    none = least(front + wing.cla_front_m2, rear + wing.cla_rear_m2) - least(front, rear)
    assert found["kept"] == pytest.approx(kept)
    assert found["none"] == pytest.approx(none)
    assert none < 0.5 * kept


def test_load_cells_correct_the_downforce(tmp_path):
    """EXACT: a wing of 0.8 of its estimate is corrected by 0.8, inside its interval."""
    path = written(cell_log(5, 10.0, 0.8 * WING_DOWN), tmp_path / "a.csv")
    answer = verify_study(PLAIN, path, angle_deg=12.0, wing=stand_in_wing())
    factor, low, high = answer.correction.downforce
    assert low < 0.8 < high
    assert factor == pytest.approx(0.8, abs=0.03)
    assert answer.evidence[0].word == "not consistent"
    assert answer.correction.downforce[0] * WING_DOWN == pytest.approx(answer.evidence[0].change)  # alone


def test_rear_travel_corrects_the_downforce(tmp_path):
    """EXACT: rear load = [DF x + D h + M] / L with the wing at 1.2 of its estimate, its drag as estimated."""
    x, h = 3.0, 1.3
    down = 1.2 * WING_DOWN
    rear = (down * x + (WING_DRAG + 0.04 * WING_DOWN) * h - 0.025 * WING_DOWN) / 2.5
    log = travel_log(4, 10.0, rear, wheel_rate_n_m=50e3 * 0.81)
    answer = verify_study(PLAIN, written(log, tmp_path / "a.csv"), angle_deg=12.0, wing=stand_in_wing())
    one, _ = answer.evidence  # and the lift of the bare body
    assert one.low < rear < one.high
    factor, low, high = answer.correction.downforce
    assert low < factor < high
    assert 1.0 < factor < 1.3  # track and estimate agree, so the value lies between them


def test_the_corrected_study_reads_and_is_applied(tmp_path):
    path = tmp_path / "s.toml"
    path.write_text(
        'title = "a"  # mine\n[wing]\nsection = "4412"\nspan = "1 m"\nchord = "20 cm"\nheight = "1 m"\n'
    )
    first = Correction((0.8, 0.7, 0.9), None, 'cells "x"')
    target = write_corrected(path, first, tmp_path / "t.toml")
    read = read_study(target).correction
    assert (read.downforce_factor, read.downforce_low, read.downforce_high) == (0.8, 0.7, 0.9)
    second = corrected_text(target.read_text(), Correction(None, (1.1, 1.0, 1.2), "coast"))
    table = tomllib.loads(second)["correction"]
    assert table["downforce_factor"] == 0.8  # the earlier one is kept
    assert table["drag_factor"] == 1.1
    assert second.startswith('title = "a"  # mine')
    with pytest.raises(ValueError, match="beside"):
        write_corrected(path, first, tmp_path / "sub" / "t.toml")


def test_a_second_correction_builds_on_the_first(tmp_path):
    """EXACT: with 0.8 in the study already, a wing at 0.8 of its first estimate comes back as 0.8, not 1."""
    study = checked_study(FULL | {"splitter": None, "circuit": None, "correction": {"downforce_factor": 0.8}})
    path = written(cell_log(5, 10.0, 0.8 * WING_DOWN), tmp_path / "a.csv")
    answer = verify_study(study, path, angle_deg=12.0, wing=corrected(stand_in_wing(), study.correction))
    assert answer.correction.downforce[0] == pytest.approx(0.8, abs=0.03)


def test_too_noisy_says_how_many_more(tmp_path):
    log = coast_logs(1, 1.0, 0.01, pairs=4, first_seed=2)[0]
    answer = verify_study(PLAIN, written(log, tmp_path / "a.csv"), angle_deg=0.0, wing=stand_in_wing())
    assert answer.evidence[0].word == "too noisy to tell"
    assert answer.evidence[0].more_units >= 2
    assert answer.correction is None
    assert not answer.conclusive
    assert "more are needed" in "\n".join(verify_lines(answer))


@pytest.mark.parametrize("test", ["coast-down", "suspension", "load-cells", "corners"])
def test_sheets_put_safety_first(test):
    lines = sheet_lines(test)
    assert "closed course only" in lines[0]
    assert "observer" in lines[0]
    assert "event's rules first" in lines[0]


def test_the_command_prints_sheets_and_knows_wrong_words():
    run = CliRunner()
    sheet = run.invoke(app, ["verify", "--sheet", "coast-down"])
    assert sheet.exit_code == 0
    assert "A-B-A-B" in sheet.output
    assert run.invoke(app, ["verify", "--sheet", "moon"]).exit_code == 2
    assert run.invoke(app, ["verify"]).exit_code == 2


def test_no_car_no_verification(coast_file):
    bare = checked_study({"title": "x", "wing": FULL["wing"]})
    with pytest.raises(ValueError, match=r"no \[car\]"):
        verify_study(bare, coast_file, 12.0, wing=stand_in_wing())
    with pytest.raises(ValueError, match="use one of"):
        verify_study(PLAIN, coast_file, 12.0, test="wishful", wing=stand_in_wing())


@pytest.fixture
def plain_file(tmp_path, monkeypatch):
    """A study file on disk whose wing is the stand-in."""
    monkeypatch.setattr(verification, "wing_of_study", lambda *_: stand_in_wing())
    path = tmp_path / "plain.toml"
    path.write_text(
        '[wing]\nsection = "4412"\nspan = "1.4 m"\nchord = "25 cm"\nheight = "1.3 m"\n'
        '[car]\nmass = "1150 kg"\nfront_share = 0.58\nwheelbase = "2.5 m"\npower = "135 kW"\n'
        'cda = "0.72 m^2"\n'
        '[mounts]\nbehind_rear_axle = "50 cm"\n'
    )
    return path


def test_the_command_end_to_end(plain_file, coast_file, tmp_path):
    """Caution first, exit 0 when the log tells, files whole, the corrected study reads."""
    target = tmp_path / "corrected.toml"
    call = [
        "verify",
        str(plain_file),
        str(coast_file),
        "--angle",
        "12",
        "--write",
        str(target),
        "--out",
        str(tmp_path / "o"),
    ]
    done = CliRunner().invoke(app, call)
    assert done.exit_code == 0, done.output
    assert "! Closed course only" in done.stdout
    assert "drag_factor" in done.stdout
    assert "hold the rolling drag of the parts' downforce" in " ".join(done.stdout.split())
    assert 0.5 < read_study(target).correction.drag_factor < 1.5
    assert {p.name for p in (tmp_path / "o").iterdir()} >= {"verify.csv", "verify.png", "datapackage.json"}


def test_too_noisy_leaves_with_three(plain_file, tmp_path):
    path = written(coast_logs(1, 1.0, 0.01, pairs=4, first_seed=2)[0], tmp_path / "a.csv")
    done = CliRunner().invoke(
        app, ["verify", str(plain_file), str(path), "--angle", "0", "--write", str(tmp_path / "x")]
    )
    assert done.exit_code == 3
    assert "TOO NOISY TO TELL" in done.stdout
    assert "not written" in done.stdout
    assert not (tmp_path / "x").exists()


def test_a_circuit_from_a_log(tmp_path):
    """The fastest lap of a log is the study's circuit."""
    written(corner_log(1, 5.0, 0.0, laps=3), tmp_path / "laps.csv")
    circuit = circuit_of(checked_study(FULL | {"circuit": {"name": "logged", "log": "laps.csv"}}, tmp_path))
    assert circuit.origin.startswith("logged lap")
    assert circuit.curvature_1_m.max() < 1 / 20.0


@pytest.mark.parametrize(("change_m2", "offered"), [(WING_DRAG, True), (0.0, False)])
def test_no_correction_to_a_drag_that_pushes(tmp_path, change_m2, offered):
    """EXACT: no change is less than the downforce's own rolling drag, and would leave a drag below zero."""
    path = written(coast_logs(1, 0.2, change_m2, pairs=16, first_seed=12)[0], tmp_path / "coasts.csv")
    answer = verify_study(PLAIN, path, angle_deg=12.0, wing=stand_in_wing())
    assert answer.conclusive
    assert (answer.correction is not None) is offered


@pytest.mark.parametrize("angle_deg", [80.0, -30.0])
def test_an_angle_outside_the_table_is_refused_not_taken_as_its_end(coast_file, angle_deg):
    with pytest.raises(StudyError, match="outside the study's table"):
        verify_study(PLAIN, coast_file, angle_deg=angle_deg, wing=stand_in_wing())


def test_a_speed_the_car_cannot_reach_and_a_unit_nothing_bears_out(tmp_path):
    """EXACT: the top speed is the car's own; a log that stays slow, without positions, asks."""
    fast = travel_log(3, 10.0, 0.5)
    fast.channels["speed_m_s"][:] *= 3.0
    with pytest.raises(LogError, match="tops out at"):
        verify_study(PLAIN, written(fast, tmp_path / "a.csv"), angle_deg=12.0, wing=stand_in_wing())
    slow = travel_log(3, 10.0, 0.5)
    slow.channels["speed_m_s"][:] *= 0.45
    path = written(slow, tmp_path / "b.csv")
    with pytest.raises(LogError, match="--unit speed"):
        verify_study(PLAIN, path, angle_deg=12.0, wing=stand_in_wing())
    told = verify_study(PLAIN, path, angle_deg=12.0, wing=stand_in_wing(), units={"speed": "km/h"})
    assert told.test == "suspension"


def test_best_value_weighs_two_opinions_by_their_variances():
    """EXACT: 0.040 +- 0.010 (estimate, two sigma 0.020) and 0.060 +- 0.020 measured: weights 4 to 1."""
    estimate = (0.060, 0.020, 10)
    one = judged("drag area", "m^2", estimate, 1.0, (0.040, 0.020, 0.060), 5, 5, "run")
    assert one.word == "consistent"
    value, low, high = best_value(one)
    assert value == pytest.approx((4 * 0.040 + 0.060) / 5)
    assert high - value == pytest.approx(2 / np.sqrt(1 / 0.01**2 + 1 / 0.02**2))
    assert one.noticed == pytest.approx(0.020 + (student_t(10) + 0.84) * 0.020)
    told = "\n".join(evidence_lines(one))
    assert "CONSISTENT BUT WEAK" in told
    assert "+0.121 m² might pass unseen" in told  # 0.040 + 0.020 + (2.23 + 0.84) x 0.020 = 0.121
    strong = judged("drag area", "m^2", (0.041, 0.001, 30), 1.0, (0.040, 0.036, 0.044), 16, 16, "run")
    assert "WEAK" not in "\n".join(evidence_lines(strong))


LIFT_M2 = {"front": 0.12, "rear": 0.28}
SPRUNG = FULL["car"] | {
    "front": FULL["car"]["front"] | {"tyre_rate": "220 N/mm"},
    "rear": FULL["car"]["rear"] | {"tyre_rate": "220 N/mm"},
}
RATE_N_M = {"front": 60e3 * 0.95**2, "rear": 50e3 * 0.9**2}


def lift_file(path, sensor="travel", wing_on=False, seed=1):
    """Passes at four steady speeds by Hooke's law; 0.2 mm of stiction a pass, 4 mm of offset by the wing."""
    rng = np.random.default_rng(seed)
    rows, clock = [], 0.0
    for number in range(24):
        on = wing_on and (number // 4) % 2 == 1
        v = np.array([90.0, 115.0, 140.0, 165.0])[number % 4] / 3.6
        pressed = {}
        for axle, lift in LIFT_M2.items():
            tyre = 1 / 220e3 if sensor == "height" else 0.0
            load = 0.5 * 1.225 * v**2 * (-lift + on * {"front": -0.08, "rear": 0.5}[axle])
            pressed[axle] = load / 2 * (1 / RATE_N_M[axle] + tyre) + rng.normal(0.0, 2e-4) + 4e-3 * on
        for step in range(40):
            t = clock + 0.2 * step
            z = [(1 if sensor == "travel" else -1) * 1e3 * pressed[a] + 30.0 for a in LIFT_M2]
            rows.append(f"{t:.1f},{3.6 * v:.3f},{z[0]:.3f},{z[1]:.3f},{'on' if on else 'off'},{number}")
        clock += 60.0
    names = [f"{a} {'travel' if sensor == 'travel' else 'ride height'} [mm]" for a in LIFT_M2]
    path.write_text("\n".join([f"time [s],speed [km/h],{','.join(names)},parts,run", *rows]))
    return path


@pytest.mark.parametrize(("sensor", "wing_on"), [("travel", False), ("travel", True), ("height", True)])
def test_the_bare_bodys_lift_comes_back_from_travel_over_speed(tmp_path, sensor, wing_on):
    """EXACT: lift = -2 k dz / q; an offset of 4 mm on against off is no lift; tyres give in ride height."""
    study = checked_study(FULL | {"splitter": None, "circuit": None, "car": SPRUNG})
    path = lift_file(tmp_path / "a.csv", sensor, wing_on)
    answer = verify_study(study, path, angle_deg=12.0, wing=stand_in_wing())
    found = {e.what.split(", ")[1]: e for e in answer.evidence if e.what.startswith("lift area")}
    assert answer.test == "suspension"
    for axle, lift in LIFT_M2.items():
        one = found[f"{axle} axle"]
        assert one.low < lift < one.high
        assert one.high - one.low < 0.08
    assert len(answer.evidence) == (4 if wing_on else 2)
    assert (answer.correction.downforce is not None) is wing_on
    front, rear, half = answer.correction.body_lift_m2
    assert (front, rear) == pytest.approx((0.12, 0.28), abs=0.04)
    assert half < 0.05


def test_body_lift_is_written_into_the_car(tmp_path):
    """The keys of [car] are put in, an earlier one is replaced, and the study reads."""
    text = (
        '[wing]\nsection = "4412"\nspan = "1 m"\nchord = "20 cm"\nheight = "1 m"\n'
        '[car]  # mine\nmass = "1150 kg"\nfront_share = 0.58\nwheelbase = "2.5 m"\npower = "135 kW"\n'
        'cda = "0.72 m^2"\nlift_area_front = "0.3 m^2"\nlift_area_rear = "0.3 m^2"\n[mounts]\n'
        'behind_rear_axle = "50 cm"\n'
    )
    path = tmp_path / "s.toml"
    path.write_text(text)
    fix = Correction(None, None, "", body_lift_m2=(0.12, -0.05, 0.03))
    assert fix.lines()[0] == "[car]"
    car = read_study(write_corrected(path, fix, tmp_path / "t.toml")).car
    assert (car.lift_area_front_m2, car.lift_area_rear_m2, car.lift_area_band_m2) == (0.12, -0.05, 0.03)
    (tmp_path / "car.toml").write_text(text[text.index("[car]") : text.index("lift_area_front")])
    path.write_text('base = "car.toml"\n' + text[: text.index("[car]")])
    car = read_study(write_corrected(path, fix, tmp_path / "u.toml")).car
    assert (car.mass_kg, car.lift_area_rear_m2) == (1150.0, -0.05)


def test_a_splitter_that_stays_hides_the_bodys_lift(tmp_path):
    study = checked_study(FULL | {"circuit": None, "car": SPRUNG})
    path = lift_file(tmp_path / "a.csv", wing_on=True)
    answer = verify_study(study, path, angle_deg=12.0, wing=stand_in_wing())
    assert not any(e.what.startswith("lift area") for e in answer.evidence)
    assert any("stayed on" in line for line in answer.notes)


@pytest.mark.parametrize("axle", ["front", "rear"])
def test_downforce_from_one_axle(axle):
    """EXACT: the load of 1.1 times the downforce, drag couple and moment by statics, gives back 1.1."""
    from wingtool.car import placed
    from wingtool.study.verify.correction import correction_from

    wing = stand_in_wing()
    moment = -0.1 * wing.downforce.n
    result = car_result(PLAIN, replace(wing, pitching_moment_nm=moment), 12.0)
    car, m = result.wing, result.wing.index(12.0)
    cda = float(car.middle.cda_m2[m])
    areas = placed(1.1 * car.cla_m2[m], cda, car.x_m, car.height_m[m], 2.5, car.cma_m3[m])
    load = float(getattr(areas, f"cla_{axle}_m2"))
    seen = judged(f"load area of the {axle} axle", "m^2", (load, 1e-6, 20), 1.0, (9.0, 9.0, 9.0), 9, 9, "run")
    fix = correction_from("suspension", "wing", (seen,), result, None, "log")
    assert fix.downforce[0] == pytest.approx(1.1)
