"""What a home-built racing wing will do: section, finite wing, car, lap, before anything is cut.

The names of a notebook, each loaded when it is first used:

>>> from wingtool import four_digit, measure
>>> measure(four_digit("2412")).thickness
0.12
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

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

_ROOMS = {
    "air": ("Air", "standard_air"),
    "errors": ("WingtoolError",),
    "geometry": ("Section", "find_section", "four_digit", "measure", "read_section"),
    "report": ("plot",),
    "section": ("SectionPolar", "polar"),
    "study": ("read_study", "run_study", "sweep_grid"),
    "table_loading": ("load",),
    "wing": ("Endplate", "Wing", "solve_wing"),
}
_HOME = {name: room for room, names in _ROOMS.items() for name in names}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"wingtool has no {name!r}; it has {', '.join(__all__)}")
    value = getattr(import_module(f"wingtool.{_HOME[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
