"""A study file read, checked and run; one function for each command."""

from wingtool.study.read import checked_study, read_study, study_schema
from wingtool.study.sweep import DEFAULT_METHOD, section_of, sweep_section

__all__ = ["DEFAULT_METHOD", "checked_study", "read_study", "section_of", "study_schema", "sweep_section"]
