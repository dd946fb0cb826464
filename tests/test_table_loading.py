"""Loading a table: interpolation, bounds, refusals. EXACT: a bilinear function comes back to rounding."""

import csv
import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.io import netcdf_file

import wingtool
from wingtool.errors import RangeError, TableError

ANGLES = [0.0, 5.0, 12.5]
SPEEDS = [20.0, 30.0, 50.0, 55.0]


def force(angle, speed):
    return 3.0 + 0.25 * angle - 0.5 * speed + 0.125 * angle * speed


def write_table(folder, rows, key=("wing_angle_deg", "speed_m_s"), name="wing.csv"):
    heading = ["wing_angle_deg", "speed_m_s", "downforce_n", "status"]
    kinds = ["number", "number", "number", "string"]
    fields = [{"name": n, "type": k, "unit": "N"} for n, k in zip(heading, kinds, strict=True)]
    schema = {"fields": fields, "primaryKey": list(key), "missingValues": ["NaN"]}
    package = {"resources": [{"path": name, "schema": schema}]}
    (folder / "datapackage.json").write_text(json.dumps(package))
    with (folder / name).open("w", newline="") as handle:
        csv.writer(handle).writerows([heading, *rows])
    return folder / name


def grid_rows():
    return [[a, v, force(a, v), "converged"] for a in ANGLES for v in SPEEDS]


@pytest.fixture
def table(tmp_path):
    return wingtool.load(write_table(tmp_path, grid_rows()))


@pytest.fixture(scope="module")
def shared_table(tmp_path_factory):
    return wingtool.load(write_table(tmp_path_factory.mktemp("table"), grid_rows()))


@given(angle=st.floats(0.0, 12.5), speed=st.floats(20.0, 55.0))
def test_a_bilinear_function_comes_back_exactly(shared_table, angle, speed):
    value = shared_table("downforce_n", wing_angle_deg=angle, speed_m_s=speed)
    assert value == pytest.approx(force(angle, speed), abs=1e-9)


def test_arrays_broadcast(table):
    angles = np.array([1.0, 2.0])[:, None]
    value = table("downforce_n", wing_angle_deg=angles, speed_m_s=np.array([21.0, 44.0]))
    assert value.shape == (2, 2)
    assert value[1, 1] == pytest.approx(force(2.0, 44.0))


def test_units_and_bounds_travel(table):
    assert table.units["downforce_n"] == "N"
    assert table.bounds == {"wing_angle_deg": (0.0, 12.5), "speed_m_s": (20.0, 55.0)}


@pytest.mark.parametrize("angle", [-0.001, 12.501, float("nan")])
def test_outside_is_refused(table, angle):
    with pytest.raises(RangeError, match="wing_angle_deg .* is outside 0 to 12.5"):
        table("downforce_n", wing_angle_deg=angle, speed_m_s=30.0)


def test_row_order_does_not_matter(tmp_path, table):
    shuffled = grid_rows()[::-1]
    again = wingtool.load(write_table(tmp_path, shuffled))
    np.testing.assert_array_equal(again.values["downforce_n"], table.values["downforce_n"])


def test_a_hole_is_refused_only_where_it_is_used(tmp_path):
    rows = grid_rows()
    rows[0] = [0.0, 20.0, "NaN", "not converged: residual"]
    table = wingtool.load(write_table(tmp_path, rows))
    assert table("downforce_n", wing_angle_deg=0.0, speed_m_s=30.0) == pytest.approx(force(0.0, 30.0))
    with pytest.raises(RangeError, match="not converged: residual"):
        table("downforce_n", wing_angle_deg=1.0, speed_m_s=21.0)


def test_missing_and_unknown_names_are_told(table):
    with pytest.raises(TableError, match="say where along speed_m_s, 20 to 55"):
        table("downforce_n", wing_angle_deg=1.0)
    with pytest.raises(TableError, match="no axis 'speed'"):
        table("downforce_n", wing_angle_deg=1.0, speed=30.0)
    with pytest.raises(TableError, match="no column 'drag_n'"):
        table("drag_n", wing_angle_deg=1.0, speed_m_s=30.0)


def test_a_grid_with_a_gap_is_refused(tmp_path):
    with pytest.raises(TableError, match="11 rows are no full grid of 3 by 4"):
        wingtool.load(write_table(tmp_path, grid_rows()[:-1]))


@pytest.mark.parametrize(
    ("spoil", "complaint"),
    [
        (lambda f: (f / "datapackage.json").unlink(), "needs its datapackage.json"),
        (lambda f: (f / "datapackage.json").write_text("{"), "is not JSON"),
        (lambda f: (f / "datapackage.json").write_text("[]"), "says nothing of wing.csv"),
        (lambda f: (f / "wing.csv").write_bytes(b"\xff\xfe\x00"), "not a UTF-8 CSV"),
        (lambda f: (f / "wing.csv").write_text(""), "not a UTF-8 CSV|headings|no rows"),
        (lambda f: (f / "wing.csv").write_text("a,b\n1,2\n"), "headings differ"),
        (lambda f: (f / "wing.csv").unlink(), "no such file"),
    ],
)
def test_a_spoilt_file_is_one_line(tmp_path, spoil, complaint):
    path = write_table(tmp_path, grid_rows())
    spoil(tmp_path)
    with pytest.raises(TableError, match=complaint) as caught:
        wingtool.load(path)
    assert "\n" not in str(caught.value)


def test_netcdf_gives_the_same(tmp_path, table):
    path = tmp_path / "wing.nc"
    words = np.array([["converged"] * len(SPEEDS)] * len(ANGLES))
    words[0, 0] = "not converged: residual"[:9]
    with netcdf_file(path, "w") as file:
        for name, points in (("wing_angle_deg", ANGLES), ("speed_m_s", SPEEDS)):
            file.createDimension(name, len(points))
            file.createVariable(name, "d", (name,))[:] = points
        file.createDimension("letters", 9)
        variable = file.createVariable("downforce_n", "d", ("wing_angle_deg", "speed_m_s"))
        variable[:] = table.values["downforce_n"]
        variable.units = "N"
        status = file.createVariable("status", "c", ("wing_angle_deg", "speed_m_s", "letters"))
        status[:] = words.astype("S9").view("S1").reshape(*words.shape, 9)
    again = wingtool.load(path)
    where = {"wing_angle_deg": 3.0, "speed_m_s": 44.0}
    assert again("downforce_n", **where) == table("downforce_n", **where)
    assert again.units["downforce_n"] == "N"
    assert again.status[1, 1] == "converged"
    assert again.status[0, 0] == "not conve"
