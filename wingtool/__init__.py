"""What a home-built racing wing will do: section, finite wing, car, lap, before anything is cut.

The names of a notebook, each loaded when it is first used:

>>> from wingtool import four_digit, measure
>>> measure(four_digit("2412")).thickness
0.12
"""

from typing import TYPE_CHECKING

from wingtool.lazy import front_door
from wingtool.version import __version__ as __version__

__all__ = [
    "Air",
    "Endplate",
    "Section",
    "SectionPolar",
    "Wing",
    "WingtoolError",
    "find_section",
    "four_digit",
    "load",
    "measure",
    "plot",
    "polar",
    "read_section",
    "read_study",
    "run_study",
    "solve_wing",
    "standard_air",
    "sweep_grid",
]

if TYPE_CHECKING:
    from wingtool.air import Air, standard_air
    from wingtool.errors import WingtoolError
    from wingtool.geometry import Section, find_section, four_digit, measure, read_section
    from wingtool.report import plot
    from wingtool.section import SectionPolar, polar
    from wingtool.study import read_study, run_study, sweep_grid
    from wingtool.table_loading import load
    from wingtool.wing import Endplate, Wing, solve_wing

__getattr__ = front_door(__name__)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
