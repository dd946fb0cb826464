"""Springs and tyres under the air's load: ride height, bump stops, outer tyre, clearance of front parts."""

from dataclasses import dataclass
from math import hypot

from wingtool.car.vehicle import Axle, Car
from wingtool.constants import GRAVITY_M_S2
from wingtool.files import words_beside
from wingtool.units import METRE_PER_INCH

TYRE_CAUTION = "tyre, wheel bearing, hub and bump-stop loads rise: check load index and spring travel"
NO_RATES = "give spring_rate in [car.front] and [car.rear]"
NO_TYRE_RATE = "tyre deflection not included: give tyre_rate in [car.front] and [car.rear]"
LEFT_OF_TRAVEL, LIGHTER = 0.4, 0.1  # of the bump travel; of an axle's load: warned from there, own choice
LITTLE_LEFT_M = 0.025  # tyres deflect some 10 mm, a road joint as much again; common practice, no source


@dataclass(frozen=True)
class AxleResponse:
    """One axle at one speed; None where the study does not say.

    `load_n` added per wheel, `load_change_ratio` over the wheel's load at rest, `drop_m` of ride height,
    `bump_left_m` after the drop, `tyre_share` of its rating that the outer tyre bears in a corner
    (load transfer split evenly), `warning` empty if nothing is wrong.
    """

    axle: str
    speed_m_s: float
    load_n: float
    load_change_ratio: float
    drop_m: float | None
    bump_left_m: float | None
    tyre_share: float | None
    warning: str


def axle_responses(
    car: Car, front_air_n: float, rear_air_n: float, speed_m_s: float, corner_g: float
) -> tuple[AxleResponse, AxleResponse]:
    """Both axles under the air's load [N per axle] at one speed."""
    transfer_nm = car.mass_kg * corner_g * GRAVITY_M_S2 * car.cg_height_m
    front, rear = car.front_share * transfer_nm, (1 - car.front_share) * transfer_nm
    return (
        _axle_response("front", car.front, car.static_front_n, front_air_n, front, speed_m_s),
        _axle_response("rear", car.rear, car.static_rear_n, rear_air_n, rear, speed_m_s),
    )


def _axle_response(
    name: str, axle: Axle, static_n: float, air_n: float, roll_couple_nm: float, speed_m_s: float
) -> AxleResponse:
    per_wheel, travel = air_n / 2.0, axle.bump_travel_m
    drop = per_wheel / axle.wheel_rate_n_m if axle.wheel_rate_n_m else None
    left = None if travel is None or drop is None else travel - drop
    outer = (static_n + air_n) / 2.0 + roll_couple_nm / axle.track_m if axle.track_m else None
    share = outer / axle.tyre_load_n if outer is not None and axle.tyre_load_n else None
    warnings = []
    if left is not None and left < 0.0:
        warnings.append(f"{name} on the bump stops: the springs no longer carry it, grip goes suddenly")
    elif left is not None and travel and left < LEFT_OF_TRAVEL * travel:
        warnings.append(f"more than 60 % of the {name} bump travel is used up before any bump or roll")
    if share is not None and share > 1.0:
        warnings.append(f"{name} outer tyre over its load rating")
    if per_wheel < -LIGHTER * static_n / 2.0:
        warnings.append(f"the {name} axle loses more than a tenth of its load")
    change, warning = air_n / static_n, "; ".join(warnings)
    return AxleResponse(name, speed_m_s, per_wheel, change, drop, left, share, warning)


@dataclass(frozen=True)
class Clearance:
    """Ground left under a front part [m]: at rest, in the worst of braking and cornering together, and in
    the same with the air's least load."""

    part: str
    at_rest_m: float
    left_m: float | None
    note: str
    caution: str = ""
    most_left_m: float | None = None


def clearance_left(
    name: str,
    clearance_m: float,
    width_m: float,
    ahead_m: float,
    car: Car,
    axle_loads_n: tuple[float, float],
    brake_g: float,
    corner_g: float,
    balance_without: str = "",
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
        Limits of the tyres at that speed, each alone.
    balance_without : str
        The balance if the part breaks off, in words.
    """
    if car.front.wheel_rate_n_m is None or car.rear.wheel_rate_n_m is None:
        return Clearance(name, clearance_m, None, NO_RATES)
    front, rear = ride_rate_n_m(car.front), ride_rate_n_m(car.rear)

    def lowered(front_n: float, rear_n: float) -> float:
        sink, rear_sink = front_n / (2 * front), rear_n / (2 * rear)
        return sink + (sink - rear_sink) * ahead_m / car.wheelbase_m

    down = lowered(*axle_loads_n)
    shift = car.mass_kg * brake_g * GRAVITY_M_S2 * car.cg_height_m / car.wheelbase_m
    braking = lowered(shift, -shift)
    roll = 0.0
    if car.front.track_m and car.rear.track_m:
        stiffness = (front * car.front.track_m**2 + rear * car.rear.track_m**2) / 2
        roll = car.mass_kg * corner_g * GRAVITY_M_S2 * car.cg_height_m / stiffness * width_m / 2
    left = clearance_m - down - hypot(braking, roll)
    note = "worst of braking and cornering within the friction ellipse; without bump stops and anti-roll bars"
    note += "" if roll else "; no track given, roll left out"
    if car.front.tyre_rate_n_m is None or car.rear.tyre_rate_n_m is None:
        note += f"; {NO_TYRE_RATE}"
    if left <= 0.0:
        note = "touches the ground; " + note
    caution = _ground_caution(name, left, balance_without) if left < LITTLE_LEFT_M else ""
    return Clearance(name, clearance_m, left, note, caution)


def ride_rate_n_m(axle: Axle) -> float:
    """Spring and tyre of one wheel in series [N/m]; the spring alone where the tyre's rate is not known."""
    wheel, tyre = axle.wheel_rate_n_m, axle.tyre_rate_n_m
    assert wheel is not None
    return wheel if tyre is None else 1.0 / (1.0 / wheel + 1.0 / tyre)


def _ground_caution(name: str, left_m: float, balance_without: str) -> str:
    """What happens to car and balance where the part touches the ground."""
    size = f"only {1e3 * left_m:.0f} mm ({left_m / METRE_PER_INCH:.1f} in)" if left_m >= 5e-4 else "nothing"
    lost = f"; if it breaks off, {balance_without}" if balance_without else ""
    return words_beside(__file__, "suspension")["ground"].format(size, name, lost)
