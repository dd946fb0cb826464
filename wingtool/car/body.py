"""Lift of the bare body at each axle: the user's own, or the order of its body type with a wide band."""

from dataclasses import dataclass

from wingtool.car.areas import AxleAreas
from wingtool.car.estimate import Estimate

BODY_LIFT = "lift of the bare body"
FROM_MEMORY = (
    "order of production bodies (lift coefficients of 0.0 to 0.2 an axle on 2 m2), from memory after Hucho, "
    "Aerodynamics of Road Vehicles, 4th ed., chapter 4; not looked up"
)
HOW_TO_MEASURE = (
    "measure it: ride height or suspension travel at several steady speeds without the parts, read by verify "
    "(--sheet suspension); give lift_area_front and lift_area_rear in [car]"
)
# lift area [m2] under the front and the rear axle: low, value, high; None where no body type is given
LIFT_AREA_M2 = {
    None: ((-0.05, 0.10, 0.25), (-0.10, 0.18, 0.45)),
    "hatchback": ((-0.05, 0.10, 0.25), (0.0, 0.20, 0.40)),
    "saloon": ((0.0, 0.12, 0.25), (0.0, 0.20, 0.40)),
    "estate": ((-0.05, 0.10, 0.25), (-0.10, 0.10, 0.30)),
    "coupe": ((0.0, 0.12, 0.25), (0.05, 0.25, 0.45)),
    "open": ((0.0, 0.15, 0.30), (-0.05, 0.15, 0.35)),
}


@dataclass(frozen=True)
class BodyLift:
    """Lift area under each axle [m^2], positive where it unloads the axle, as a balance under the tyres reads
    it: the couple of the body's drag is in it."""

    front: Estimate = Estimate(0.0, 0.0, 0.0)
    rear: Estimate = Estimate(0.0, 0.0, 0.0)
    origin: str = "none"


def body_lift_of_type(body: str | None) -> BodyLift:
    """Lift of a body type; of any body where the type is None."""
    front, rear = (Estimate(middle, low, high) for low, middle, high in LIFT_AREA_M2[body])
    return BodyLift(front, rear, f"{body or 'no body type given'}: {FROM_MEMORY}")


def body_lift_changes(lift: BodyLift) -> list[tuple[AxleAreas, AxleAreas]]:
    """What each end of the band adds to the axle areas, front and rear apart: they are two unknowns."""
    front, rear = lift.front, lift.rear
    return [
        (AxleAreas(front.value - front.low, 0.0, 0.0), AxleAreas(front.value - front.high, 0.0, 0.0)),
        (AxleAreas(0.0, rear.value - rear.low, 0.0), AxleAreas(0.0, rear.value - rear.high, 0.0)),
    ]
