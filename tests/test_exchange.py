"""Tables for other programs, read back by readers that are not ours."""

import math
from dataclasses import replace
from xml.etree import ElementTree as ET

import numpy as np
import openpyxl
import pytest
import xarray

import wingtool
from wingtool.errors import OutputError
from wingtool.report.formats.function_xml import NAMESPACE, function_grid, write_function_xml
from wingtool.report.formats.spreadsheet import write_sheet
from wingtool.report.formats.table_files import write_table
from wingtool.report.tables.table import Column, Table

ANGLES = [0.0, 4.0, 9.0]
SPEEDS = [20.0, 30.0, 55.0]
NS = {"d": NAMESPACE}


def made_table(holes=(), note="=1+1"):
    columns = (
        Column("speed_m_s", "air speed", "m/s"),
        Column("wing_angle_deg", "chord line against the horizontal", "deg", "more downforce"),
        Column("downforce_n", "force on the car", "N", "down"),
        Column("CL", "lift coefficient", "1"),
        Column("status", "what to think of the row", type="string"),
    )
    rows = []
    for v in SPEEDS:
        for a in ANGLES:
            hole = (v, a) in holes
            force = math.nan if hole else (1.0 + a / 3.0) * v**2 / 7.0
            rows.append((v, a, force, force / v**2, "not converged: made" if hole else note))
    return Table(
        "wing", "A made wing", columns, rows, {"date": "2026-11-25"}, ("speed_m_s", "wing_angle_deg")
    )


def numbers(text):
    return [float(part) for part in text.split(",")]


def test_function_tables_come_back_to_the_last_digit(tmp_path):
    """EXACT: read by xml.etree, reshaped by the breakpoint references, last breakpoint fastest."""
    table = made_table()
    root = ET.parse(write_function_xml(table, tmp_path / "wing.xml")).getroot()
    points = {
        b.get("bpID"): numbers(b.find("d:bpVals", NS).text) for b in root.findall("d:breakpointDef", NS)
    }
    (gridded,) = [g for g in root.findall("d:griddedTableDef", NS) if g.get("name") == "downforce_n"]
    axes = [points[r.get("bpID")] for r in gridded.findall("d:breakpointRefs/d:bpRef", NS)]
    values = np.reshape(numbers(gridded.find("d:dataTable", NS).text), [len(a) for a in axes])
    for speed, angle, force, *_ in table.rows:
        assert values[axes[0].index(speed), axes[1].index(angle)] == force


def test_function_file_keeps_the_rules_of_the_standard_that_we_know(tmp_path):
    """From memory of AIAA S-119-2011: order of the parts, unique ids, each reference has its target."""
    root = ET.parse(write_function_xml(made_table(), tmp_path / "wing.xml")).getroot()
    parts = [element.tag.removeprefix(f"{{{NAMESPACE}}}") for element in root]
    order = ["fileHeader", "variableDef", "breakpointDef", "griddedTableDef", "function", "checkData"]
    assert parts == sorted(parts, key=order.index)
    ids = [e.get(k) for e in root.iter() for k in ("bpID", "gtID") if e.tag.endswith("Def") and e.get(k)]
    variables = [e.get("varID") for e in root.findall("d:variableDef", NS)]
    assert len(set(ids)) == len(ids)
    assert len(set(variables)) == len(variables)
    for reference in root.iter():
        name = reference.tag.removeprefix(f"{{{NAMESPACE}}}")
        if name in ("bpRef", "griddedTableRef"):
            assert (reference.get("bpID") or reference.get("gtID")) in ids
        if name in ("independentVarRef", "dependentVarRef"):
            assert reference.get("varID") in variables
        if name == "independentVarRef":
            assert reference.get("extrapolate") == "neither"


def test_check_points_hold_in_the_tables(tmp_path):
    """TWIN: each static shot, looked up by a linear interpolation written here."""
    table = made_table()
    root = ET.parse(write_function_xml(table, tmp_path / "wing.xml")).getroot()
    force = {(v, a): f for v, a, f, *_ in table.rows}
    shots = root.findall("d:checkData/d:staticShot", NS)
    assert len(shots) == 3
    for shot in shots:
        read = {
            s.find("d:varID", NS).text: float(s.find("d:signalValue", NS).text)
            for s in shot.iter()
            if len(s) >= 2 and s.tag.endswith("signal")
        }
        at_angle = [np.interp(read["wing_angle_deg"], ANGLES, [force[v, a] for a in ANGLES]) for v in SPEEDS]
        assert read["downforce_n"] == pytest.approx(np.interp(read["speed_m_s"], SPEEDS, at_angle), rel=1e-12)


def test_missing_breakpoints_are_left_out_and_named(tmp_path):
    table = made_table(holes={(20.0, 9.0)})
    grid = function_grid(table)
    assert grid.axes["speed_m_s"].tolist() == [30.0, 55.0]
    assert "left out because a value is missing there: speed_m_s 20" in grid.note
    with pytest.raises(OutputError, match="too many missing"):
        function_grid(made_table(holes={(20.0, 9.0), (30.0, 0.0)}))
    assert write_table(table, tmp_path / "wing.xml") == [tmp_path / "wing.xml"]


def test_a_column_that_most_rows_lack_is_left_out_and_named():
    """As the lift of a second solution, which few rows have: the wing must still be a function."""
    table = made_table()
    columns = (*table.columns, Column("CL_other", "second solution", "1"))
    rows = [(*row, 1.0 if k == 0 else np.nan) for k, row in enumerate(table.rows)]
    grid = function_grid(replace(table, columns=columns, rows=rows))
    assert grid.axes["speed_m_s"].tolist() == SPEEDS
    assert "CL_other" not in grid.values
    assert "left out because mostly missing: CL_other" in grid.note


