"""Slips of a hand with calipers, pen or the words: each is refused or doubted, and the words name it."""

import re
from dataclasses import replace

import numpy as np
import pytest
from trace_person import closed, dense, outward, rotation, sides

from wingtool.errors import TraceError
from wingtool.geometry import find_section, four_digit, polyline
from wingtool.study.trace import run
from wingtool.study.trace.measure import TraceRequest, measure_section
from wingtool.study.trace.run import BAND_ANGLES_DEG, FLOWS_DEG, _flow_doubt

LOOP = dense(four_digit("4412"))
SHARE = np.array([0.5, 1, 2, 3.5, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 85, 90, 95, 98, 100]) / 100
WORDS = {"chord": "250 mm", "tail": "0.6 mm", "suction_side": "up"}


def readings(loop=LOOP, seed=1, share=SHARE) -> np.ndarray:
    """x, upper and lower height [mm] on a table that is 1.5 degrees off, read to 0.25 mm."""
    rng, on_table = np.random.default_rng(seed), loop * 250.0 @ rotation(-np.radians(1.5)).T
    x = on_table[:, 0].min() + share * np.ptp(on_table[:, 0])
    heights = [side + 40.0 + rng.normal(0.0, 0.25, len(x)) for side in sides(on_table, x)]
    return np.round(np.column_stack([250.0 * share, np.maximum(*heights), np.minimum(*heights)]), 1)


def rough(seed, error_mm, decimals) -> np.ndarray:
    """Readings with a larger error."""
    table, rng = readings(seed=seed), np.random.default_rng(100 + seed)
    table[:, 1:] += rng.normal(0.0, error_mm, (21, 2)).round(decimals)
    return table


def asked(folder, table, heading="x_mm,upper_mm,lower_mm", **words) -> str:
    """The refusal, or the doubts, of a table of readings."""
    path = folder / "readings.csv"
    np.savetxt(path, table, "%.4g", ",", header=heading, comments="")
    way = "points" if table.shape[1] == 2 else "stations"
    try:
        return " | ".join(measure_section(TraceRequest(**{way: path}, **(WORDS | words))).doubts)
    except TraceError as error:
        return f"refused: {error}"


def changed(row, column, value):
    """The readings with one cell written down wrong."""
    table = readings()
    table[row, column] = value(table[row, column])
    return table


def transposed(value):
    text = f"{value:.1f}"
    return float(text[1] + text[0] + text[2:])


def apart(slope_deg, shift_mm):
    """The lower side read from a table that moved between the sides."""
    table = readings()
    table[:, 2] -= shift_mm + np.tan(np.radians(slope_deg)) * (table[:, 0] - 125.0)
    return table


def late(row):
    """From a row on the heights of the row before, the tail right."""
    table = readings()
    table[row:-1, 1:] = table[row - 1 : -2, 1:]
    return table


def early(row):
    table = readings()
    table[row:-1, 1:] = table[row + 1 :, 1:]
    return table


def moved(row, up_mm, columns=(1, 2), seed=1):
    table = readings(seed=seed)
    table[row:, columns] += up_mm
    return table


def test_readings_without_a_slip_are_not_doubted(tmp_path):
    assert asked(tmp_path, readings()) == ""


