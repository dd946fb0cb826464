"""Ground left under splitter or air dam when the car dives, rolls and is pressed down; what if it hits."""

from dataclasses import dataclass
from math import hypot

from wingtool.car.vehicle import Axle, Car
from wingtool.constants import GRAVITY_M_S2
from wingtool.units import METRE_PER_INCH

NO_RATES = "give spring_rate in [car.front] and [car.rear]"
NO_TYRE_RATE = "give of the tyres not in it: give tyre_rate in [car.front] and [car.rear]"
LITTLE_LEFT_M = 0.025  # tyres give some 10 mm, a join in the road as much again; common practice, no source


@dataclass(frozen=True)
class Clearance:
    """Ground left under a front part [m]: at rest, what downforce, braking and roll take, each alone, and
    `left_m` in the worst of braking and cornering together."""

    part: str
    at_rest_m: float
    downforce_m: float | None
    braking_m: float | None
    roll_m: float | None
    left_m: float | None
    note: str
    caution: str = ""


def clearance_left(
    name: str,
    clearance_m: float,
    width_m: float,
    ahead_m: float,
    car: Car,
    axle_loads_n: tuple[float, float],
    brake_g: float,
    corner_g: float,
    lost_words: str = "",
) -> Clearance:
    """Clearance under a part `ahead_m` ahead of the front axle, braking and cornering at full downforce.

    Springs, and tyres where their rate is known, in series: load over rate at each axle, extrapolated to the
    part by the body's pitch, so that a rear that sinks raises it; roll by the couple m a h over the roll
    stiffness of the wheels (without an anti-roll bar, so it is an upper bound). The tyres cannot brake and
    turn fully at once: with dive d cos(t) and roll r sin(t) on the friction ellipse the worst is
    sqrt(d^2 + r^2).

    Parameters
    ----------
    axle_loads_n : (front, rear)
        What the air adds to each axle [N].
    brake_g, corner_g : float
        What the tyres can do at that speed, each alone.
    lost_words : str
        What balance is left without the part.
    """
    if car.front.wheel_rate_n_m is None or car.rear.wheel_rate_n_m is None:
        return Clearance(name, clearance_m, None, None, None, None, NO_RATES)
    front, rear = ride_rate_n_m(car.front), ride_rate_n_m(car.rear)
    lever = ahead_m / car.wheelbase_m

    def lowered(front_n: float, rear_n: float) -> float:
        sink, rear_sink = front_n / (2 * front), rear_n / (2 * rear)
        return sink + (sink - rear_sink) * lever

    down = lowered(*axle_loads_n)
    shift = car.mass_kg * brake_g * GRAVITY_M_S2 * car.cg_height_m / car.wheelbase_m
    braking = lowered(shift, -shift)
    roll = None
    if car.front.track_m and car.rear.track_m:
        stiffness = (front * car.front.track_m**2 + rear * car.rear.track_m**2) / 2
        roll = car.mass_kg * corner_g * GRAVITY_M_S2 * car.cg_height_m / stiffness * width_m / 2
    left = clearance_m - down - hypot(braking, roll or 0.0)
    note = "worst of braking and cornering within the friction ellipse; bump stops and bars not in it"
    note += "" if roll else "; no track given, roll left out"
    if car.front.tyre_rate_n_m is None or car.rear.tyre_rate_n_m is None:
        note += f"; {NO_TYRE_RATE}"
    if left <= 0.0:
        note = "touches the ground; " + note
    return Clearance(name, clearance_m, down, braking, roll, left, note, _caution(name, left, lost_words))


def ride_rate_n_m(axle: Axle) -> float:
    """Spring and tyre of one wheel in series [N/m]; the spring alone where the tyre's rate is not known."""
    wheel, tyre = axle.wheel_rate_n_m, axle.tyre_rate_n_m
    assert wheel is not None
    return wheel if tyre is None else 1.0 / (1.0 / wheel + 1.0 / tyre)


def _caution(name: str, left_m: float, lost_words: str) -> str:
    """What hits and what then happens to the balance; empty where more than little is left."""
    if left_m >= LITTLE_LEFT_M:
        return ""
    size = f"only {1e3 * left_m:.0f} mm ({left_m / METRE_PER_INCH:.1f} in)" if left_m >= 5e-4 else "nothing"
    lost = f"; if it breaks off, {lost_words}" if lost_words else ""
    return (
        f"{size} left under the {name}, before any bump, kerb or give of the tyres. Where it hits, the "
        "road bears load that the front tyres then lack and the car pushes straight on; so close to the road "
        f"its downforce can also go all at once{lost}. Raise it or stiffen the front, look for scrape marks "
        "after every session; the event's rules on ground clearance come first"
    )
