"""Several elements with slots: placed, solved with their boundary layers in turn, their polar."""

from wingtool.section.multi.placement import Flap, place_elements
from wingtool.section.multi.polar import elements_polar
