"""From measured points to a section with its band: shape functions, fit, offsets, draws, files."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from trace_person import closed, dense, outward, rotation

from wingtool.errors import TraceError
from wingtool.geometry import Section, four_digit
from wingtool.geometry.kulfan import bernstein, loop_matrix, outline, side, side_rows
from wingtool.study import top_face
from wingtool.tracing import (
    as_drawn,
    band_path,
    camber_of,
    draws,
    find_datum,
    fit_outline,
    left_open,
    measure_rows,
    nose_end,
    points_readings,
    read_columns,
    read_traced,
    slips,
    station_readings,
    traced,
    write_traced,
)
from wingtool.tracing.band import band_of
from wingtool.tracing.fit.curve import GAP, NOSE, ORDER, SHAPE, Placed, distances

DATA = Path(__file__).parent / "data"
CHORD = 250.0


def four_digit_thickness(x, t):
    """NACA Report 460 (1933), equation on page 4."""
    root = np.sqrt(x)
    return 5 * t * (0.2969 * root - 0.126 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4)


def shape_of(loop: np.ndarray) -> np.ndarray:
    """Shape parameters by plain least squares on a dense loop: no prior, no noise."""
    nose = loop[:, 0].argmin()
    x = np.clip(loop[:, 0], 0.0, 1.0)
    upper = (np.arange(len(x)) <= nose)[:, None]
    columns, sign = side(x, ORDER), np.where(upper[:, 0], 0.5, -0.5)
    nose_term = x * (1.0 - x) ** (ORDER + 0.5)
    rows = np.column_stack([columns * upper, columns * ~upper, nose_term, sign * x])
    return np.linalg.lstsq(rows, loop[:, 1], rcond=None)[0]


def apart_mm(shape: np.ndarray, loop: np.ndarray) -> np.ndarray:
    """Distance [mm] of a true loop's points from the outline of shape parameters."""
    placed = Placed(shape, np.array([0.0, 0.0, 0.0, np.log(CHORD)]))
    return distances(placed, loop[::40] * CHORD, np.zeros(len(loop[::40]), dtype=int)).distance_mm


def noisy(loop, error_mm, seed=0, count=240, **kind):
    rng = np.random.default_rng(seed)
    outline_mm = closed(loop, CHORD)
    pick = np.linspace(0, len(outline_mm) - 1, count).astype(int)
    return points_readings(
        outline_mm[pick] + rng.normal(0.0, error_mm, (count, 2)), max(error_mm, 0.05), **kind
    )


def test_the_nose_term_is_common_to_both_sides():
    """EXACT: x (1 - x)^(order + 1/2), by definition: at 1/4, of 12 weights, 0.25 * 0.75^12.5."""
    shape = np.zeros(SHAPE)
    shape[NOSE] = 1.0
    rows = side_rows(np.array([0.25]), ORDER)
    assert [float(row[0] @ shape) for row in rows] == pytest.approx([0.0068581, 0.0068581], rel=1e-4)


def test_bernstein_polynomials_are_those_of_the_definition():
    # EXACT: B_1 of degree 3 at 1/2 is 3 (1/2) (1/2)^2.
    assert bernstein(0.5, 4)[1] == pytest.approx(3 / 8)


