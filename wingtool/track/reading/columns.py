"""What the headings of a log mean: the quantity, and the factor of the unit written in or beside it."""

import re
from dataclasses import dataclass

from wingtool.constants import GRAVITY_M_S2
from wingtool.files import toml_beside
from wingtool.units import M_S_PER_KM_H, METRE_PER_FOOT, METRE_PER_INCH, NEWTON_PER_LBF, USUAL

_HEADINGS = toml_beside(__file__, "headings.toml")
KIND: dict[str, str] = {quantity: row["kind"] for quantity, row in _HEADINGS["quantity"].items()}


def _pattern(words: str) -> re.Pattern[str]:
    for name, part in _HEADINGS["parts"].items():
        words = words.replace(name, part)
    return re.compile(words, re.IGNORECASE)


_PATTERNS = {quantity: _pattern(row["words"]) for quantity, row in _HEADINGS["quantity"].items()}

_KNOT = dict.fromkeys(("kn", "kt", "kts", "knots"), 1852 / 3600)
# kind: unit spelling -> factor to SI (share: to 0..1)
UNITS: dict[str, dict[str, float]] = {
    "time": {"s": 1.0, "sec": 1.0, "secs": 1.0, "seconds": 1.0, "ms": 1e-3, "msec": 1e-3, "min": 60.0},
    "speed": USUAL["speed"] | dict.fromkeys(("kmh", "kph", "km h"), M_S_PER_KM_H) | _KNOT
    | {"mps": 1.0, "m s": 1.0, "ft/s": METRE_PER_FOOT},
    "angle": {"deg": 1.0, "degrees": 1.0, "°": 1.0},
    "length": USUAL["length"] | {"inch": METRE_PER_INCH},
    "acceleration": {"g": GRAVITY_M_S2, "m/s2": 1.0, "m/s^2": 1.0, "m/s²": 1.0, "m s2": 1.0},
    "force": {"n": 1.0, "kn": 1e3, "lbf": NEWTON_PER_LBF, "lb": NEWTON_PER_LBF}
    | dict.fromkeys(("kgf", "kg"), GRAVITY_M_S2),
    "share": {"%": 0.01, "pct": 0.01, "percent": 0.01},
}  # fmt: skip
FREE = {"angle": 1.0, "count": 1.0, "word": 1.0, "share": 1.0}  # kinds that may stand without a unit


@dataclass(frozen=True)
class Heading:
    """A heading understood: `quantity` (None if unknown), `unit` as written (empty if none), `factor` to SI
    (nan if the unit is missing or unknown)."""

    text: str
    quantity: str | None
    unit: str
    factor: float


def heading(text: str, unit_below: str = "") -> Heading:
    """Understand one heading; a unit may stand in brackets, at its end, or in a row below.

    Examples
    --------
    >>> heading("Speed [km/h]").quantity, heading("GPS Speed (mph)").unit, heading("Lateral g").unit
    ('speed', 'mph', 'g')
    >>> heading("oil pressure [bar]").quantity is None
    True
    """
    words, unit = _apart(text)
    unit = unit or unit_below.strip().strip("[]()").lower()
    quantity = _quantity(words)
    if quantity is None and not unit:
        words, unit = _unit_at_end(words)
        quantity = _quantity(words)
    if quantity is None:
        return Heading(text, None, unit, float("nan"))
    kind = KIND[quantity]
    if not unit and kind == "acceleration" and re.search(r"\bg\b", words):
        unit = "g"
    known = UNITS.get(kind, {})
    factor = known.get(unit, float("nan")) if unit else FREE.get(kind, float("nan"))
    if kind in ("count", "word"):
        factor = 1.0
    return Heading(text, quantity, unit, factor)


def _apart(text: str) -> tuple[str, str]:
    bracket = re.search(r"[\[(<]\s*([^\])>]*)\s*[\])>]", text)
    words = text if not bracket else text[: bracket.start()] + " " + text[bracket.end() :]
    words = re.sub(r"[_\-.:]+", " ", re.sub(r"([a-z])([A-Z])", r"\1 \2", words)).lower()
    return " ".join(words.split()), bracket.group(1).strip().lower() if bracket else ""


def _unit_at_end(words: str) -> tuple[str, str]:
    for count in (2, 1):
        parts = words.split(" ")
        if len(parts) > count:
            unit = " ".join(parts[-count:])
            if any(unit in spellings for spellings in UNITS.values()):
                return " ".join(parts[:-count]), unit
    return words, ""


def _quantity(words: str) -> str | None:
    return next((name for name, pattern in _PATTERNS.items() if pattern.fullmatch(words)), None)
