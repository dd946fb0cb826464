"""Which sizes make sense for a club racer's wing and car; what lies outside is asked about, not refused.

The ranges are common practice, no source: a slip of the unit or of the decimal point lies outside.
"""

from wingtool.files import toml_beside
from wingtool.study.schema.key_lines import values_by_place
from wingtool.study.schema.study import Study
from wingtool.units import (
    KG_PER_LB,
    M_S_PER_KM_H,
    M_S_PER_MPH,
    METRE_PER_FOOT,
    METRE_PER_INCH,
    NEWTON_PER_LBF,
    WATT_PER_HP,
)

# key of the study file: what it is, unit, least, most
USUAL: dict[str, tuple[str, str, float, float]] = {
    key: tuple(row) for key, row in toml_beside(__file__, "usual.toml").items()
}
# The most of the weight in front that rear-driven cars have; common practice, no source.
REAR_DRIVEN_SHARE = 0.59
METRIC_SHOWN = {
    "m": ("mm", 1e-3), "W": ("kW", 1000.0), "m/s": ("km/h", M_S_PER_KM_H), "m of road": ("m", 1.0),
    "N/m": ("N/mm", 1e3),
}  # fmt: skip
US_SHOWN = {
    "m": ("in", METRE_PER_INCH), "m^2": ("ft^2", METRE_PER_FOOT**2), "kg": ("lb", KG_PER_LB),
    "W": ("hp", WATT_PER_HP), "m/s": ("mph", M_S_PER_MPH), "m of road": ("ft", METRE_PER_FOOT),
    "N/m": ("lbf/in", NEWTON_PER_LBF / METRE_PER_INCH),
}  # fmt: skip


def unusual(key: str, value: float, us: bool = False) -> str:
    """A question about a value far outside what is usual; empty if it is usual or nothing is known of it.

    `us`: shown in inches, lb, hp and mph.

    Examples
    --------
    >>> unusual("wing.chord", 0.026)
    'is the chord of the wing really 26 mm? usual is 120 to 500 mm'
    >>> unusual("wing.chord", 0.0254, us=True)
    'is the chord of the wing really 1 in? usual is 4.72 to 19.7 in'
    >>> unusual("wing.chord", 0.25)
    ''
    """
    if key not in USUAL:
        return ""
    name, unit, least, most = USUAL[key]
    if least <= value <= most:
        return ""
    unit, factor = (US_SHOWN if us else METRIC_SHOWN).get(unit, (unit, 1.0))
    value, least, most = (size / factor for size in (value, least, most))
    unit = f" {unit}" if unit else ""
    shown = f"{float(f'{value:.4g}'):g}{unit}"
    return f"is the {name} really {shown}? usual is {_whole(least)} to {_whole(most)}{unit}"


def _whole(value: float) -> str:
    return f"{value:.3g}" if abs(value) < 100.0 else f"{value:.0f}"


def unusual_values(study: Study) -> list[str]:
    """Questions about everything in a study that lies far outside what is usual."""
    values, us = values_by_place(study.model_dump(by_alias=True)), study.units.length == "in"
    found = {key: values.get(tuple(key.split("."))) for key in USUAL}
    corners = study.circuit.segment if study.circuit else ()
    found["circuit.segment.radius"] = min((c.radius_m for c in corners if c.radius_m), default=None)
    return [text for key, value in found.items() if value is not None and (text := unusual(key, value, us))]
