"""The car as its owner knows it: corner weights, springs, tyres, power, drag and lift without the parts."""

from dataclasses import dataclass

import numpy as np

from wingtool.car.areas import AxleAreas
from wingtool.car.estimate import Estimate
from wingtool.constants import GRAVITY_M_S2
from wingtool.errors import StudyError
from wingtool.files import words_beside
from wingtool.units import M_S_PER_KM_H

NEUTRAL = "the car is taken as neutral in a slow corner without the parts"
BODY_LIFT = "lift of the bare body"
FASTEST_M_S = 140.0  # end of the speeds that are searched
WORDS = words_beside(__file__, "vehicle")
HOW_TO_MEASURE = WORDS["how_to_measure"]
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
class Tyre:
    """Grip of the car's tyres, as the car itself shows it.

    Parameters
    ----------
    grip : float
        Lateral acceleration over gravity that the car holds in a slow, flat corner. Measured on the car,
        it includes the loss by load transfer.
    load_sensitivity : float
        Exponent n of grip force = const * load^(1 - n); 0 for a friction coefficient that never falls.
        About 0.05 to 0.2 is common practice, no source.
    brake_grip : float
        Braking over gravity with all wheels at their limit.
    """

    grip: float = 1.0
    load_sensitivity: float = 0.1
    brake_grip: float = 1.0


@dataclass(frozen=True)
class Axle:
    """One axle's springs and tyres; None where not given, nothing is guessed.

    Parameters
    ----------
    wheel_rate_n_m : float, optional
        Force at one wheel for its travel [N/m]: spring rate times (spring travel / wheel travel)^2.
    bump_travel_m : float, optional
        Wheel travel left to the bump stop with the car at rest [m].
    track_m : float, optional
        Between the tyre centres [m].
    tyre_load_n : float, optional
        What one tyre may carry [N], from its load index.
    tyre_rate_n_m : float, optional
        Vertical stiffness of one tyre [N/m].
    """

    wheel_rate_n_m: float | None = None
    bump_travel_m: float | None = None
    track_m: float | None = None
    tyre_load_n: float | None = None
    tyre_rate_n_m: float | None = None


@dataclass(frozen=True, eq=False)
class Gears:
    """Speeds at the rev limit and the shape of the power curve.

    Parameters
    ----------
    limit_speed_m_s : ndarray, shape (g,)
        Car speed at the rev limit in each gear [m/s], rising.
    rev_share, power_share : ndarray, shape (p,)
        Engine speed over its limit (rising) and power over the greatest power.
    """

    limit_speed_m_s: np.ndarray
    rev_share: np.ndarray
    power_share: np.ndarray


@dataclass(frozen=True)
class BodyLift:
    """Lift area under each axle [m^2], positive where it unloads the axle, as a balance under the tyres reads
    it: the couple of the body's drag is in it."""

    front: Estimate = Estimate(0.0, 0.0, 0.0)
    rear: Estimate = Estimate(0.0, 0.0, 0.0)
    origin: str = "none"


@dataclass(frozen=True, eq=False)
class Car:
    """The car without wing, splitter and air dam.

    Parameters
    ----------
    mass_kg : float
        With driver and fuel [kg].
    front_share : float
        Share of the weight on the front axle at rest.
    wheelbase_m, cg_height_m : float
        Wheelbase, and height of the centre of gravity [m].
    cda_m2, cda_low_m2, cda_high_m2 : float
        Drag area [m^2] and its band.
    body_lift : BodyLift
        Lift of the bare body under each axle with its band.
    power_w : float
        At the wheels [W].
    rolling : float
        Rolling resistance over weight.
    rotating_mass_factor : float
        Effective mass in acceleration, wheels and driveline included, over mass.
    driven : str
        ``front``, ``rear`` or ``all``.
    nose_m : float
        Front edge of the body ahead of the front axle [m].
    roof_height_m : float, optional
        Above the ground [m]; no caution on the wing's height without it.
    tyre : Tyre
    front, rear : Axle
    gears : Gears, optional
        Without them the power is the same at any speed.
    name : str
    notes : tuple of str
        Values assumed where none was given.
    """

    mass_kg: float
    front_share: float
    wheelbase_m: float
    cg_height_m: float
    cda_m2: float
    power_w: float
    cda_low_m2: float = 0.0
    cda_high_m2: float = 0.0
    body_lift: BodyLift = BodyLift()
    rolling: float = 0.015
    rotating_mass_factor: float = 1.04
    driven: str = "rear"
    nose_m: float = 0.8
    roof_height_m: float | None = None
    tyre: Tyre = Tyre()
    front: Axle = Axle()
    rear: Axle = Axle()
    gears: Gears | None = None
    name: str = "the car"
    notes: tuple[str, ...] = ()

    @property
    def weight_n(self) -> float:
        """Weight [N]."""
        return self.mass_kg * GRAVITY_M_S2

    @property
    def static_front_n(self) -> float:
        """Load on the front axle at rest [N]."""
        return self.weight_n * self.front_share

    @property
    def static_rear_n(self) -> float:
        """Load on the rear axle at rest [N]."""
        return self.weight_n * (1.0 - self.front_share)

    @property
    def effective_mass_kg(self) -> float:
        """Mass with the inertia of wheels and driveline [kg]."""
        return self.mass_kg * self.rotating_mass_factor


def drag_area_from_top_speed(
    top_speed_m_s: float, power_w: float, mass_kg: float, rolling: float, density_kg_m3: float
) -> float:
    """Drag area [m^2] of a car that reaches a known top speed on the flat with a known power at the wheels.

    P = V (q CdA + c m g), solved for CdA.

    Raises
    ------
    StudyError
        The power does not even overcome the rolling resistance at that speed.

    Examples
    --------
    >>> round(drag_area_from_top_speed(50.0, 85e3, 1100.0, 0.015, 1.225), 3)
    1.004
    """
    force = power_w / top_speed_m_s - rolling * mass_kg * GRAVITY_M_S2
    if force <= 0.0:
        speed_km_h = top_speed_m_s / M_S_PER_KM_H
        raise StudyError(
            f"car.top_speed: {power_w / 1e3:.3g} kW cannot reach {speed_km_h:.3g} km/h; check both"
        )
    return force / (0.5 * density_kg_m3 * top_speed_m_s**2)


def body_areas(car: Car) -> AxleAreas:
    """Axle areas of the bare car."""
    return AxleAreas(-car.body_lift.front.value, -car.body_lift.rear.value, car.cda_m2)


def body_lift_of_type(body: str | None) -> BodyLift:
    """Lift of a body type; of any body where the type is None."""
    front, rear = (Estimate(middle, low, high) for low, middle, high in LIFT_AREA_M2[body])
    return BodyLift(front, rear, f"{body or 'no body type given'}: {WORDS['from_memory']}")
