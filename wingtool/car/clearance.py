"""Ground left under splitter or air dam when the car dives, rolls and is pressed down; what if it hits."""

from dataclasses import dataclass

from wingtool.car.vehicle import Car
from wingtool.constants import GRAVITY_M_S2
from wingtool.units import METRE_PER_INCH

NO_RATES = "give spring_rate in [car.front] and [car.rear]"
LITTLE_LEFT_M = 0.025  # tyres give some 10 mm, a join in the road as much again; common practice, no source


@dataclass(frozen=True)
class Clearance:
    """Ground left under a front part [m]: at rest, and less what braking, roll and downforce take."""

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
    front_load_n: float,
    brake_g: float,
    corner_g: float,
    gone_words: str = "",
) -> Clearance:
    """Clearance under a part `ahead_m` ahead of the front axle, braking and cornering at full downforce.

    Springs alone: load over wheel rate at each axle, extrapolated to the part by the body's pitch; roll by
    the couple m a h over the roll stiffness of the wheel springs (without an anti-roll bar, so it is an
    upper bound). Tyres and dampers are not in it. Worst case adds all three. `gone_words` say what balance
    is left without the part.
    """
    front, rear = car.front.wheel_rate_n_m, car.rear.wheel_rate_n_m
    if front is None or rear is None:
        return Clearance(name, clearance_m, None, None, None, None, NO_RATES)
    down = front_load_n / (2 * front) * (1 + ahead_m / car.wheelbase_m)
    shift = car.mass_kg * brake_g * GRAVITY_M_S2 * car.cg_height_m / car.wheelbase_m
    dive_front, rise_rear = shift / (2 * front), shift / (2 * rear)
    braking = dive_front + (dive_front + rise_rear) * ahead_m / car.wheelbase_m
    roll = None
    if car.front.track_m and car.rear.track_m:
        stiffness = (front * car.front.track_m**2 + rear * car.rear.track_m**2) / 2
        roll = car.mass_kg * corner_g * GRAVITY_M_S2 * car.cg_height_m / stiffness * width_m / 2
    left = clearance_m - down - braking - (roll or 0.0)
    note = "all at once, springs only: tyres, bump stops and bars not in it"
    note += "" if roll else "; no track given, roll left out"
    if left <= 0.0:
        note = "touches the ground; " + note
    return Clearance(name, clearance_m, down, braking, roll, left, note, _caution(name, left, gone_words))


def _caution(name: str, left_m: float, gone_words: str) -> str:
    """What hits and what then happens to the balance; empty where more than little is left."""
    if left_m >= LITTLE_LEFT_M:
        return ""
    size = f"only {1e3 * left_m:.0f} mm ({left_m / METRE_PER_INCH:.1f} in)" if left_m >= 5e-4 else "nothing"
    gone = f"; if it breaks off, {gone_words}" if gone_words else ""
    return (
        f"{size} left under the {name}, before any bump, kerb or give of the tyres. Where it hits, the "
        "road bears load that the front tyres then lack and the car pushes straight on; so close to the road "
        f"its downforce can also go all at once{gone}. Raise it or stiffen the front, look for scrape marks "
        "after every session; the event's rules on ground clearance come first"
    )
