"""All tables of a study in one folder."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from wingtool.report.formats.table_files import write_folder, write_table
from wingtool.report.tables.car import car_tables
from wingtool.report.tables.section import section_table
from wingtool.report.tables.table import Table
from wingtool.report.tables.wing import compact_table, places_table, span_table, tab_table, wing_table
from wingtool.study import StudyResult


def study_tables(result: StudyResult) -> list[Table]:
    """The wing over angle and speed, its load along the span, the section data, and a second opinion."""
    facts = study_facts(result)
    wing = result.wing
    tables = [wing_table(wing, facts), compact_table(wing, facts), span_table(wing, facts)]
    for number, polar in enumerate(result.polars, start=1):
        name = "section" if number == 1 else f"section_{number}"
        tables.append(replace(section_table(polar, facts), name=name))
    if result.second_opinion:
        tables.append(replace(section_table(result.second_opinion, facts), name="second_opinion"))
    if result.tab_choice:
        tables.append(tab_table(result.tab_choice, facts))
    if result.places:
        tables.append(places_table(result.places, facts))
    return tables + (car_tables(result.car, facts, result.study.units) if result.car else [])


def study_facts(result: StudyResult) -> dict[str, Any]:
    """What holds for every table of the study."""
    return {
        "study": result.study.title,
        "section": result.section.name,
        "section_origin": result.section.origin,
        "wingtool_version": result.version,
        "date": result.date,
    }


def write_tables(result: StudyResult, folder: Path | str) -> list[Path]:
    """Write the tables of a study as CSV, JSON and netCDF, with one data package."""
    return write_folder(study_tables(result), folder)


def write_wing_sheet(result: StudyResult, folder: Path | str) -> list[Path]:
    """Write the table of the wing as a spreadsheet."""
    return write_table(wing_table(result.wing, study_facts(result)), Path(folder) / "wing.xlsx")