def nose_radius(shape):
    """Kulfan 2008, equation 5, of the mean of both sides' first weights."""
    first = 0.5 * (shape[0] - shape[(len(shape) - 2) // 2])
    return 0.5 * first**2


def test_first_and_last_weight_are_nose_radius_and_tail_slope():
    # EXACT: Kulfan 2008, equations (5) and (6): S(0) = sqrt(2 R), S(1) = tail slope + half gap; the radius
    # from the outline itself as the limit of y^2 / (2 x).
    shape = np.concatenate([np.linspace(0.2, 0.1, ORDER), np.linspace(-0.2, -0.05, ORDER), [0.0, 0.004]])
    x, step = 1e-9, 1e-6
    y = side(np.array([x, 1.0 - step]), ORDER) @ shape[:ORDER] + 0.5 * np.array([x, 1.0 - step]) * shape[GAP]
    assert y[0] ** 2 / (2 * x) == pytest.approx(nose_radius(shape), rel=1e-3)
    assert (y[1] - 0.5 * shape[GAP]) / step == pytest.approx(shape[ORDER - 1] - 0.5 * shape[GAP], rel=1e-3)


def test_shape_function_of_a_symmetric_four_digit_section():
    # PUBLISHED: thickness of NACA Report 460 over the class function, x/c 0.02 to 0.95. Its root of x is no
    # polynomial, so twelve weights hold it to 0.0005 there and the nose radius (1.1019 t^2) to 5 %.
    t = 0.12
    shape = shape_of(dense(four_digit("0012")))
    x = np.linspace(0.02, 0.95, 40)
    y = four_digit_thickness(x, t)
    wanted = (y - x * four_digit_thickness(1.0, t)) / (np.sqrt(x) * (1.0 - x))
    assert bernstein(x, ORDER) @ shape[:ORDER] == pytest.approx(wanted, abs=5e-4)
    assert nose_radius(shape) == pytest.approx(1.1019 * t**2, rel=0.05)


def test_published_ordinates_are_kept():
    # PUBLISHED: ordinates by NACA Report 460's equations (tests/data/naca_ordinates.csv), against a fit of
    # points of our own family on 250 mm. 0.05 mm for the 0012; 0.1 mm for the 4412, whose mean line has a
    # step in curvature that no smooth fit keeps.
    lines = [line for line in (DATA / "naca_ordinates.csv").read_text().splitlines() if line[:1] != "#"]
    for name, tolerance_mm in (("0012", 0.05), ("4412", 0.10)):
        rows = np.array([[float(v) for v in line.split(",")[4:8]] for line in lines if line.startswith(name)])
        found = fit_outline(points_readings(four_digit(name, 160).xy * CHORD, 0.05))
        points = np.vstack([rows[:, :2], rows[:, 2:]]) * CHORD
        away = distances(found.placed, points, np.zeros(len(points), dtype=int)).distance_mm
        assert np.abs(away).max() < tolerance_mm


@pytest.mark.parametrize("name", ["0012", "2412", "4415", "6409"])
def test_clean_points_give_the_section_back(name):
    # EXACT: the section is known. 0.1 mm on 250 mm: the smoothness prior and twelve weights.
    found = fit_outline(noisy(dense(four_digit(name)), 0.0))
    assert np.abs(apart_mm(found.placed.shape, dense(four_digit(name)))).max() < 0.15
    assert found.placed.chord_mm == pytest.approx(CHORD, abs=0.3)
    assert found.unsettled_mm < 0.05


def test_a_pen_is_taken_off_along_the_normal():
    # EXACT: points on the parallel curve 3.9 mm outside, any order; the tail's corners have their arcs.
    loop = dense(four_digit("4412"))
    mm = closed(loop, CHORD)
    line = (mm + 3.9 * outward(mm))[::20]
    rng = np.random.default_rng(1)
    rng.shuffle(line)
    found = fit_outline(points_readings(line, 0.1, 7.8))
    assert np.abs(apart_mm(found.placed.shape, loop)).max() < 0.2


@settings(max_examples=8, deadline=None)
@given(
    angle=st.floats(-0.4, 0.4),
    shift=st.tuples(st.floats(-500, 500), st.floats(-500, 500)),
    seed=st.integers(0, 3),
)
def test_place_and_turn_do_not_matter(angle, shift, seed):
    readings = noisy(dense(four_digit("4412")), 0.1, seed, 120)
    moved = points_readings(readings.points_mm @ rotation(angle).T + np.array(shift), 0.1)
    one, other = fit_outline(readings), fit_outline(moved)
    assert np.abs(outline(one.placed.shape) - outline(other.placed.shape)).max() < 3e-4


def test_a_wrong_point_is_left_out_and_named():
    loop = dense(four_digit("4412"))
    readings = noisy(loop, 0.1)
    readings.points_mm[60] += [0.0, 6.0]
    found = fit_outline(readings)
    assert found.outlier[60]
    assert found.outlier.sum() <= 3
    assert "lies" in slips(found)[1][0]
    assert np.abs(apart_mm(found.placed.shape, loop)).max() < 0.3


def test_smoothing_over_something_real_is_said():
    loop = dense(four_digit("4412"))
    dent = np.exp(-(((loop[:, 0] - 0.3) / 0.015) ** 2)) * (loop[:, 1] > 0.03)
    dented = loop - np.column_stack([np.zeros(len(loop)), 0.006 * dent])
    found = fit_outline(noisy(dented, 0.05))
    assert any("in a row" in note for note in found.doubts)


def test_waves_larger_than_the_stated_error_are_said():
    loop = dense(four_digit("4412"))
    waves = 0.003 * np.sin(2 * np.pi * loop[:, 0] / 0.07) * np.sin(np.pi * loop[:, 0]) ** 2
    found = fit_outline(noisy(loop + np.column_stack([np.zeros(len(loop)), waves]), 0.1))
    assert found.misfit > 1.5
    assert any("leaves out something real" in note for note in found.doubts)


def test_residuals_far_below_the_stated_error_are_said_and_the_band_kept():
    loop = dense(four_digit("4412"))
    few = fit_outline(points_readings(noisy(loop, 0.02).points_mm, 1.0))
    assert few.misfit < 0.3
    assert any("stated error" in note for note in few.doubts)
    fair = fit_outline(points_readings(noisy(loop, 0.02).points_mm, 0.2))
    wide, narrow = (np.median(traced(found, "x", 1.0).band_mm) for found in (few, fair))
    assert wide > 2 * narrow


def test_caliper_heights_give_the_section():
    loop = dense(four_digit("2412"))
    x = np.array([0.5, 1, 2, 3.5, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 85, 90, 95, 98, 100]) / 100
    nose = loop[:, 0].argmin()
    upper, lower = np.interp(x, *loop[: nose + 1][::-1].T), np.interp(x, *loop[nose:].T)
    readings = replace(
        station_readings(x * CHORD, 20 + upper * CHORD, 20 + lower * CHORD, 0.1),
        chord_mm=(CHORD, 0.3), tail_mm=(0.63, 0.05), nose_radius_mm=(3.97, 0.2),
    )  # fmt: skip
    found = fit_outline(readings)
    assert np.abs(apart_mm(found.placed.shape, loop)).max() < 0.3


def test_crossed_heights_and_too_few_points_are_refused():
    x = np.linspace(0, 200, 20)
    with pytest.raises(TraceError, match="below the lower side"):
        station_readings(x, np.zeros(20), 2.0 * np.ones(20), 0.3)
    with pytest.raises(TraceError, match="too few"):
        points_readings(np.zeros((5, 2)), 0.3)
    with pytest.raises(TraceError, match="above zero"):
        points_readings(np.eye(20, 2) * 100, 0.0)
    with pytest.raises(TraceError, match="check the units"):
        points_readings(np.ones((20, 2)), 0.3)
    loop = dense(four_digit("4412")) * CHORD
    with pytest.raises(TraceError, match="lower side"):
        fit_outline(station_readings(loop[:2000:90, 0], loop[:2000:90, 1], np.full(23, np.nan), 0.3))


def test_half_a_section_is_not_taken_for_a_wing():
    loop = dense(four_digit("4415"))
    fore = loop[loop[:, 0] < 0.45]
    doubts = fit_outline(as_drawn(points_readings(fore[::20] * CHORD, 0.2), "left", False)).doubts
    assert any("no wing's" in doubt for doubt in doubts)


def test_points_of_no_section_are_refused():
    rng = np.random.default_rng(0)
    with pytest.raises(TraceError, match="section-like"):
        fit_outline(points_readings(rng.uniform(0, 100, (80, 2)), 0.3))


def test_nose_and_upper_side_go_where_the_person_says():
    loop = dense(four_digit("4412")) * CHORD
    right = points_readings(loop[::20] * [-1, 1], 0.1)
    assert nose_end(right.points_mm) == "right"
    camber = {}
    for word, turned in (("as it lies", False), ("turned over", True)):
        shape = fit_outline(as_drawn(right, "right", turned)).placed.shape
        camber[word] = camber_of(shape)
    assert camber["as it lies"] == pytest.approx(0.038, abs=0.0006)
    assert camber["turned over"] == pytest.approx(-0.038, abs=0.0006)


def test_draws_are_smooth_and_spread_as_the_band_says():
    # TWIN: the band from the covariance by derivatives against the spread of the draws' ordinates.
    found = fit_outline(noisy(dense(four_digit("4412")), 0.3))
    shapes = draws(found.placed.shape, found.covariance, 1500)
    x, matrix = loop_matrix(ORDER, 101)
    y = shapes @ matrix.T
    middle = (x > 0.15) & (x < 0.85)
    spread_mm = 1.96 * y.std(axis=0)[middle] * CHORD
    points = outline(found.placed.shape)[middle]
    assert spread_mm == pytest.approx(band_of(found.placed.shape, found.covariance, CHORD, points), rel=0.15)
    apart = y - y.mean(axis=0)
    neighbours = [np.corrcoef(apart[:, k], apart[:, k + 1])[0, 1] for k in np.flatnonzero(middle)[:-1]]
    assert min(neighbours) > 0.9
    assert np.all(shapes[:, GAP] >= 0.0)


def test_what_is_left_open_widens_the_band_by_what_a_refit_moves():
    """TWIN: the linear fit's answer to 0.2 mm on the upper side against a fit to readings moved by it."""
    readings = noisy(dense(four_digit("4412")), 0.1)
    found = fit_outline(readings)
    on = distances(found.placed, readings.points_mm, found.foot_side)
    upper_mm = 0.2 * ((found.foot_side > 0) & (found.foot_x > 0.05) & (found.foot_x < 0.97))
    moved = readings.points_mm + upper_mm[:, None] * on.jacobian[:, SHAPE : SHAPE + 2]
    points = outline(found.placed.shape)
    middle = (points[:, 0] > 0.1) & (points[:, 0] < 0.9)
    refit = outline(fit_outline(replace(readings, points_mm=moved)).placed.shape)
    wide, narrow = (
        band_of(f.placed.shape, f.covariance, CHORD, points)
        for f in (left_open(found, upper_mm[:, None]), found)
    )
    grown = np.sqrt(wide**2 - narrow**2)[middle] / 1.96
    assert grown == pytest.approx(np.abs(refit - points)[middle, 1] * CHORD, abs=0.02)


def test_a_smaller_error_gives_a_narrower_band():
    loop = dense(four_digit("4412"))
    wide, narrow = (np.median(traced(fit_outline(noisy(loop, e)), "x", e).band_mm) for e in (0.3, 0.1))
    assert narrow < 0.6 * wide


def test_measures_by_hand_are_derivatives_of_the_shape():
    # EXACT: central differences of radius and thickness.
    shape = shape_of(dense(four_digit("2412")))
    step = 1e-5 * np.eye(SHAPE)
    radius = [(nose_radius(shape + d) - nose_radius(shape - d)) / 2e-5 for d in step]
    assert measure_rows(shape)["nose radius"][0] == pytest.approx(np.array(radius), abs=1e-8)
    assert measure_rows(shape)["thickness"][0] @ shape == pytest.approx(0.12, abs=5e-4)


def test_straightedge_lies_on_the_convex_hull():
    # TWIN: the longest lower edge of the convex hull by scipy.
    from scipy.spatial import ConvexHull

    shape = shape_of(dense(four_digit("6409")))
    points = outline(shape, 101)
    hull = points[ConvexHull(points).vertices]
    edges = np.diff(np.vstack([hull, hull[:1]]), axis=0)
    longest = edges[np.hypot(*edges.T).argmax()]
    datum = find_datum(shape, 1e-8 * np.eye(SHAPE))
    assert "on the lower side" in datum.text
    assert datum.angle_deg == pytest.approx(-np.degrees(np.arctan2(longest[1], longest[0])), abs=0.05)
    round_section = shape_of(four_digit("0012").xy)
    assert "template" in find_datum(round_section, 1e-8 * np.eye(SHAPE)).text
    face = top_face(Section("6409", points))
    assert face is not None
    assert face.offset_deg == pytest.approx(-datum.angle_deg, abs=0.05)
    assert (face.first, face.last) == pytest.approx(datum.contacts, abs=0.02)


def test_a_traced_section_is_read_back(tmp_path):
    found = traced(fit_outline(noisy(dense(four_digit("4412")), 0.3)), "shed wing", 0.3)
    write_traced(found, tmp_path / "wing.dat")
    again = read_traced(tmp_path / "wing.dat")
    assert np.array_equal(again.covariance, found.covariance)
    assert np.array_equal(again.section.xy, found.section.xy)
    assert again.notes == found.notes
    assert read_traced(tmp_path / "other.dat") is None
    band_path(tmp_path / "wing.dat").write_text('{"format": 1}')
    with pytest.raises(TraceError, match="not a band file"):
        read_traced(tmp_path / "wing.dat")


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("x_mm,y_mm\n1,2\n3,4\n", [[1, 2], [3, 4]]),
        ("\ufeffx_mm;y_mm\n1,5;2\n", [[1.5, 2]]),
        ('"x_mm";"y_mm"\n"1,5";"2,0"\n', [[1.5, 2]]),
        ('"x_mm","y_mm"\n"1,5","2,0"\n3,"-0,5"\n', [[1.5, 2], [3, -0.5]]),
        ("x_mm,y_mm,\n1,2,\n3,4,,\n", [[1, 2], [3, 4]]),
        ("# shed\nY_in\tnote\tX_in\n1\tnose\t2\n", [[50.8, 25.4]]),
        ("1 2\n\n3 4", [[1, 2], [3, 4]]),
        ("1,2,\n3,4,\n", [[1, 2], [3, 4]]),
        ("x_cm, y_cm\n1, -\n", [[10, np.nan]]),
    ],
)
def test_tables_as_people_write_them(tmp_path, text, wanted):
    path = tmp_path / "points.csv"
    path.write_text(text, encoding="utf-8")
    assert np.array_equal(read_columns(path, ("x_mm", "y_mm")), np.array(wanted, dtype=float), equal_nan=True)


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("x_mm,z_mm\n1,2\n", "line 1: no column y_mm"),
        ("x_mm,y_mm\n1,2\n3,four\n", "line 3: 'four'"),
        ("x_mm,y_mm\n", "without rows"),
        ("", "no rows"),
        ("1\n2\n", "1 columns"),
        ("x_mm,y_mm\n0,5,1,5\n", "line 2: 4 cells where the first line has 2; if the commas are decimal"),
        ("x_mm,y_mm\n1,2\n0.5,1.5,2.5\n", "line 3: 3 cells where the first line has 2; mend that line"),
        ("0,5,1,5\n10,5,3,5\n", "line 1: 4 columns without a heading; .* put semicolons"),
        ('x_mm,y_mm\n"10,5\n20,6\n', "line 2: a quotation mark is not closed"),
    ],
)
def test_a_table_that_cannot_be_read_names_the_line(tmp_path, text, complaint):
    path = tmp_path / "points.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(TraceError, match=complaint):
        read_columns(path, ("x_mm", "y_mm"))


def test_a_sheet_printed_too_small_is_noticed():
    loop = dense(four_digit("4412"))
    small = replace(noisy(0.95 * loop, 0.2), chord_mm=(CHORD, 0.5))
    assert any("100 mm line" in note for note in fit_outline(small).doubts)
    right = replace(noisy(loop, 0.2), chord_mm=(CHORD, 0.5))
    assert not any("span" in note for note in fit_outline(right).doubts)


def test_thousands_of_points_are_thinned_and_told():
    readings = points_readings(100 * np.random.default_rng(0).normal(size=(5000, 2)), 0.3)
    assert len(readings.points_mm) == 400
    assert "400 of 5000" in readings.notes[0]
