"""A run owns its folder: nothing of an earlier study stays beside the new page, nothing of others goes."""

import os

import pytest

from wingtool.errors import OutputError
from wingtool.files import write_text
from wingtool.report import check_folder, claim, settle


def run(folder, *names):
    claim(folder, folder / "tables")
    return settle(folder, [write_text(folder / name, "x") for name in names])


def test_what_an_earlier_run_wrote_goes_and_what_it_did_not_write_stays(tmp_path):
    (tmp_path / "tables").mkdir()
    (tmp_path / "tables" / "mine.csv").write_text("by hand")
    run(tmp_path, "page.html", "tables/lap.csv", "tables/datapackage.json")
    removed, left = run(tmp_path, "page.html", "tables/wing.csv")
    assert removed == ["tables/lap.csv"]
    assert left == ["tables/mine.csv"]
    assert not (tmp_path / "tables" / "lap.csv").exists()
    assert not (tmp_path / "tables" / "datapackage.json").exists()


def test_a_page_of_somebody_else_is_not_written_over(tmp_path):
    page = write_text(tmp_path / "page.html", "mine")
    with pytest.raises(OutputError, match=r"page.html: not of an earlier run; move it"):
        check_folder(tmp_path)
    page.unlink()
    run(tmp_path, "page.html")
    check_folder(tmp_path)


def test_a_run_that_was_killed_does_not_lock_its_folder(tmp_path):
    claim(tmp_path, tmp_path / "tables")
    write_text(tmp_path / "tables" / "wing.csv", "x")  # and no more: neither page nor final list
    check_folder(tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_list_that_would_never_end_is_no_list(tmp_path):
    os.mkfifo(tmp_path / "files.txt")
    check_folder(tmp_path)


def test_a_list_that_names_files_elsewhere_removes_none(tmp_path):
    folder, elsewhere = tmp_path / "out", tmp_path / "dear.txt"
    elsewhere.write_text("keep")
    run(folder, "page.html")
    with (folder / "files.txt").open("a") as names:
        names.write(f"../dear.txt\n{elsewhere}\nnotes/mine.txt\n")
    run(folder, "page.html")
    assert elsewhere.exists()
