"""Which sizes make sense for a club racer's wing and car; what lies outside is asked about, not refused.

The ranges are common practice, no source: a slip of the unit or of the decimal point lies outside.
"""

from typing import Any

from wingtool.study.schema.study import Study
from wingtool.units import (
    KG_PER_LB,
    M_S_PER_KM_H,
    M_S_PER_MPH,
    METRE_PER_FOOT,
    METRE_PER_INCH,
    WATT_PER_HP,
)

# key of the study file: what it is, unit, least, most
USUAL: dict[str, tuple[str, str, float, float]] = {
    "wing.span": ("span of the wing", "m", 0.8, 2.1),
    "wing.chord": ("chord of the wing", "m", 0.12, 0.5),
    "wing.height": ("height of the wing above the ground", "m", 0.6, 2.0),
    "wing.endplate.height": ("height of an endplate", "m", 0.03, 0.8),
    "correction.downforce_factor": ("factor on the downforce", "", 0.3, 1.5),
    "correction.drag_factor": ("factor on the drag", "", 0.3, 3.0),
    "car.mass": ("mass of the car", "kg", 350.0, 3000.0),
    "car.front_share": ("share of the weight on the front axle", "", 0.3, 0.7),
    "car.wheelbase": ("wheelbase", "m", 1.6, 3.4),
    "car.cg_height": ("height of the centre of gravity", "m", 0.25, 0.9),
    "car.power": ("power at the wheels", "W", 20e3, 700e3),
    "car.cda": ("drag area", "m^2", 0.3, 1.8),
    "car.drag_coefficient": ("drag coefficient", "", 0.2, 1.0),
    "car.frontal_area": ("frontal area", "m^2", 1.0, 3.5),
    "car.top_speed": ("top speed", "m/s", 25.0, 100.0),
    "car.tyre.grip": ("grip", "g", 0.6, 2.0),
    "splitter.overhang": ("overhang of the splitter", "m", 0.01, 0.3),
    "splitter.width": ("width of the splitter", "m", 0.6, 2.2),
    "splitter.clearance": ("clearance of the splitter", "m", 0.03, 0.3),
    "air_dam.height": ("height of the air dam", "m", 0.02, 0.4),
    "air_dam.width": ("width of the air dam", "m", 0.6, 2.2),
    "air_dam.clearance": ("clearance of the air dam", "m", 0.03, 0.3),
    "mounts.behind_rear_axle": ("place of the wing behind the rear axle", "m", -1.0, 1.6),
    "mounts.spacing": ("spacing of the stands", "m", 0.1, 2.0),
    "mounts.stand_height": ("height of the stands", "m", 0.02, 1.0),
    "mounts.wing_mass": ("mass of the wing", "kg", 0.5, 40.0),
}

# The most of the weight in front that rear-driven cars have; common practice, no source.
REAR_DRIVEN_SHARE = 0.59
METRIC_SHOWN = {"W": ("kW", 1000.0), "m/s": ("km/h", M_S_PER_KM_H)}
US_SHOWN = {
    "m": ("in", METRE_PER_INCH), "m^2": ("ft^2", METRE_PER_FOOT**2), "kg": ("lb", KG_PER_LB),
    "W": ("hp", WATT_PER_HP), "m/s": ("mph", M_S_PER_MPH),
}  # fmt: skip


def unusual(key: str, value: float, us: bool = False) -> str:
    """A question about a value far outside what is usual; empty if it is usual or nothing is known of it.

    `us`: shown in inches, lb, hp and mph.

    Examples
    --------
    >>> unusual("wing.chord", 0.026)
    'is the chord of the wing really 0.026 m? usual is 0.12 to 0.5 m'
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
    return f"is the {name} really {value:.4g}{unit}? usual is {_whole(least)} to {_whole(most)}{unit}"


def _whole(value: float) -> str:
    return f"{value:.3g}" if abs(value) < 100.0 else f"{value:.0f}"


def unusual_values(study: Study) -> list[str]:
    """Questions about everything in a study that lies far outside what is usual."""
    found = {key: _value(study, key) for key in USUAL}
    us = study.units.length == "in"
    return [text for key, value in found.items() if value is not None and (text := unusual(key, value, us))]


def _value(table: Any, key: str) -> float | None:
    """What stands at a key of the study file, in SI; None where it is left out."""
    for part in key.split("."):
        fields = type(table).model_fields.items()
        table = next((getattr(table, name) for name, field in fields if (field.alias or name) == part), None)
        if table is None:
            return None
    return table