@pytest.mark.parametrize(
    ("table", "named"),
    [
        (readings()[:, [0, 2, 1]], "refused: station x = 1.2 mm: the upper side .* below the lower"),
        (changed(12, 1, lambda v: 10 * v), "refused: station x = 125 mm: upper 592 mm .* lost comma"),
        (changed(7, 0, lambda x: 10 * x), "refused: .*the stations end at 375 mm"),
        (readings() / [1, 25.4, 25.4], "heights in mm as x is, not in cm, inches"),
        (readings() / [25.4, 1, 1], "refused: .*end at 9.84"),
        (readings() / [2.5, 1, 1], "refused: .*per cent of the chord. write x in mm"),
        (readings() / [1, 2.5, 2.5], "per cent of the chord"),
        (changed(12, 1, transposed), "station x = 125 mm, upper 95.2 mm, lies 35.5 mm off"),
        (changed(9, 2, transposed), "station x = 62.5 mm, lower 23 mm, lies 8.4 mm off"),
        (readings()[np.r_[:12, 11:21]], "station x = 100 mm stands twice"),
        (apart(1.2, 0.0), "the lower side lies about 1.9 mm too low"),
        (apart(0.0, 2.0), "the lower side lies about 1.9 mm too low"),
        (late(12), "from station x = (100|125) mm on the heights fit the line before better"),
        (early(10), "from station x = (75|100) mm on the heights fit the line after better"),
        (late(14)[[*range(14), *range(15, 21)]], "from station x = .* line before better"),
        (moved(10, 2.5), "from station x = 75 mm on both sides lie about 2.. mm too high"),
        (moved(12, 2.5, [1]), "from station x = 1.. mm on the upper side lies about 2.. mm too high"),
        (moved(19, 2.5), "from station x = 245 mm on both sides lie about 2.. mm too high"),
        (readings()[:-3], "refused: .*end at 225 mm, the chord is 250 mm: measure on to the tail"),
    ],
)
def test_a_wrong_row_is_named(tmp_path, table, named):
    assert re.search(named, asked(tmp_path, table))


@pytest.mark.parametrize(
    ("word", "value", "named"),
    [
        ("chord", "290 mm", "refused: .*end at 250 mm, the chord is 290 mm"),
        ("chord", "254 mm", "end at 250 mm, the chord is 254 mm"),
        ("tail", "6 mm", "make the tail .* it is 6 mm"),
        ("nose_radius", "8 mm", "make the nose radius .* it is 8 mm"),
        ("thickness", "35 mm", "calipers say 35.0 mm"),
        ("suction_side", "down", "give --suction-side up"),
        ("nose", "right", "the left end is the blunter"),
    ],
)
def test_a_wrong_word_is_named(tmp_path, word, value, named):
    assert re.search(named, asked(tmp_path, readings(), **{word: value}))


@pytest.mark.parametrize("words", [{}, {"chord": None}])
def test_a_forgotten_pen_is_named(tmp_path, words):
    line = closed(LOOP, 250.0)
    line = (line + 3.9 * outward(line))[::25]
    assert "--pen-diameter" in asked(tmp_path, line, "x_mm,y_mm", tail=None, **words)


@pytest.mark.parametrize("pen_mm", [0.0, 1.0, 3.0, 5.0])
def test_points_that_nothing_checks_are_doubted_and_the_band_holds_a_pen(tmp_path, pen_mm):
    """EXACT: the section is known; its points lie outside by half a pen that nobody stated."""
    line = closed(LOOP, 250.0)
    line = (line + 0.5 * pen_mm * outward(line))[::25]
    line += np.random.default_rng(3).normal(0.0, 0.2, line.shape)
    np.savetxt(tmp_path / "pen.csv", line, "%.4g", ",", header="x_mm,y_mm")
    words = {"points": tmp_path / "pen.csv", "suction_side": "up"}
    known = [{"pen_diameter": f"{pen_mm} mm"}, {"chord": "250 mm", "pen_diameter": f"{pen_mm} mm"}]
    assert all(not measure_section(TraceRequest(**words, **more)).doubts for more in known)
    asked = measure_section(TraceRequest(**words))
    assert any(
        "--pen-diameter (0 mm for a contour gauge), --chord or --tail" in doubt for doubt in asked.doubts
    )
    apart = np.hypot(*polyline.feet(LOOP * 250.0, asked.found.section.xy * 250.0)[2].T)
    assert np.mean(apart <= asked.found.band_mm) > 0.95


def test_a_line_left_out_is_placed_where_the_stations_end_short(tmp_path):
    """EXACT: the ninth of 21 lines was not read; the last station lies 2 % before the tail."""
    table = readings(seed=4)
    table[8:-1, 1:] = table[9:, 1:]
    said = asked(tmp_path, table[:-1], tail=None)
    assert "a line was skipped" in said
    assert f"from station x = {table[8, 0]:g} mm on the heights fit the line after" in said