def test_an_axis_of_one_breakpoint_is_a_note_and_no_axis():
    table = made_table()
    slow = replace(table, rows=tuple(row for row in table.rows if row[0] == SPEEDS[0]))
    grid = function_grid(slow)
    assert list(grid.axes) == ["wing_angle_deg"]
    assert f"speed_m_s: {SPEEDS[0]:g} throughout" in grid.note
    with pytest.raises(OutputError, match="one row"):
        function_grid(replace(slow, rows=slow.rows[:1]))


def test_a_sheet_comes_back_with_units_values_and_a_chart(tmp_path):
    """EXACT: read by openpyxl as a stranger would."""
    table = made_table(holes={(20.0, 9.0)})
    book = openpyxl.load_workbook(write_sheet(table, tmp_path / "wing.xlsx"))
    sheet = book["wing"]
    assert [cell.value for cell in sheet[1]] == [c.name for c in table.columns]
    assert [cell.value for cell in sheet[2]][:4] == ["m/s", "deg", "N", "1"]
    for row, cells in zip(table.rows, sheet.iter_rows(min_row=3), strict=True):
        for value, cell in zip(row, cells, strict=True):
            if isinstance(value, str):
                assert cell.value == value
            elif math.isnan(value):
                assert cell.value is None
            else:  # the format's writer keeps 16 digits
                assert cell.value == pytest.approx(value, rel=1e-15)
    (chart,) = book["chart"]._charts
    assert len(chart.series) == len(SPEEDS)
    assert chart.series[1].yVal.numRef.f == "wing!$C$6:$C$8"


def test_text_never_becomes_a_formula(tmp_path):
    book = openpyxl.load_workbook(write_sheet(made_table(note='=HYPERLINK("x")'), tmp_path / "wing.xlsx"))
    assert {cell.data_type for cell in book["wing"]["E"]} == {"s"}


def test_every_format_tells_the_same(tmp_path):
    """TWIN: CSV, JSON and netCDF through wingtool.load; netCDF through xarray too. CSV keeps ten digits."""
    table = made_table(note="converged")
    for ending in (".csv", ".json", ".nc"):
        write_table(table, tmp_path / f"wing{ending}")
    where = {"speed_m_s": 25.0, "wing_angle_deg": 7.0}
    read = [wingtool.load(tmp_path / f"wing{ending}") for ending in (".csv", ".json", ".nc")]
    values = [one("downforce_n", **where) for one in read]
    np.testing.assert_allclose(values, values[0], rtol=1e-9)
    assert {one.units["downforce_n"] for one in read} == {"N"}
    assert all((one.status == "converged").all() for one in read)
    with xarray.open_dataset(tmp_path / "wing.nc") as other:
        assert float(other["downforce_n"].sel(speed_m_s=30.0, wing_angle_deg=4.0)) == pytest.approx(
            read[2]("downforce_n", speed_m_s=30.0, wing_angle_deg=4.0), rel=1e-14
        )


def test_the_compact_table_is_the_middle_row_with_its_change():
    """EXACT: the coefficients of the middle speed, and by how much they change over the others, by hand."""
    from wingtool.report.tables.wing import largest_change_percent

    rows = np.array([[1.0, 0.5, np.nan], [1.1, 0.5, 0.2], [1.0, 0.4, 0.2]])
    np.testing.assert_allclose(largest_change_percent(rows, 1), [100 * 0.1 / 1.1, 20.0, 0.0])


def test_a_sheet_is_the_same_twice_and_before_1980(tmp_path, monkeypatch):
    """EXACT: byte by byte, also with a clock of 1970, which an archive cannot hold."""
    import time

    first = write_sheet(made_table(), tmp_path / "a.xlsx").read_bytes()
    monkeypatch.setattr(time, "localtime", lambda *_: time.struct_time((1970, 1, 1, 0, 16, 40, 3, 1, 0)))
    assert write_sheet(made_table(), tmp_path / "b.xlsx").read_bytes() == first


def test_a_sheet_needs_no_temporary_folder(tmp_path, monkeypatch):
    """A file there would stay when the process is killed."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "none"))
    assert openpyxl.load_workbook(write_sheet(made_table(), tmp_path / "wing.xlsx")).sheetnames


def test_netcdf_has_fill_values_of_the_type_of_its_variables(tmp_path):
    """TWIN: read by the netCDF project's own library; the attribute's type must be the variable's."""
    import netCDF4

    write_table(made_table(holes={(20.0, 9.0)}), tmp_path / "wing.nc")
    with netCDF4.Dataset(tmp_path / "wing.nc") as file:
        filled = [v for v in file.variables.values() if "_FillValue" in v.ncattrs()]
        assert filled
        assert {v.getncattr("_FillValue").dtype for v in filled} == {np.dtype("f8")}
        assert "wingtool" in file.history
        assert file["downforce_n"][0, 2] is np.ma.masked


def test_text_in_csv_never_begins_like_a_formula(tmp_path):
    """EXACT: the four signs and the white space that a spreadsheet takes for a formula's beginning."""
    for sign in "=+-@":
        write_table(made_table(note=f"{sign}1+1"), tmp_path / "t.csv")
        assert f"'{sign}1+1" in (tmp_path / "t.csv").read_text()


def test_a_folder_and_a_foreign_package_are_refused_before_the_work(tmp_path):
    from wingtool.report import check_table_path

    (tmp_path / "t.csv").mkdir()
    with pytest.raises(OutputError, match="a folder"):
        check_table_path(tmp_path / "t.csv")
    (tmp_path / "datapackage.json").write_text('{"name": "theirs"}')
    with pytest.raises(OutputError, match="not wingtool's"):
        check_table_path(tmp_path / "other.csv")
