"""Which sizes make sense for a club racer's wing and car; what lies outside is asked about, not refused.

The ranges are common practice, no source: a slip of the unit or of the decimal point lies outside.
"""

from wingtool.study.schema.study import Study
from wingtool.units import KINDS

# key: (what it is, kind of unit, least, most in SI)
USUAL: dict[str, tuple[str, str, float, float]] = {
    "wing.span": ("span of the wing", "length", 0.5, 2.5),
    "wing.chord": ("chord of the wing", "length", 0.08, 0.6),
    "wing.height": ("height of the wing above the ground", "length", 0.2, 2.2),
    "wing.endplate.height": ("height of an endplate", "length", 0.03, 0.8),
    "car.mass": ("mass of the car", "mass", 350.0, 3000.0),
    "car.wheelbase": ("wheelbase", "length", 1.6, 3.4),
    "car.power": ("power at the wheels", "power", 20e3, 700e3),
    "car.top_speed": ("top speed", "speed", 25.0, 100.0),
    "mounts.behind_rear_axle": ("place of the wing behind the rear axle", "length", -1.0, 1.6),
}


def unusual(key: str, value: float) -> str:
    """A question about a value far outside what is usual; empty if it is usual or nothing is known of it.

    Examples
    --------
    >>> unusual("wing.chord", 0.026)
    'is the chord of the wing really 0.026 m? usual is 0.08 to 0.6 m'
    >>> unusual("wing.chord", 0.25)
    ''
    """
    if key not in USUAL:
        return ""
    name, kind, least, most = USUAL[key]
    if least <= value <= most:
        return ""
    unit = KINDS[kind][0]
    return f"is the {name} really {value:.4g} {unit}? usual is {least:g} to {most:g} {unit}"


def unusual_values(study: Study) -> list[str]:
    """Questions about everything in a study that lies far outside what is usual."""
    wing, car, mounts = study.wing, study.car, study.mounts
    found = {"wing.span": wing.span_m, "wing.chord": wing.chord_m, "wing.height": wing.height_m}
    if wing.endplate and wing.endplate.height_m:
        found["wing.endplate.height"] = wing.endplate.height_m
    if car:
        found |= {"car.mass": car.mass_kg, "car.wheelbase": car.wheelbase_m, "car.power": car.power_w}
    if mounts:
        found["mounts.behind_rear_axle"] = mounts.behind_rear_axle_m
    return [text for key, value in found.items() if (text := unusual(key, value))]
