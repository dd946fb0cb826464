"""Section shapes: the value object, coordinate files, families by formula, measures, spacing."""

from wingtool.geometry import kulfan, polyline
from wingtool.geometry.families import five_digit, four_digit
from wingtool.geometry.files import read_section, section_from_text, section_text, write_section
from wingtool.geometry.find import collection_names, collection_section, find_section, profile_names
from wingtool.geometry.measures import Measures, drawn_upside_down, measure
from wingtool.geometry.shape import Section, turned_over
from wingtool.geometry.spacing import repanel
