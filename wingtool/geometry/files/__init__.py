"""Coordinate files: text to one checked loop, and back."""

from wingtool.geometry.files.reader import read_section, section_from_text
from wingtool.geometry.files.writer import section_text, write_section