def test_a_misplaced_click_is_named_by_its_number_and_a_bare_nose_refused(tmp_path):
    """EXACT: the section's outline in pixels of 0.2 mm, once round; the ninth click lies 6 mm beside it."""
    from PIL import Image

    line = closed(LOOP, 250.0)
    x = line[:, 0]
    pick = np.unique(np.r_[np.arange(0, len(line), 40), np.flatnonzero(x < 12.0)[::12]])
    clicks = np.column_stack([5.0 * x + 300.0, 700.0 - 5.0 * line[:, 1]])[pick]
    clicks[8, 1] -= 30.0
    Image.new("RGB", (2000, 1400)).save(tmp_path / "wing.jpg")
    marks = np.array([[300.0, 100.0, 0.0, 0.0], [1300.0, 100.0, 200.0, 0.0]])
    np.savetxt(tmp_path / "marks.csv", marks, "%g", ",", header="photo_x,photo_y,x_mm,y_mm", comments="")
    names = {"photo": "wing.jpg", "marks": "marks.csv", "clicked": "clicks.csv"}
    ways = {way: tmp_path / name for way, name in names.items()}

    def named(places):
        np.savetxt(ways["clicked"], places, "%.1f", ",", header="photo_x,photo_y", comments="")
        return measure_section(TraceRequest(chord="250 mm", suction_side="up", **ways)).doubts

    assert named(clicks)[0].startswith("click 9, ")
    with pytest.raises(TraceError, match="every 1 mm round it"):
        named(clicks[(clicks[:, 0] > 330.0) | (np.arange(len(clicks)) < 1)])


def test_a_fine_pen_is_named_by_chord_and_shape_together(tmp_path):
    """A pen of 2.5 mm makes the chord as much longer: five standard deviations of a ruler."""
    rng = np.random.default_rng(5)
    line = (closed(LOOP, 250.0) + 1.25 * outward(closed(LOOP, 250.0)))[::25]
    line = line + rng.normal(0.0, 0.25, line.shape)
    said = asked(tmp_path, line, "x_mm,y_mm", tail=None)
    assert re.search(r"lie about 1\.[1-4] mm too far out all round: .*--pen-diameter", said)
    assert asked(tmp_path, line, "x_mm,y_mm", tail=None, pen_diameter="2.5 mm") == ""


def test_heights_in_centimetres_are_named_by_the_calipers(tmp_path):
    table = readings()
    table[:, 1:] /= 10.0
    assert "heights in cm" in asked(tmp_path, table, thickness="30.0 mm")


def test_tail_corners_that_cross_within_the_error_are_read(tmp_path):
    table = readings()
    table[-1, 1:] = [33.6, 33.9]
    assert asked(tmp_path, table) == ""
    table[-1, 2] = 34.3
    assert "did its zero move" in asked(tmp_path, table)
    table[-1, 2] = 36.0
    assert "refused: " in asked(tmp_path, table)


def test_a_wrong_point_of_a_trace_is_named(tmp_path):
    points = np.round(closed(LOOP, 250.0)[::40] + np.random.default_rng(2).normal(0.0, 0.2, 2), 1)
    points[20, 1] += 9.0
    assert f"point ({points[20, 0]:g}, {points[20, 1]:g}) mm, lies" in asked(tmp_path, points, "x_mm,y_mm")


@pytest.mark.parametrize(
    ("up_mm", "words", "named"),
    [
        (1.2, {}, "at the tail the heights are 2.0 mm apart, the tail measures 0.6 mm: one side's zero"),
        (0.9, {"thickness": "30.0 mm"}, "at the tail .*; the outline is 30.. mm thick, .* say 30.0 mm: one"),
    ],
)
def test_a_zero_that_moved_between_the_sides_shows_at_tail_and_thickest_part(tmp_path, up_mm, words, named):
    assert re.search(named, asked(tmp_path, moved(0, up_mm, [1]), **words))


