"""Which units a study speaks in: those that its own texts use for speeds and lengths."""

import re
from typing import Any

from wingtool.units import DisplayUnits

_MPH = re.compile(r"\d\s*(mph|mi/h|mile)")
_INCH = re.compile("\\d\\s*(in\\b|inch|ft\\b|foot|feet|[\"'\u2033\u2032\u201d\u2019])")
LENGTHS = ("span", "chord", "height")


def display_units(data: dict[str, Any]) -> DisplayUnits:
    """Units of the answers; a study that writes no speeds has those of its lengths.

    Examples
    --------
    >>> display_units({"wing": {"span": "55 in", "chord": "9 7/8 in", "height": "1.2 m"}})
    DisplayUnits(speed='mph', length='in', force='lbf')
    >>> display_units({"wing": {"span": "1.4 m"}, "sweep": {"speeds": ["60 mph"]}})
    DisplayUnits(speed='mph', length='mm', force='N')
    """
    tables = (data.get(name) for name in ("wing", "sweep"))
    wing, sweep = (table if isinstance(table, dict) else {} for table in tables)
    lengths = [str(wing[name]) for name in LENGTHS if name in wing]
    inches = 2 * sum(bool(_INCH.search(text)) for text in lengths) > len(lengths)
    speeds = sweep.get("speeds")
    speeds = [str(text) for text in speeds] if isinstance(speeds, (list, tuple)) else []
    mph = 2 * sum(bool(_MPH.search(text)) for text in speeds) > len(speeds) if speeds else inches
    return DisplayUnits("mph" if mph else "km/h", "in" if inches else "mm", "lbf" if inches else "N")
