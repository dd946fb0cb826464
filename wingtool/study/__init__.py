"""A study file read, checked and run; one function for each command."""

from wingtool.study.read import checked_study, read_study, study_schema

__all__ = ["checked_study", "read_study", "study_schema"]