@pytest.mark.parametrize("seed", [2, 4, 10])
def test_a_zero_does_not_hide_itself_in_the_error_of_the_thickness(tmp_path, seed):
    table = moved(0, 0.85, [1], seed)
    assert "side's zero" in asked(tmp_path, table, thickness="30.0 mm")


@pytest.mark.parametrize("seed", [1, 3, 5])
def test_heights_that_end_before_the_tail_edge_are_no_zero_that_moved(tmp_path, seed):
    """The sides close by about 1 mm over the last hundredth of the chord."""
    share = np.append(SHARE[:-1], 0.99)
    assert asked(tmp_path, readings(dense(four_digit("4418")), seed, share)) == ""


@pytest.mark.parametrize("seed", [3, 23])
def test_rough_heights_are_no_zero_that_moved(tmp_path, seed):
    """The error of the heights at the tail grows to the misfit."""
    assert "side's zero" not in asked(tmp_path, rough(seed, 0.5, 1))


@pytest.mark.parametrize(("seed", "error_mm"), [(3, 1.0), (6, 1.5)])
def test_a_band_of_two_per_cent_is_sound(tmp_path, seed, error_mm):
    assert asked(tmp_path, rough(seed, error_mm, 0), error=f"{error_mm} mm") == ""


@pytest.mark.parametrize("seed", [1, 5, 9, 10, 12, 16, 32])
def test_a_hooked_tail_is_no_slip(tmp_path, seed):
    """The s1223's tail bends down over its last tenth as few sections' do."""
    assert asked(tmp_path, readings(dense(find_section("s1223")), seed), tail=None) == ""


def test_angles_near_stall_are_no_sign_of_a_wrong_outline():
    sound, status = np.isin(BAND_ANGLES_DEG, FLOWS_DEG), np.full(len(BAND_ANGLES_DEG), "low confidence")
    assert _flow_doubt(np.where(sound, "converged", status)) == ()
    assert "at 5 of 5 angles from -2 to 6 deg" in _flow_doubt(np.where(sound, status, "converged"))[0]


def test_a_section_without_a_sound_flow_is_doubted(tmp_path, monkeypatch):
    path, polar = tmp_path / "readings.csv", run.polar
    np.savetxt(path, readings(), "%.4g", ",", header="x_mm,upper_mm,lower_mm", comments="")
    request = TraceRequest(stations=path, method="surrogate", **WORDS)
    monkeypatch.setattr(run.tracing, "load_index", lambda: None)
    monkeypatch.setattr(run.tracing, "nearest", lambda *_: ())
    assert run.trace_wing(request).doubts == ()

    def unsound(*words, **options):
        found = polar(*words, **options)
        return replace(found, status=np.full_like(found.status, "low confidence"))

    monkeypatch.setattr(run, "polar", unsound)
    assert "at 5 of 5 angles" in run.trace_wing(request).doubts[0]


@pytest.mark.parametrize("blank", [True, False])
def test_a_missing_part_is_named_before_all_else(tmp_path, blank):
    """Nothing is said of camber or suction side, which nothing measured there shows."""
    table = readings()
    table[13:20, 1:] = np.nan
    table = np.insert(table if blank else np.delete(table, np.s_[13:20], axis=0), 8, table[8], axis=0)
    said = asked(tmp_path, table, suction_side="down")
    assert "station x = 50 mm stands twice" in said
    assert said.startswith("no stations between 125 and 250 mm: nothing is known of the outline there")
    assert re.search(r"known to \+-[\d.]+ mm at \d+% of the chord, (upper|lower) side as drawn only", said)
    assert "camber" not in said


def test_a_missing_part_is_named_before_too_few_points(tmp_path):
    said = asked(tmp_path, readings()[[0, 2, 4, 6, 8, 10, 20]])
    assert said.startswith("refused: no stations between 75 and 250 mm: nothing is known of the outline")


@pytest.mark.parametrize("blank", [True, False])
def test_a_line_skipped_to_the_tail_is_named(tmp_path, blank):
    table = early(10)
    table[-1, 1:] = np.nan
    if not blank:
        table = table[:-2]
    assert "a line was skipped: then every later value is one row up" in asked(tmp_path, table)
