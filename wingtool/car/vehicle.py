"""The car as its owner knows it: corner weights, springs, tyres, power, drag without the parts."""

from dataclasses import dataclass, field

import numpy as np

from wingtool.car.body import BodyLift
from wingtool.constants import GRAVITY_M_S2
from wingtool.errors import StudyError

NEUTRAL = "the car is taken as neutral in a slow corner without the parts"


@dataclass(frozen=True)
class Tyre:
    """Grip of the car's tyres, as the car itself shows it.

    Parameters
    ----------
    grip : float
        Sideways acceleration over gravity that the car holds in a slow, flat corner. Measured on the car,
        it holds already what load transfer costs.
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
    """One axle's springs and tyres; what is None was not given and is not guessed.

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
    rotating : float
        Mass that must be accelerated over mass: wheels and driveline turn as well.
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
        What was taken for want of a value.
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
    rotating: float = 1.04
    driven: str = "rear"
    nose_m: float = 0.8
    roof_height_m: float | None = None
    tyre: Tyre = Tyre()
    front: Axle = Axle()
    rear: Axle = Axle()
    gears: Gears | None = field(default=None)
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
        """Mass that the driving force sees, wheels and driveline included [kg]."""
        return self.mass_kg * self.rotating


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
        raise StudyError(
            f"car.top_speed: {power_w / 1e3:.3g} kW cannot reach {top_speed_m_s * 3.6:.3g} km/h; check both"
        )
    return force / (0.5 * density_kg_m3 * top_speed_m_s**2)
