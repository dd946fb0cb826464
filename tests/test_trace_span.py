"""Several sections of one wing in one job: chord and twist along the span, and the study that comes of it."""

from dataclasses import replace

import numpy as np
import pytest
from trace_person import closed, dense, rotation, sides

from wingtool.errors import TraceError
from wingtool.geometry import four_digit
from wingtool.report import span_lines, write_span
from wingtool.section import polar
from wingtool.study import measure_span, read_study
from wingtool.study.trace.shape_band import TWO_SIDED_95, traced_beside, with_shape_band

PLACES, CHORDS, TWISTS = (
    np.array([0.0, 0.4, 1.0]),
    np.array([300.0, 260.0, 200.0]),
    np.array([0.0, -1.6, -4.0]),
)
SET_DEG, ERROR_MM = 5.0, 0.2


@pytest.fixture(scope="module")
def wing(tmp_path_factory):
    """A list with calipers at the middle and the tip, which lies first in it, and a contour between."""
    folder = tmp_path_factory.mktemp("span")
    rng, loop = np.random.default_rng(7), dense(four_digit("4412"))
    share = (
        np.array([0.5, 1, 2, 3.5, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 70, 80, 85, 90, 95, 98, 100]) / 100
    )
    rows = []
    for k in (2, 0, 1):
        tail_down = rotation(-np.radians(SET_DEG + TWISTS[k])).T
        on_table = loop * CHORDS[k] @ tail_down
        text = f"[[station]]\nspan_fraction = {PLACES[k]}\nchord = '{CHORDS[k]:g} mm'\n"
        if k == 1:
            table = (closed(loop, CHORDS[k])[::60] @ tail_down, "x_mm,y_mm", "points")
            table[0][:] += rng.normal(0.0, ERROR_MM, table[0].shape)
        else:
            x = on_table[:, 0].min() + share * np.ptp(on_table[:, 0])
            heights = [side + 50.0 + rng.normal(0.0, ERROR_MM, len(x)) for side in sides(on_table, x)]
            heights = [np.maximum(*heights), np.minimum(*heights)]
            table = (
                np.column_stack([x - x[0] + 0.005 * CHORDS[k], *heights]),
                "x_mm,upper_mm,lower_mm",
                "stations",
            )
            text += f"tail = '{0.00252 * CHORDS[k]:.1f} mm'\n"
        np.savetxt(folder / f"{k}.csv", table[0], "%.2f", ",", header=table[1], comments="")
        rows.append(f"{text}{table[2]} = '{k}.csv'\n")
    common = f"span = '1.6 m'\nheight = '1.1 m'\nerror = '{ERROR_MM} mm'\ndatum_error_deg = 0.1\n"
    (folder / "list.toml").write_text(common + "suction_side = 'up'\n" + "".join(rows))
    return folder / "list.toml"


def test_taper_and_twist_are_found_within_their_bands(wing):
    # EXACT: the wing that the readings were taken from.
    found = measure_span(wing, "w")
    assert found.doubts == ()
    assert max(map(len, span_lines(found)[:3])) <= 80
    assert found.span_fraction == pytest.approx(PLACES)
    assert np.all(np.abs(found.chord_mm - CHORDS) < found.chord_band_mm)
    assert np.all(np.abs(found.twist_deg - TWISTS) <= found.twist_band_deg)
    assert np.all(found.twist_error_deg < 0.4)
    assert found.at(0.7, found.chord_mm) == pytest.approx(230.0, abs=1.0)


def test_the_study_that_is_written_has_them(wing, tmp_path):
    found = measure_span(wing, "w")
    files = write_span(found, tmp_path / "w.dat")
    assert (tmp_path / "w-span.png").stat().st_size > 10000
    study = read_study(tmp_path / "w.toml")
    assert {path.name for path in files} >= {"w-1.dat", "w-3.band.json", "w.toml"}
    assert [s.chord_m for s in study.wing.station] == pytest.approx(found.chord_mm / 1000.0, abs=1e-4)
    assert study.wing.twist_tip_deg == pytest.approx(found.twist_deg[-1], abs=0.01)
    tip = traced_beside(study.wing.station[-1].section, study.folder)
    assert tip.twist_error_deg == pytest.approx(found.twist_error_deg[-1])
    assert "low" not in span_lines(found)[0]


def test_the_twist_widens_the_band_of_lift(wing):
    # EXACT: in quadrature with the shape's, by the lift slope of the surrogate.
    section = measure_span(wing, "w").sections[-1].found
    plain = polar(section.section, 7e5, np.array([2.0, 4.0]), method="surrogate")
    none, some = (with_shape_band(plain, replace(section, twist_error_deg=error)) for error in (0.0, 0.5))
    slope = np.diff(plain.cl[0])[0] / 2.0
    more = np.sqrt((some.cl_high - some.cl) ** 2 - (none.cl_high - none.cl) ** 2)
    assert more == pytest.approx(TWO_SIDED_95 * 0.5 * slope, rel=0.1)


def test_no_common_line_no_twist(wing):
    text = wing.read_text().replace("datum_error_deg = 0.1\n", "")
    other = wing.with_name("loose.toml")
    other.write_text(text)
    found = measure_span(other, "w")
    assert np.isnan(found.twist_deg).all()
    assert any("datum_error_deg" in line for line in span_lines(found))


@pytest.mark.parametrize(
    ("old", "new", "complaint"),
    [
        ("span = '1.6 m'", "", "span"),
        ("span_fraction = 0.4", "span_fraction = 1.0", "two stations at one"),
        ("span_fraction = 0.4", "span_fraction = 4", "span_fraction: a number from 0 to 1"),
        ("span_fraction = 1.0", "span_fraction = 0.6", "measure one more"),
        ("points = '1.csv'", "points = '9.csv'", "9.csv"),
        ("points = '1.csv'", "pionts = '1.csv'", "span_fraction 0.4: unknown key pionts"),
        ("chord = '260 mm'", "chord = 260", "span_fraction 0.4: chord"),
    ],
)
def test_a_wrong_list_is_one_line_that_names_the_station(wing, old, new, complaint):
    other = wing.with_name("wrong.toml")
    other.write_text(wing.read_text().replace(old, new))
    with pytest.raises(TraceError, match=complaint):
        measure_span(other, "w")


def test_a_section_turned_by_its_table_is_turned_back(wing):
    # EXACT: the tip's readings unchanged, its table said to lie a degree tail down, is a degree more twist.
    other = wing.with_name("tilted.toml")
    other.write_text(wing.read_text().replace("span_fraction = 1.0", "span_fraction = 1.0\ndatum_deg = 1.0"))
    twist = measure_span(other, "w").twist_deg - measure_span(wing, "w").twist_deg
    assert twist == pytest.approx([0.0, 0.0, 1.0], abs=1e-9)
