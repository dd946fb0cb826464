"""Tables for machines, read back by readers that are not ours."""

import csv
import json

import numpy as np
import pytest
import xarray
from frictionless import validate

from wingtool.errors import OutputError
from wingtool.report import check_table_path, section_table, table_of, write_folder, write_table
from wingtool.section import SectionPolar

WHY = 'not converged: the layer, "odd" é, gave up'


@pytest.fixture
def table():
    alpha, reynolds = np.array([-1.0, 0.1, 2.5]), np.array([3e5, 1e6])
    cl = np.array([[0.1, 1 / 3, np.nan], [0.1, -0.2, 0.30000000000000004]])
    status = np.full(cl.shape, "converged", dtype=object)
    status[0, 2] = WHY
    return section_table(
        SectionPolar(alpha, reynolds, cl, 0.01 + cl**2, -cl, status, "given"), {"version": "x"}
    )


def test_csv_and_its_package_are_valid_for_frictionless(tmp_path, table):
    """TWIN: the Frictionless project's own validator reads types, bounds, primary key and missing values."""
    write_table(table, tmp_path / "my polar.csv")
    report = validate(str(tmp_path / "datapackage.json"))
    assert report.valid, report.flatten()
    assert report.tasks[0].stats["rows"] == 6


def test_frictionless_sees_a_broken_table(tmp_path, table):
    """The check above can fail: a text in a number column, a row out of bounds, a row twice."""
    path = tmp_path / "t.csv"
    write_table(table, path)
    good = path.read_bytes()
    for old, new in (
        (b"-1,300000", b"-1,much"),
        (b"-1,300000", b"-181,300000"),
        (b"0.1,300000", b"-1,300000"),
    ):
        path.write_bytes(good.replace(old, new, 1))
        assert not validate(str(tmp_path / "datapackage.json")).valid


def test_csv_follows_rfc_4180(tmp_path, table):
    """EXACT: line ends CR LF, quotes doubled, same number of fields in each row, UTF-8 (RFC 4180)."""
    write_table(table, tmp_path / "t.csv")
    raw = (tmp_path / "t.csv").read_bytes()
    assert raw.count(b"\n") == raw.count(b"\r\n") == 7
    assert b'"not converged: the layer, ""odd"" \xc3\xa9, gave up"' in raw
    rows = list(csv.DictReader(raw.decode("utf-8").splitlines()))
    assert rows[2]["cl"] == "NaN"
    assert rows[2]["status"] == WHY
    assert float(rows[1]["cl"]) == pytest.approx(1 / 3, rel=1e-9)


def test_json_says_null_where_nothing_converged(tmp_path, table):
    write_table(table, tmp_path / "t.json")
    document = json.loads((tmp_path / "t.json").read_text(encoding="utf-8"))
    assert len(document["rows"]) == 6
    assert document["rows"][2]["cl"] is None
    assert document["rows"][2]["status"] == WHY
    assert document["rows"][5]["cl"] == 0.30000000000000004
    assert {"name", "unit", "description"} <= set(document["columns"][0])


def test_netcdf_reads_back_to_the_last_digit(tmp_path, table):
    """TWIN: xarray with the netCDF project's own library."""
    write_table(table, tmp_path / "t.nc")
    with xarray.open_dataset(tmp_path / "t.nc", engine="netcdf4") as data:
        assert data.cl.dims == ("reynolds", "alpha_deg")
        assert data.cl.values.ravel() == pytest.approx(table.column("cl"), abs=0, nan_ok=True)
        assert data.alpha_deg.attrs["units"] == "degree"
        assert data.cl.attrs["long_name"]
        assert data.attrs["Conventions"].startswith("CF-1")
        assert data.status.values[0, 2].decode() == WHY
        meanings = data.status_flag.attrs["flag_meanings"].split()
        assert meanings[int(data.status_flag.values[0, 2])] == "not_converged"
    with xarray.open_dataset(tmp_path / "t.nc", engine="netcdf4", mask_and_scale=False) as raw:
        assert raw.cl.values[0, 2] == raw.cl.attrs["_FillValue"]


def test_two_tables_in_one_folder_share_one_package(tmp_path, table):
    write_table(table, tmp_path / "a.csv")
    write_table(table, tmp_path / "b.csv")
    write_table(table, tmp_path / "a.csv")
    package = json.loads((tmp_path / "datapackage.json").read_text())
    assert sorted(resource["path"] for resource in package["resources"]) == ["a.csv", "b.csv"]
    assert validate(str(tmp_path / "datapackage.json")).valid
    (tmp_path / "a.csv").unlink()
    write_table(table, tmp_path / "b.csv")
    assert len(json.loads((tmp_path / "datapackage.json").read_text())["resources"]) == 1


@pytest.mark.parametrize("text", ['{"name": "somebody\'s", "resources": []}', "[]", "not json", ""])
def test_somebody_elses_package_is_left_alone(tmp_path, table, text):
    (tmp_path / "datapackage.json").write_text(text)
    with pytest.raises(OutputError, match="not wingtool's"):
        write_table(table, tmp_path / "a.csv")
    assert (tmp_path / "datapackage.json").read_text() == text
    assert not (tmp_path / "a.csv").exists()


def test_unknown_ending_is_refused_before_any_work():
    with pytest.raises(OutputError, match=r"\.csv, \.json, \.nc"):
        check_table_path("polar.xls5")


def test_a_gap_in_the_grid_is_told_not_filled(tmp_path):
    holed = table_of(
        "t", "t", {"alpha_deg": [0, 1, 0], "reynolds": [1, 1, 2]}, grid=("reynolds", "alpha_deg")
    )
    with pytest.raises(OutputError, match="no full grid"):
        write_table(holed, tmp_path / "t.nc")
    assert not list(tmp_path.iterdir())
    write_table(holed, tmp_path / "t.csv")
    assert len((tmp_path / "t.csv").read_text().splitlines()) == 4


def test_infinity_is_no_number_in_a_table(tmp_path):
    table = table_of("t", "t", {"alpha_deg": [0.0], "height_chord": [np.inf]})
    written = write_folder([table], tmp_path)
    assert len(written) == 3
    assert (tmp_path / "t.csv").read_text().split() == ["alpha_deg,height_chord", "0,NaN"]
    assert json.loads((tmp_path / "t.json").read_text())["rows"][0]["height_chord"] is None
