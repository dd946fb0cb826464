"""Several elements with slots: placed, solved with their boundary layers in turn, their polar."""

from typing import TYPE_CHECKING

from wingtool.lazy import front_door

if TYPE_CHECKING:
    from wingtool.section.multi.placement import Flap, place_elements
    from wingtool.section.multi.polar import elements_polar, missing_element_rows

__getattr__ = front_door(__name__)
