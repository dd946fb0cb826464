"""How the springs and tyres answer: ride height, share of the wheel's load at rest, bump stops."""

from dataclasses import dataclass

from wingtool.car.vehicle import Axle, Car
from wingtool.constants import GRAVITY_M_S2

TYRE_CAUTION = "tyre, wheel bearing, hub and bump-stop loads rise: check load index and spring travel"


@dataclass(frozen=True)
class SpringAnswer:
    """One axle at one speed; None where the study does not say.

    `load_n` added per wheel, `load_change_ratio` over the wheel's load at rest, `drop_m` of ride height,
    `bump_left_m` after the drop, `outer_wheel_n` load of the outer wheel in a corner of `corner_g` with an
    even split of the load transfer, `tyre_share` of its rating, `warning` empty if nothing is wrong.
    """

    axle: str
    speed_m_s: float
    load_n: float
    load_change_ratio: float
    drop_m: float | None
    bump_left_m: float | None
    outer_wheel_n: float | None
    tyre_share: float | None
    warning: str


def spring_answers(
    car: Car, front_air_n: float, rear_air_n: float, speed_m_s: float, corner_g: float
) -> tuple[SpringAnswer, SpringAnswer]:
    """Both axles under the air's load [N per axle] at one speed."""
    couple = car.mass_kg * corner_g * GRAVITY_M_S2 * car.cg_height_m
    return (
        _answer("front", car.front, car.static_front_n, front_air_n, car.front_share * couple, speed_m_s),
        _answer("rear", car.rear, car.static_rear_n, rear_air_n, (1 - car.front_share) * couple, speed_m_s),
    )


def _answer(
    name: str, axle: Axle, static_n: float, air_n: float, roll_couple_nm: float, speed_m_s: float
) -> SpringAnswer:
    per_wheel = air_n / 2.0
    drop = per_wheel / axle.wheel_rate_n_m if axle.wheel_rate_n_m else None
    left = axle.bump_travel_m - drop if axle.bump_travel_m is not None and drop is not None else None
    outer = (static_n + air_n) / 2.0 + roll_couple_nm / axle.track_m if axle.track_m else None
    share = outer / axle.tyre_load_n if outer is not None and axle.tyre_load_n else None
    warnings = []
    if left is not None and left < 0.0:
        warnings.append("on the bump stops: the springs no longer carry it, grip goes suddenly")
    elif left is not None and axle.bump_travel_m and left < 0.4 * axle.bump_travel_m:
        warnings.append("more than 60 % of the bump travel is used up before any bump or roll")
    if share is not None and share > 1.0:
        warnings.append("outer tyre over its load rating")
    if per_wheel < -0.1 * static_n / 2.0:
        warnings.append("the axle loses more than a tenth of its load")
    return SpringAnswer(
        name,
        speed_m_s,
        per_wheel,
        per_wheel / (static_n / 2.0),
        drop,
        left,
        outer,
        share,
        "; ".join(warnings),
    )
